package daemon_test

import (
	"net/url"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/dashboard"
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
	e.until(10 * time.Second)
	return &teaching{e, formtest.At(t, e.daemon.URL()), bench{t, e.daemon, "practice"}}
}

// looks are the two looks of every page.
func looks() []string { return []string{"day", "red"} }

// at is an address in a look.
func at(path, look string) string {
	to, err := url.Parse(path)
	if err != nil {
		return path
	}
	q := to.Query()
	q.Del("look")
	if look == "red" {
		q.Set("look", look)
	}
	to.RawQuery = q.Encode()
	return to.String()
}

// tested is what the newest test in the book says.
func (k *teaching) tested() ledger.TestDone {
	return look(k.daemon, func(b *dashboard.ShelfBook) (newest ledger.TestDone) {
		for _, r := range b.Records {
			if test, is := r.Act.(ledger.TestDone); is {
				newest = test
			}
		}
		return newest
	})
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
					page := k.In(t).Open(at("/shelf/enter/test-done?"+url.Values{"test": {string(c.test)}}.Encode(), look))
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
