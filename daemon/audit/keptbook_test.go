package audit_test

import (
	"bytes"
	"encoding/gob"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/pack"
	"wetside/dashboard/report"
	"wetside/rules"
)

// keptBook is the file that keeps what the record book of the tests came to.
func (p *place) keptBook() string { return filepath.Join(p.dir, "wetside.counted-book") }

// sameAnew has a time reported, and requires the same where nothing was kept.
func (p *place) sameAnew(from, to time.Time) report.Data {
	p.store.Settle(p.Context()) // which may add a record
	d := p.gather(from, to)
	kept, err := os.ReadFile(p.keptBook())
	require.NoError(p, err)
	require.NoError(p, os.Remove(p.keptBook()))
	require.Equal(p, p.gather(from, to), d)
	require.NoError(p, os.WriteFile(p.keptBook(), kept, 0o600))
	return d
}

// busy is a book of some evenings, two of them with readings, that was reported once.
func (p *place) busy() {
	p.evening()
	for range 14 {
		p.busyEvening()
	}
	p.acts(rules.StateUnexposed{Why: "invented"})
	p.evening()
	p.store.Settle(p.Context())
	require.NoFileExists(p, p.keptBook())
	p.gather(term(), term().AddDate(0, 0, 60))
	require.FileExists(p, p.keptBook())
}

func TestWhatIsKeptOfTheBookChangesNoReport(t *testing.T) {
	p := newPlace(t)
	p.busy()
	for _, days := range []int{0, 3, 20, 22} {
		from := term().AddDate(0, 0, days)
		require.True(t, p.sameAnew(from, from.AddDate(0, 0, 5)).Book.Holds)
		require.True(t, p.sameAnew(from, term().AddDate(0, 0, 60)).Book.Holds)
	}
	p.busyEvening()
	p.evening()
	require.True(t, p.sameAnew(p.clock.Now().Wall.AddDate(0, 0, -3), p.clock.Now().Wall).Book.Holds, "it goes on from what was kept")
	for range 14 {
		p.busyEvening()
	}
	before, err := os.Stat(p.keptBook())
	require.NoError(t, err)
	p.gather(term(), p.clock.Now().Wall)
	after, err := os.Stat(p.keptBook())
	require.NoError(t, err)
	require.Greater(t, after.Size(), before.Size(), "kept again as the book grows")
	require.True(t, p.sameAnew(term(), p.clock.Now().Wall).Book.Holds)
}

func TestAChangedBookIsReportedAsIfNothingWereKeptOfIt(t *testing.T) {
	for name, change := range map[string]string{
		"a text":   "UPDATE record SET body = replace(body, 'Ada', 'Bea') WHERE number = 300",
		"an alarm": "UPDATE record SET body = replace(body, 'enough', 'at all') WHERE number BETWEEN 100 AND 160 AND kind = 'alarm'",
		"a kind":   "UPDATE record SET kind = 'alarm' WHERE number = 300",
		"a room":   "UPDATE record SET room = '' WHERE number = 300",
		"a time":   "UPDATE record SET at_ms = at_ms - 1 WHERE number = 300",
		"a hash":   "UPDATE record SET hash = upper(hash) WHERE number = 300",
		"a late text": "UPDATE record SET body = replace(body, 'Class', 'Klass') WHERE number = " +
			"(SELECT max(number) FROM record WHERE body LIKE '%Class%')",
		"a text later": "UPDATE record SET body = replace(body, 'Ada', 'Bea') WHERE number = 1100",
	} {
		t.Run(name, func(t *testing.T) {
			p := newPlace(t)
			p.busy()
			p.change(change)
			d := p.sameAnew(term().AddDate(0, 0, 20), term().AddDate(0, 0, 60))
			require.False(t, d.Book.Holds)
			walked, err := p.store.VerifyBook(t.Context())
			require.NoError(t, err)
			require.Equal(t, walked.Broken.Error(), d.Book.Problem)
		})
	}
}

func TestADamagedFileOfTheBookIsNoUse(t *testing.T) {
	p := newPlace(t)
	p.busy()
	whole := p.gather(term(), term().AddDate(0, 0, 60))
	text, err := os.ReadFile(p.keptBook())
	require.NoError(t, err)
	for _, damaged := range [][]byte{nil, text[:len(text)/2], append([]byte{text[0] + 1}, text[1:]...)} {
		require.NoError(t, os.WriteFile(p.keptBook(), damaged, 0o600))
		require.Equal(t, whole, p.gather(term(), term().AddDate(0, 0, 60)))
	}
}

func TestAFileOfTheBookWithoutAChronicleIsNoUse(t *testing.T) {
	p := newPlace(t)
	p.busy()
	text, err := os.ReadFile(p.keptBook())
	require.NoError(t, err)
	text, err = pack.Checked(text)
	require.NoError(t, err)
	var trail struct {
		Form    int
		Version string
		Trail   history.Trail
	}
	require.NoError(t, gob.NewDecoder(bytes.NewReader(text)).Decode(&trail))
	require.NotEmpty(t, trail.Trail.Sums)
	var alone bytes.Buffer
	require.NoError(t, gob.NewEncoder(&alone).Encode(trail))
	for range 2 { // the second time with alarms that nobody kept
		require.NoError(t, os.WriteFile(p.keptBook(), pack.WithCheck(alone.Bytes()), 0o600))
		d := p.sameAnew(term(), term().AddDate(0, 0, 60))
		require.NotEmpty(t, d.Alarms)
		p.busyEvening()
	}
}
