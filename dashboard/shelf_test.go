package dashboard_test

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/configs"
	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/sensors/quantity"
)

// shelf is a dashboard with a book of chemistry.
type shelf struct {
	*pages
	book *viewtest.Shelf
}

func newShelf(t testing.TB, people ...ledger.Person) *shelf {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Minutes(5, viewtest.Usual(), viewtest.Values{})
	catalogue, err := ledger.ParseCatalogue(configs.Catalogue)
	require.NoError(t, err)
	book := viewtest.NewShelf(stage.Clock, stage.Scene, ledger.Settings{Catalogue: catalogue, People: people})
	server, err := dashboard.New(dashboard.Options{View: stage, Shelf: book, Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	stage.Publish()
	return &shelf{&pages{stage, server, t}, book}
}

// does enters acts as somebody did them, a minute apart.
func (s *shelf) does(acts ...ledger.Act) {
	s.t.Helper()
	for _, a := range acts {
		s.Clock.Advance(time.Minute)
		require.NoError(s.t, s.book.Write(a), a.Kind())
	}
}

// stocked has an opened bottle of each concentrate and a drum for silver.
func stocked(t testing.TB, people ...ledger.Person) *shelf {
	s := newShelf(t, people...)
	s.does(ledger.ContainerNamed{Container: "drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream})
	for _, c := range []struct{ product, bottle string }{{"print-developer", "PD bottle"}, {"stop-bath", "SB bottle"},
		{"rapid-fixer", "FX bottle"}} {
		p, ok := catalogueOf(t).Product(c.product)
		require.True(t, ok)
		s.does(ledger.LotReceived{Lot: c.bottle + " lot", Product: c.product, Class: p.Class, Units: 2, UnitVolume: 1000, Owner: ledger.House},
			ledger.LotOpened{Lot: c.bottle + " lot", Container: c.bottle})
	}
	return s
}

func catalogueOf(t testing.TB) ledger.Catalogue {
	c, err := ledger.ParseCatalogue(configs.Catalogue)
	require.NoError(t, err)
	return c
}

func mixed(batch, tray string, concentrate, water quantity.Millilitre) ledger.BatchMixed {
	return ledger.BatchMixed{Batch: batch, Name: "Fixer", Product: "rapid-fixer", Class: ledger.Fixer, Into: tray,
		Meant: ledger.FromConcentrate,
		From:  "FX bottle", ParentVolume: concentrate, Water: water, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
}

func TestEveryFormOfTheShelfIsWholeInBothLooks(t *testing.T) {
	s := stocked(t)
	s.does(mixed("F1", "Fixer tray", 200, 1800))
	for _, path := range []string{"/shelf", "/mix", "/shelf/F1", "/shelf/FX%20bottle", "/shelf/FX%20bottle%20lot", "/shelf/label/F1",
		"/shelf/entry/3", "/rooms/north/set-up", "/rooms/north/take-down", "/rooms/north/baths",
		"/shelf/" + ledger.ShortCode("F1"), "/shelf/enter/test-done?container=Fixer+tray&test=iodide+precipitate",
		"/shelf/enter/test-done?container=Fixer+tray"} {
		s.page(path)
		query := "?"
		if strings.Contains(path, "?") {
			query = "&"
		}
		require.Contains(t, s.page(path+query+"look=red"), "look-red.css", path)
	}
	for _, kind := range ledger.KindNames() {
		if kind != (ledger.Correction{}).Kind() {
			s.page("/shelf/enter/" + strings.ReplaceAll(kind, " ", "-"))
		}
	}
	for _, path := range []string{"/shelf/nothing", "/shelf/enter/soup", "/shelf/entry/999", "/shelf/label/none"} {
		require.Equal(t, http.StatusNotFound, s.get(path).Code, path)
	}
	require.Equal(t, http.StatusNotFound, newPages(t).get("/shelf").Code, "a site without a shelf says so")
}

// A fixer has several tests; the stop bath has one, and nobody is asked which.
func TestWhichTestIsAskedOnlyWhereThereAreSeveral(t *testing.T) {
	s := stocked(t)
	s.does(mixed("F1", "Fixer tray", 200, 1800))
	s.does(ledger.BathFound{Batch: "S1", Name: "stop bath", Class: ledger.StopBath, Container: "Stop bath tray", Volume: 1000})
	require.Contains(t, s.page("/shelf/enter/test-done?container=Fixer+tray"), "Which test did you do?")
	stop := s.page("/shelf/enter/test-done?container=Stop+bath+tray")
	require.NotContains(t, stop, "Which test did you do?")
	require.Contains(t, stop, "purple")
}

func TestTheShelfSaysOfEverythingWhetherItMayBePouredAndWhyAndFromWhere(t *testing.T) {
	s := stocked(t)
	s.does(mixed("F1", "Fixer tray", 200, 1800), ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated,
		Count: 22, SheetArea: ledger.EightByTen},
		ledger.BottleFound{Container: "brown jug", Volume: 500, Capacity: 1000, Where: "sink"})
	text := s.page("/shelf")
	require.Regexp(t, `(?s)Fixer tray</a>.*?TEST FIRST.*?Used and never tested`, text)
	require.Regexp(t, `(?s)brown jug</a>.*?TEST FIRST.*?Nobody knows what this is`, text)
	require.Regexp(t, `(?s)FX bottle</a>.*?POUR.*?life once opened.*?from memory; unverified`, text, "with the source of the limit that binds")

	s.does(mixed("F2", "Stop bath tray", 200, 1800))
	text = s.page("/shelf")
	require.Regexp(t, `(?s)Stop bath tray</a>.*?IN USE`, text, "nothing is poured from a tray")
	require.NotContains(t, s.page("/shelf/Stop%20bath%20tray"), "POUR")
	require.Regexp(t, `(?s)FX bottle</a>.*?class="primary" href="/shelf/enter/batch-mixed[^"]*">Mix<`, text,
		"concentrate goes into no tray as it is")
	require.Regexp(t, `(?s)Fixer tray</a>.*?class="primary" href="/shelf/enter/test-done[^"]*">Test<`, text)

	s.does(ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "cloudy"})
	text = s.page("/shelf")
	require.Regexp(t, `(?s)Fixer tray</a>.*?DISCARD`, text)
	require.Contains(t, text, "The iodide precipitate test of Fixer tray failed")
}

func TestHowFullADrumIsIsSaidToTheTenthOfALitre(t *testing.T) {
	s := stocked(t)
	s.does(ledger.WasteAdded{Container: "drum", What: "old fixer", Volume: 5600})
	require.Contains(t, s.page("/shelf"), "5.6 L of 20.0 L, 28 %")
}

func TestAPassportTellsTheWholeStoryOfABatchAndItsLabelPrints(t *testing.T) {
	s := stocked(t)
	s.does(ledger.SessionOpened{Session: "evening", Title: "Invented class", Lead: "Ada", People: []string{"Cleo"}},
		mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen,
			People: []string{"Dan"}},
		ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "cloudy"})
	text := s.page("/shelf/F1")
	for _, want := range []string{ledger.ShortCode("F1"), "1 part of concentrate + 9 parts of water", "5 × 8x10 of resin-coated paper",
		"iodide precipitate test of Fixer tray: cloudy",
		"FX bottle lot", "Invented class", "Dan", "life in an open tray", "area processed", "applies"} {
		require.Contains(t, text, want)
	}
	require.Contains(t, s.page("/shelf/FX%20bottle%20lot"), `href="/shelf/F1"`, "and the other way: what was made of the lot")
	failure := regexp.MustCompile(`/shelf/entry/\d+`).FindString(s.page("/shelf"))
	entry := s.page(failure)
	require.Regexp(t, `(?s)Which prints are affected.*Invented class.*<td>5</td>.*100 %.*Dan.*fix them again in fresh fixer`, entry)
	label := s.page("/shelf/label/F1")
	for _, want := range []string{ledger.ShortCode("F1"), "Fixer (fixer)", "Discard by", "By Ada, house", "safety data sheet", "label"} {
		require.Contains(t, label, want)
	}
	require.Equal(t, http.StatusSeeOther, s.get("/shelf/find?name="+strings.ToLower(ledger.ShortCode("F1"))).Code)
	require.Contains(t, s.page("/shelf/"+strings.ToLower(ledger.ShortCode("F1"))), "F1", "the code of a label leads to the batch")
	opened := ""
	for n := 1; opened == ""; n++ {
		if text := s.page(fmt.Sprintf("/shelf/entry/%d", n)); strings.Contains(text, "session Invented class started") {
			opened = text
		}
	}
	require.Regexp(t, `(?s)What the prints of this session went through.*/shelf/F1.*FX%20bottle%20lot`, opened)
}
