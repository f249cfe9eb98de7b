package daemon_test

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/daemon/history/disktest"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
)

// what a person types to mix a tray of fixer.
func fixerForm() []string {
	return []string{"product", "rapid-fixer", "meant", "concentrate", "from", "FX bottle", "aim", "1+9", "parent_ml", "200", "water_ml",
		"1.8 L", "into", "Fixer tray", "who", "Ada"}
}

// with types something else into one field.
func with(typed []string, name, value string) []string {
	for i := 0; i < len(typed); i += 2 {
		if typed[i] == name {
			return slices.Replace(slices.Clone(typed), i+1, i+2, value)
		}
	}
	return append(slices.Clone(typed), name, value)
}

func TestABadEntryGetsASentenceAndNothingTypedIsLost(t *testing.T) {
	s := stocked(t, func(c *config.Config) {
		c.People = []ledger.Person{{Name: "Ada"}, {Name: "Left", Left: time.Date(2026, 1, 13, 18, 41, 0, 0, time.UTC)}}
	})
	for _, c := range []struct {
		name, kind string
		typed      []string
		want       string
	}{
		{"volumes that do not add up", "portion-poured", []string{"from", "FX bottle", "to", "Fixer tray", "volume_ml", "3 L", "who",
			"Ada"}, "FX bottle holds 1000 mL, but 3000 mL was taken out"},
		{"a total that is not the sum", "batch-mixed", with(fixerForm(), "total_ml", "2.5 L"),
			"200 mL of concentrate or stock and 1800 mL of water make 2000 mL, not 2500 mL. Check which of the three is wrong."},
		{"a count below nothing", "sheets-used", []string{"containers", "Fixer tray", "count", "-2", "sheet_m2", "8x10in", "material", "film",
			"who", "Ada"}, "−2 sheets cannot be counted"},
		{"a time in the future", "batch-mixed", with(fixerForm(), "happened", "2027-01-01T10:00"), "lies in the future"},
		{"a batch older than its parent", "batch-mixed", with(with(fixerForm(), "happened", "2026-01-14T10:00"), "because", "forgotten"),
			"a batch cannot be older than what it is mixed from"},
		{"a late entry without a reason", "bottle-found", []string{"container", "jug", "where", "sink", "volume_ml", "1 L", "capacity_ml",
			"1 L", "who", "Ada", "happened", "2026-01-15 12:00"}, "late entry needs a reason"},
		{"a date that is none", "batch-mixed", with(fixerForm(), "happened", "yesterday"), `"yesterday" is not a date with a time`},
		{"a test without a baseline", "test-done?test=emergence+time", []string{"container", "PD bottle", "seconds", "15", "bath_c", "20",
			"who", "Ada"}, "There is no baseline"},
		{"an emergence time without the temperature of the bath", "test-done?test=emergence+time", []string{"container", "PD bottle", "seconds",
			"15", "who", "Ada"}, "The temperature of the developer is missing"},
		{"a time with a point", "test-done?test=emergence+time", []string{"container", "PD bottle", "seconds", "9.30", "who",
			"Ada"}, `Write 9:30 for minutes and seconds, or 9.30s for seconds`},
		{"a person who has left", "batch-mixed", with(fixerForm(), "who", "Left"), "Left left on"},
		{"nobody", "batch-mixed", with(fixerForm(), "who", " "), "Please fill in: Your name"},
		{"a bare ratio", "batch-mixed", with(fixerForm(), "aim", "1:10"),
			"1+9: 200 mL concentrate + 1800 mL water = 2000 mL; 1+10: 181.8 mL concentrate"},
		{"stock for concentrate", "batch-mixed", with(fixerForm(), "meant", "stock"), "FX bottle holds concentrate, not stock"},
		{"a comma for a point", "portion-poured", []string{"from", "FX bottle", "to", "Fixer tray", "volume_ml", "1,5 L", "who", "Ada"},
			"1500 mL was taken out"},
		{"a volume that is none", "batch-mixed", with(fixerForm(), "water_ml", "a lot"), `Water poured: "a lot" is not a volume`},
		{"a temperature that is none", "batch-mixed", with(fixerForm(), "mix_c", "lukewarm"), `"lukewarm" is not a temperature`},
		{"10 kB in a name", "batch-mixed", with(fixerForm(), "name", strings.Repeat("x", 10000)), "10000 characters are too many"},
		{"signs that turn a text", "batch-mixed", with(fixerForm(), "name", "a\u202eb"), "can't be displayed"},
		{"no tray", "sheets-used", []string{"count", "5", "sheet_m2", "8x10in", "material", "film", "who", "Ada"}, "Please fill in: Trays"},
		{"half a sheet", "sheets-used", []string{"containers", "Fixer tray", "count", "0.5", "sheet_m2", "8x10in", "material", "film", "who",
			"Ada"}, `"0.5" is not a whole number`},
		{"fixer in the drum for nothing", "discarded", []string{"container", "FX bottle", "volume_ml", "100", "reason", "old", "who",
			"Ada"}, "Where the liquid went is missing"},
		{"developer into the silver", "discarded", []string{"container", "PD bottle", "volume_ml", "100", "to", "drum", "reason", "old", "who",
			"Ada"}, "Keep the wastes apart"},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := s.refused(c.kind, c.typed...)
			require.Contains(t, page.Problem(), c.want)
			kept := page.Form(formtest.Having("version")).Values()
			for i := 0; i < len(c.typed); i += 2 {
				field, value := c.typed[i], c.typed[i+1]
				if !strings.Contains(value, "\u202e") && field != "to" { // a container of the other waste is offered no more
					require.Equal(t, []string{value}, kept[field], "%s is kept", field)
				}
			}
		})
	}
	s.look(func(b *cards.ShelfBook) { require.Empty(t, b.Batches(), "nothing of it was recorded") })
}

