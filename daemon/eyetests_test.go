package daemon_test

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
	"wetside/sensors/clocktest"
)

// teaching is a whole daemon on the simulated room, a browser in front of it, and its shelf.
type teaching struct {
	*evening
	*formtest.Browser
	shelf bench
}

func newTeaching(t *testing.T, schedule string) *teaching {
	e := simulatedAt(t, schedule, clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)), nil)
	e.backup = config.Backup{Folder: filepath.Join(e.dir, "copies"), Every: 30 * 24 * time.Hour, Keep: 1}
	require.NoError(t, os.Mkdir(e.backup.Folder, 0o755))
	e.start()
	t.Cleanup(func() {
		e.end()
		require.NoError(t, <-e.ended)
	})
	e.until(10 * time.Second)
	return &teaching{e, formtest.At(t, e.daemon.URL()), bench{t, e.daemon, "practice"}}
}

// looks are the two looks of every page.
func looks() []string {
	if testing.Short() { // under the race detector, which finds the same in both
		return []string{"red"}
	}
	return []string{"day", "red"}
}

// at is an address in a look.
func at(path, look string) string {
	to, err := url.Parse(path)
	if err != nil {
		return path
	}
	q := to.Query()
	q.Set("look", look) // a browser keeps the last one
	to.RawQuery = q.Encode()
	return to.String()
}

// tested is what the newest test in the book says.
func (k *teaching) tested() ledger.TestDone {
	return look(k.daemon, func(b *cards.ShelfBook) (newest ledger.TestDone) {
		for _, r := range b.Records {
			if test, is := r.Act.(ledger.TestDone); is {
				newest = test
			}
		}
		return newest
	})
}

// TestThePrintsOfAFixerThatFailsAreNamed goes from what the eye saw to the people whose prints
// went through the bath since it was seen to be good, over the pages alone.
func TestThePrintsOfAFixerThatFailsAreNamed(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan")
	k.shelf.opened("rapid-fixer", "fixer bottle", ledger.Fixer)
	k.shelf.does("Ada", ledger.SessionOpened{Session: "evening", Title: "Invented evening", Lead: "Ada"})
	k.shelf.does("Ada", ledger.BatchMixed{Batch: "F1", Name: "Fixer", Product: "rapid-fixer", Class: ledger.Fixer,
		Into: "First fixer tray", Meant: ledger.FromConcentrate,
		From: "fixer bottle", ParentVolume: 200, Water: 800, Aim: ledger.Parts{Parent: 1, Water: 4}, Owner: ledger.House})
	seen := func(what string) *formtest.Page {
		page := k.Open("/shelf/enter/test-done?test=iodide+precipitate&container=First+fixer+tray")
		return page.Form(formtest.Having("seen")).Fill("seen", what).Fill("who", "Ada").Send()
	}
	fixes := func(people string) {
		form := k.Open("/shelf/enter/sheets-used").Form(formtest.Having("people"))
		page := form.Fill("containers", "First fixer tray").Fill("count", "10").Fill("sheet_m2", "8x10in").Fill("material",
			"fibre-based paper").Fill("people", people).Fill("who", "Ada").Send()
		require.Empty(t, page.Problem())
	}
	fixes("Early")
	require.Empty(t, seen("clear").Problem())
	k.evening.until(40 * time.Second)
	fixes("Cleo, Dan")
	shelf := seen("cloudy")
	require.Empty(t, shelf.Problem())
	require.Equal(t, ledger.Seen("cloudy"), k.tested().Seen)
	failure := ""
	for _, link := range shelf.Links() {
		if failure == "" && strings.HasPrefix(link.Path, "/shelf/entry/") {
			failure = link.Path
		}
	}
	affected := k.Open(failure).Says("Invented evening").Says("Cleo").Says("Dan")
	require.NotContains(t, affected.Text(), "Early", "who fixed before the bath was seen to be good")
}

// TestWhatTheEyeSawIsRecordedFromTheForm sends each test that is judged by eye as a browser
// does, with each thing that can be seen, of a bath of each kind or of a finished print.
func TestWhatTheEyeSawIsRecordedFromTheForm(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan")
	for _, bath := range []struct{ product, class, container string }{
		{"print-developer", string(ledger.PrintDeveloper), "developer bottle"},
		{"stop-bath", string(ledger.StopBath), "stop bath bottle"},
		{"rapid-fixer", string(ledger.Fixer), "fixer bottle"},
	} {
		k.shelf.opened(bath.product, bath.container, ledger.Class(bath.class))
	}
	k.shelf.does("Ada", ledger.SessionOpened{Session: "yesterday's", Title: "Invented afternoon", Lead: "Ada"})
	k.shelf.does("Ada", ledger.SessionClosed{Session: "yesterday's"})
	k.shelf.does("Ada", ledger.TestDone{Test: ledger.BlackStripTest, Container: "developer bottle", Baseline: true})
	for _, c := range []struct {
		test      ledger.TestKind
		container string // empty for a test of a finished print
	}{
		{ledger.IodideTest, "fixer bottle"},
		{ledger.StopColourTest, "stop bath bottle"},
		{ledger.BlackStripTest, "developer bottle"},
		{ledger.ResidualSilver, ""},
		{ledger.ResidualFixer, ""},
	} {
		for _, look := range looks() {
			for _, seen := range c.test.Seen() {
				t.Run(string(c.test)+", "+look+", "+string(seen), func(t *testing.T) {
					page := k.In(t).Open(at("/shelf/enter/test-done?"+"test="+url.QueryEscape(string(c.test)), look))
					form := page.Form(formtest.To("/shelf/enter/test-done")).Fill("seen", string(seen)).Fill("Your name", "Ada")
					if c.container != "" {
						form.Fill("container", c.container)
					}
					if c.test == ledger.StopColourTest {
						form.Fill("white_light", "on")
					}
					if c.container == "" {
						form.Fill("in_session", "yesterday's")
					}
					after := form.Send()
					require.Empty(t, after.Problem())
					require.Equal(t, "/shelf", after.Address.Path)
					got := k.tested()
					require.Equal(t, c.test, got.Test)
					require.Equal(t, seen, got.Seen)
					require.Equal(t, c.container, got.Container)
				})
			}
		}
	}
}
