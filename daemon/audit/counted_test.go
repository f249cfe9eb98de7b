package audit_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// counted is the file that keeps what was counted of the sessions of the tests.
func (p *place) counted() string { return filepath.Join(p.dir, "wetside.counted-2026") }

// twoEvenings writes two evenings whose days are attested, and has them counted.
func (p *place) twoEvenings() report.Data {
	for range 2 {
		p.evening()
		p.clock.Advance(30 * time.Hour)
		p.store.Settle(p.Context())
	}
	require.NoFileExists(p, p.counted())
	d := p.gather(term(), term().AddDate(0, 0, 30))
	require.FileExists(p, p.counted())
	return d
}

func TestSessionsAreReportedFromWhatWasCountedOfThem(t *testing.T) {
	p := newPlace(t)
	first := p.twoEvenings()
	require.Equal(t, first, p.gather(term(), term().AddDate(0, 0, 30)))
	second := p.gather(term().AddDate(0, 0, 1), term().AddDate(0, 0, 30))
	require.Equal(t, first.Sessions[1].Lowest, second.Sessions[0].Lowest)
	require.Equal(t, 1, second.GasMinutes[0].Session, "it has its number in each report")

	// With the readings taken out behind the back of the book, only what was kept can say them.
	p.close()
	db, err := sql.Open("sqlite", filepath.Join(p.dir, history.FileName))
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "DELETE FROM part")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	gather := func() report.Data {
		book, err := history.OpenReader(t.Context(), history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC})
		require.NoError(t, err)
		defer book.Close()
		d, err := audit.Gather(t.Context(), book, audit.Question{From: term(), To: term().AddDate(0, 0, 30), Zone: time.UTC,
			Now: p.clock.Now().Wall, Version: "test"})
		require.NoError(t, err)
		return d
	}
	again := gather()
	require.Equal(t, first.Minutes, again.Minutes)
	require.Equal(t, first.GasMinutes, again.GasMinutes)
	require.Equal(t, first.Averages, again.Averages)
	require.Equal(t, first.Coverage, again.Coverage)
	require.Equal(t, first.Gaps, again.Gaps)
	require.NoError(t, audit.ForgetCounted(p.dir))
	require.Zero(t, gather().Minutes[0].Readings)
}

func TestASessionIsCountedAgainAfterWhateverChangesIt(t *testing.T) {
	for name, change := range map[string]func(*place){
		"late readings": func(p *place) {
			var b history.Batch
			for second := 10; second < 600; second += 10 {
				at := term().Add(18*time.Hour + time.Duration(second)*time.Second)
				b.Samples = append(b.Samples, history.Sample{Channel: "duct-velocity", At: at, Raw: 3, Grade: sensors.Good})
			}
			require.NoError(p, p.store.Append(p.Context(), b))
		},
		"a correction from a day before it": func(p *place) {
			p.acts(truth.SetCorrection{Channel: "duct-velocity", From: term(), Slope: 0.5, Why: "read against the anemometer"})
		},
		"a probe that is found to have failed": func(p *place) {
			p.record(history.Entry{Kind: rules.FindingOffered}, rules.FoundEvent(truth.Finding{ID: "x", What: truth.Jump,
				Channels: []sensors.ChannelID{"duct-velocity"}, From: term().Add(18 * time.Hour), Confidence: 0.99, Doubts: true,
				Text: phrase.Say("It moved."), Basis: phrase.Say("a fan does not")}))
		},
		"readings that were deleted": func(p *place) {
			_, err := p.store.Delete(p.Context(), history.Deletion{Channel: "room-co2", Before: term().AddDate(0, 0, 1),
				Entry: history.Entry{Person: "Ida"}, KeptFor: "1d", Why: "invented"})
			require.NoError(p, err)
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPlace(t)
			before := p.twoEvenings()
			change(p)
			at := p.gather(term(), term().AddDate(0, 0, 30))
			require.False(t, reflect.DeepEqual(before.Minutes, at.Minutes) && reflect.DeepEqual(before.GasMinutes, at.GasMinutes))
			p.store.Settle(t.Context())
			kept := p.gather(term(), term().AddDate(0, 0, 30))
			require.NoError(t, audit.ForgetCounted(p.dir))
			fresh := p.gather(term(), term().AddDate(0, 0, 30))
			require.Equal(t, fresh, kept)
			require.Equal(t, fresh.Minutes, at.Minutes)
			require.Equal(t, fresh.GasMinutes, at.GasMinutes)
		})
	}
}

func TestADamagedFileOfWhatWasCountedIsPassedOver(t *testing.T) {
	p := newPlace(t)
	first := p.twoEvenings()
	whole, err := os.ReadFile(p.counted())
	require.NoError(t, err)
	for _, at := range []int{0, len(whole) / 3, len(whole) / 2, len(whole) - 1} {
		damaged := append([]byte{}, whole...)
		damaged[at] ^= 1
		require.NoError(t, os.WriteFile(p.counted(), damaged, 0o600))
		require.Equal(t, first, p.gather(term(), term().AddDate(0, 0, 30)))
	}
	require.NoError(t, os.WriteFile(p.counted(), nil, 0o600))
	require.Equal(t, first, p.gather(term(), term().AddDate(0, 0, 30)))
}