func TestAPressActsOnceAndItsReceiptComesBack(t *testing.T) {
	s := stocked(t)
	form := s.entry("", "batch-mixed", fixerForm()...)
	first := form.Send()
	text := s.sent(first)
	require.Equal(t, first.Address, form.Send().Address)
	require.Contains(t, text, "200 mL from FX bottle and 1800 mL of water, into Fixer tray")
	s.look(func(b *cards.ShelfBook) { require.Len(t, b.Batches(), 1) })
	require.Contains(t, text, "FI 2026-01-15 a", "a batch that nobody named gets a name")

	require.Equal(t, http.StatusBadRequest, form.Forge("a stranger makes tokens up", "token", "short").Send().Status)
}

func TestAFormOnlyLeadsBackIntoThisSite(t *testing.T) {
	s := stocked(t)
	for _, next := range []string{"//elsewhere.example", "https://elsewhere.example/", "/\\elsewhere.example", "javascript:alert(1)", ""} {
		s.Does(ledger.ContainerNamed{Container: "Fixer tray", Vessel: ledger.Tray, Capacity: 20000, Bath: "fixer"})
		form := s.entry("", "trays-covered", "containers", "Fixer tray", "who", "Ada").Forge("a link of another site says where to go on",
			"next", next)
		out := s.posts(form)
		require.Equal(t, http.StatusSeeOther, out.Code)
		to, err := url.Parse(out.Header.Get("Location"))
		require.NoError(t, err)
		require.Empty(t, to.Host, next)
	}
}

func TestWhoWasOvertakenIsToldAndKeepsWhatWasTyped(t *testing.T) {
	s := stocked(t)
	s.Does(mixed("F1", "Fixer tray", 100, 900))
	form := s.entry("/shelf/enter/topped-up?container=Fixer+tray", "topped-up", "water_ml", "111 mL", "who", "Bo")
	s.Does(ledger.ToppedUp{Container: "Fixer tray", Water: 50})
	back := form.Send()
	require.Contains(t, back.Problem(), "Ada changed Fixer tray in entry")
	require.Equal(t, "111 mL", back.Form(formtest.To("/shelf/enter/topped-up")).Values().Get("water_ml"))
}

func TestAShelfThatCannotWriteSaysSoInTheForm(t *testing.T) {
	var disk *disktest.Disk
	s := stocked(t, onDisk(t, &disk))
	disk.Break(disktest.Fault{Op: disktest.Write, Code: disktest.Full})
	defer disk.Mend()
	require.Contains(t, s.refused("batch-mixed", fixerForm()...).Problem(), ": the disk is full: free some space")
}

func TestALateEntryIsTakenAndMarked(t *testing.T) {
	s := newNorth(t)
	text := s.enters("batch-mixed", "class", "print developer", "meant", "unknown", "water_ml", "2 L", "into", "Developer tray", "who", "Bo",
		"happened", "2026-01-14T20:10", "because", "the tablet was flat")
	require.Contains(t, text, "Marked as entered late.")
	require.Contains(t, text, "entered late")
	s.look(func(b *cards.ShelfBook) {
		batch, ok := b.Batch(b.Batches()[0])
		require.True(t, ok)
		require.Equal(t, time.Date(2026, 1, 14, 19, 10, 0, 0, time.UTC), batch.Mixed.UTC(), "in the zone of the place")
	})
}

