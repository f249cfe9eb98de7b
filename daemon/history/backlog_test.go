package history_test

import (
	"database/sql"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

// backlog appends a sample of each minute of the days before the evening to four channels: so
// many quarters of an hour to seal and days to attest that a stop comes before the end of it.
func backlog(t *testing.T, s *history.Store, days int) (from time.Time, each int) {
	channels := []sensors.ChannelID{"tray", "stop", "fixer", "wash"}
	baths := make([]sensors.Channel, len(channels))
	for i, id := range channels {
		baths[i] = bath(t, id)
	}
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", baths))
	from = evening().AddDate(0, 0, -days).Truncate(15 * time.Minute)
	each = days * 24 * 60
	for m := 0; m < each; m += 15 {
		var b history.Batch
		for k := range 15 {
			for _, id := range channels {
				one := good(from.Add(time.Duration(m+k)*time.Minute), 20+float64(k)/10)
				one.Channel = id
				b.Samples = append(b.Samples, one)
			}
		}
		require.NoError(t, s.Append(t.Context(), b))
	}
	return from, each
}

// waiting counts what waits to be sealed and to be attested.
func waiting(t *testing.T, dir string) (tail, days int) {
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.QueryRow("SELECT (SELECT count(*) FROM tail), (SELECT count(*) FROM unattested)").Scan(&tail, &days))
	return tail, days
}

// A stop may come while the keeper is at work on a backlog. It takes about the time that a stop
// has, whatever is left waits in the file, and the next start does not wait for it either.
func TestAStopWithinABacklogLosesNothingAndTheNextStartIsQuick(t *testing.T) {
	dir, clock := t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	days := 45
	if testing.Short() { // under the race detector, where a third of it takes as long to seal
		days = 15
	}
	from, each := backlog(t, s, days)
	rows, _ := waiting(t, dir)
	clock.pass(time.Hour)
	fill(t, s, clock, 1) // a quarter is over: the keeper sets to work
	require.Eventually(t, func() bool { left, _ := waiting(t, dir); return left < rows }, time.Minute, time.Millisecond)
	begun := time.Now()
	require.NoError(t, s.Close())
	stopped := time.Since(begun)
	left, unattested := waiting(t, dir)
	require.Positive(t, left, "the stop did not wait for the end of the backlog")
	require.Equal(t, unattested, requireVerified(t, dir).Waiting, "and nothing is attested that is not so")

	begun = time.Now()
	s = open(t, dir, clock)
	started := time.Since(begun)
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{good(clock.Now().Wall, 21)}}))
	answered := time.Since(begun)
	still, _ := waiting(t, dir)
	require.Positive(t, still, "the start did not wait for it")
	require.Len(t, all(t, s, from, clock.Now().Wall), each+1, "all of it is read from where it waits")
	begun = time.Now()
	s.Settle(t.Context())
	t.Logf("%d rows to seal: stopped after %v with %d left, open after %v, first sample kept after %v, the rest in order after %v more",
		rows, stopped, left, started, answered, time.Since(begun))
	left, _ = waiting(t, dir)
	require.LessOrEqual(t, left, 2, "the quarters of an hour that last")
	require.Len(t, all(t, s, from, clock.Now().Wall), each+1)
	require.NoError(t, s.Close())
	require.Zero(t, requireVerified(t, dir).Waiting)
}