func FuzzEntry(f *testing.F) {
	for _, seed := range []string{formtest.Forged(fixerForm()...).Encode(), "aim=1:10&parent_ml=1,5+L&who=%F0%9F%99%82",
		"happened=2026-01-14T20:10&because=x"} {
		f.Add("batch-mixed", seed)
	}
	f.Add("sheets-used", "count=1e9&sheet_m2=8x10in&containers=a&containers=a&who=x")
	f.Add("test-done", "test=clearing+time&seconds=0:45&film=x&who=x")
	s := stocked(f)
	f.Fuzz(func(t *testing.T, kind, body string) {
		v, err := url.ParseQuery(body)
		if err != nil || kind == "" || strings.ContainsAny(kind, "/?#%") {
			return
		}
		v.Set("token", strings.Repeat("A", 26))
		s.t = t
		out := s.sends("/shelf/enter/"+url.PathEscape(kind), v)
		require.Contains(t, []int{http.StatusSeeOther, http.StatusUnprocessableEntity, http.StatusNotFound, http.StatusBadRequest,
			http.StatusMovedPermanently, http.StatusTemporaryRedirect}, out.Code)
	})
}

// A place that reads fluid ounces reads them in what the ledger says, too: in what it
// refuses, warns of and writes for the next volunteer. The name of a bottle is a name.
func TestWhatTheLedgerSaysIsReadInTheUnitsOfThePlace(t *testing.T) {
	s := stocked(t, usUnits)
	s.Does(ledger.ContainerNamed{Container: "500 mL flask", Vessel: ledger.Bottle, Capacity: 500})

	draw := []string{"from", "FX bottle", "to", "Fixer tray", "volume_ml", "40 floz", "who", "Ada"}
	require.Contains(t, s.refused("portion-poured", draw...).Problem(), "FX bottle holds 33.8 US fl oz, but 40.0 US fl oz was taken out")
	draw = with(with(draw, "to", "500 mL flask"), "volume_ml", "30 floz")
	require.Contains(t, s.refused("portion-poured", draw...).Problem(), "500 mL flask takes 16.9 US fl oz")
	hot := with(with(fixerForm(), "water_ml", "1.8 L"), "mix_c", "250 F")
	require.Contains(t, s.refused("batch-mixed", hot...).Problem(),
		"250.0 °F is out of range for a liquid in use. Write it between 32 and 212 °F")

	weak := with(with(fixerForm(), "parent_ml", "6.4 floz"), "water_ml", "64 floz")
	// 70.4 (0.1 - 1/11) / (1 - 0.1) = 0.711, told from 21.0 mL
	require.Contains(t, s.enters("batch-mixed", weak...), "add 0.71 US fl oz of concentrate")
	for _, b := range s.labelled() {
		require.Contains(t, s.page("/shelf/label/"+url.PathEscape(b)), "concentrate 6.4 US fl oz + water 64.0 US fl oz = 70.4 US fl oz",
			"the label too")
	}
	emptied := s.enters("discarded", "container", "Fixer tray", "volume_ml", "70.4 floz", "emptied", "on", "route", "as the place allows",
		"reason", "too weak", "who", "Ada")
	require.Contains(t, emptied, "70.4 US fl oz from Fixer tray discarded: as the place allows (too weak)")
}

// On a packet of powder ounces may be a weight, and a place that pours by the litre has fluid ounces of two sorts.
func TestOuncesAreFluidWhereThePlacePoursByThem(t *testing.T) {
	s := stocked(t)
	poured := with(with(fixerForm(), "parent_ml", "6.4 oz"), "water_ml", "57.6 ounces")
	require.Contains(t, s.refused("batch-mixed", poured...).Problem(), "is not a volume")
	s = stocked(t, usUnits)
	require.Contains(t, s.enters("batch-mixed", poured...), "6.4 US fl oz from FX bottle and 57.6 US fl oz of water")
	packet := []string{"product", "rapid-fixer", "units", "1", "unit_ml", "8 oz", "powder", "on", "who", "Ada"}
	require.Contains(t, s.refused("lot-received", packet...).Problem(), "is not a volume")
}

// labelled are the batches that have a label.
func (s *north) labelled() (batches []string) {
	s.look(func(b *cards.ShelfBook) { batches = b.Batches() })
	require.NotEmpty(s.t, batches)
	return batches
}

// A form shows a time to the second; a correction that leaves it so keeps the order of acts
// that were entered within one.
func TestACorrectionThatLeavesTheTimeKeepsItsPlace(t *testing.T) {
	s := stocked(t)
	s.Does(mixed("F1", "Fixer tray", 200, 1800))
	s.Passes(300 * time.Millisecond)
	for _, a := range []ledger.Act{ledger.Discarded{Container: "Fixer tray", Volume: 2000, Route: "as the place allows",
		Reason: "practice"}, mixed("F2", "Fixer tray", 100, 900)} {
		_, err := s.Daemon.Shelf().Enter(t.Context(), cards.ShelfEntry{Room: "north", Person: "Ada", Act: a})
		require.NoError(t, err)
		s.Passes(200 * time.Millisecond)
	}
	var of string
	s.look(func(b *cards.ShelfBook) { of = strconv.FormatUint(b.Version(), 10) })
	s.sent(s.entry("/shelf/enter/batch-mixed?corrects="+of, "batch-mixed", "water_ml", "950", "because", "misread", "who", "Ada").Send())
}

// Half of 10 mL on 200 and on 1800 mL leave 0.9·√(0.025² + 0.0028²) = 2.3 % open (JCGM 100:2008, 5.1.2).
func TestTheSmallestMarkOfTheGraduateStandsByTheStrength(t *testing.T) {
	s := stocked(t)
	coarse := with(with(fixerForm(), "division_ml", "3 L"), "batch", "F7")
	require.Contains(t, s.refused("batch-mixed", coarse...).Problem(), "is more than the volume measured")
	s.enters("batch-mixed", with(coarse, "division_ml", "10 mL")...)
	require.Contains(t, s.page("/shelf/F7"), "100.0 % (± 2.3) of the intended strength")
}

func TestAnEntryIsPutRightOrTakenBackWithAReason(t *testing.T) {
	s := stocked(t)
	s.Does(mixed("F1", "Fixer tray", 200, 2000))
	number := 0
	s.look(func(b *cards.ShelfBook) { number = int(b.Version()) })
	form := s.entry(fmt.Sprintf("/shelf/enter/batch-mixed?corrects=%d", number), "batch-mixed", "who", "Ada")
	require.Equal(t, "200 mL", form.Values().Get("parent_ml"), "what was entered stands in the form")
	require.Equal(t, "1+9", form.Values().Get("aim"))
	require.Equal(t, "Fixer tray", form.Values().Get("into"))
	require.Contains(t, form.Send().Problem(), "Please fill in: Reason")
	after := form.FillIn("because", "1800 was poured", "water_ml", "1800 mL").Send()
	require.Contains(t, s.sent(after), fmt.Sprintf("entry %d corrected", number))
	s.look(func(b *cards.ShelfBook) {
		c, ok := b.Contents("Fixer tray", b.At)
		require.True(t, ok)
		require.InDelta(t, 0.1, *c.Strength, 1e-9)
	})

	path := fmt.Sprintf("/shelf/entry/%d", number)
	require.Contains(t, s.page(path), "corrected since")
	back := s.opens(path).Form(formtest.To(path)).FillIn("who", "Ada")
	require.Equal(t, http.StatusUnprocessableEntity, back.Send().Status)
	s.sent(back.FillIn("because", "it was the day before").Send())
	s.look(func(b *cards.ShelfBook) {
		_, ok := b.Contents("Fixer tray", b.At)
		require.False(t, ok, "nothing was mixed")
	})
}

// foundAt is the address at which the page of the baths has a bath of unknown origin entered.
func (s *north) foundAt(bath string) string {
	s.t.Helper()
	link := regexp.MustCompile(`(?s)id="bath-` + bath + `".*?href="(/shelf/enter/bath-found[^"]*)"`).FindStringSubmatch(s.page(baths))
	require.NotNil(s.t, link)
	return html.UnescapeString(link[1])
}

func TestABathOfUnknownOriginIsEnteredBesideItsTray(t *testing.T) {
	s := stocked(t)
	page := s.page(baths)
	require.Contains(t, page, "A bath is already in the tray")
	require.NotContains(t, page, "Cover this tray", "an empty tray has no lid to enter")

	after := s.sent(s.entry(s.foundAt("developer"), "bath-found", "name", "Paper developer", "aim", "1+9", "volume_ml", "1,5 L", "who",
		"Ida").Send())
	require.Contains(t, after, "Developer tray holds 1500 mL of Paper developer")
	s.look(func(b *cards.ShelfBook) {
		held, ok := b.InTray("developer", b.At)
		require.True(t, ok)
		require.Equal(t, ledger.PrintDeveloper, held.Class, "as the tray's place says")
		require.Nil(t, held.Strength)
		require.Zero(t, held.Made, "nobody said that it is fresh")
	})

	require.Contains(t, s.sent(s.entry(baths, "trays-covered", "who", "Ida").Send()), "Covered: Developer tray.")
	require.Contains(t, s.sent(s.entry(baths, "trays-uncovered", "who", "Ida").Send()), "Uncovered: Developer tray.")
}
