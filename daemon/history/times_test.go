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

// frames stores an hour of a probe that sends two channels in a frame, and of another one.
func frames(t *testing.T, s *history.Store, clock *handClock) {
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{bath(t, "tray"), bath(t, "fixer"), bath(t, "wash")}))
	var b history.Batch
	for i := range 3600 {
		at := clock.Now().Wall.Add(time.Duration(i*7919%9) * time.Millisecond)
		x, y, alone := good(at, 20+float64(i%7)/100), good(at, 19.5), good(at.Add(300*time.Millisecond), 18)
		y.Channel, alone.Channel = "fixer", "wash"
		b.Samples = append(b.Samples, x, y, alone)
		clock.pass(time.Second)
	}
	require.NoError(t, s.Append(t.Context(), b))
	clock.pass(time.Minute)
	s.Settle(t.Context())
}

// count asks a history file for one number.
func count(t *testing.T, dir, query string) (n int) {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	require.NoError(t, db.QueryRow(query).Scan(&n))
	require.NoError(t, db.Close())
	return n
}

const timesAndBlocks = "SELECT 1000 * (SELECT count(*) FROM times) + count(*) FROM part WHERE shared IS NOT NULL"

func TestTheTimesOfAFrameAreKeptOnce(t *testing.T) {
	dir, clock := t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	frames(t, s, clock)
	require.Equal(t, 4008, count(t, dir, timesAndBlocks), "four quarters of an hour, and two channels of the three")
	require.Len(t, all(t, s, evening(), clock.Now().Wall), 3600)

	late := good(evening().Add(500*time.Millisecond), 21)
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{late}}))
	s.Settle(t.Context())
	require.Equal(t, 4007, count(t, dir, timesAndBlocks),
		"what came late has times of its own, and the other channel still those of the frame")
	require.Contains(t, all(t, s, evening(), clock.Now().Wall), late)

	late.Channel = "fixer"
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{late}}))
	s.Settle(t.Context())
	require.Equal(t, 3006, count(t, dir, timesAndBlocks), "times that no block names are gone")
	require.NoError(t, s.Close())
	require.Equal(t, 3, requireVerified(t, dir).Attested)
}

func TestAChangeOfSharedTimesIsFoundInEveryChannel(t *testing.T) {
	for _, change := range []string{
		"UPDATE times SET bytes = CAST(substr(bytes, 1, 9) || x'00' || substr(bytes, 11) AS BLOB) WHERE key = (SELECT min(key) FROM times)",
		"DELETE FROM times WHERE key = (SELECT max(key) FROM times)",
		"UPDATE times SET key = key + 5 WHERE key = (SELECT max(key) FROM times)",
		"UPDATE part SET shared = shared + 1",
	} {
		dir, clock := t.TempDir(), newHandClock(evening())
		s := open(t, dir, clock)
		frames(t, s, clock)
		require.NoError(t, s.Close())
		requireVerified(t, dir)
		db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
		require.NoError(t, err)
		_, err = db.Exec(change)
		require.NoError(t, err)
		require.NoError(t, db.Close())
		report, err := history.Verify(t.Context(), dir)
		require.NoError(t, err)
		require.ErrorContains(t, report.Err(), `samples of "tray" on 2026-10-14: they are not what record`)
		require.ErrorContains(t, report.Err(), `samples of "fixer" on 2026-10-14: they are not what record`)
		require.Equal(t, 1, report.Attested, "the channel alone is as it was")
	}
}

func TestADeletionLeavesTheTimesOfTheOtherChannel(t *testing.T) {
	dir, clock := t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	frames(t, s, clock)
	clock.pass(24 * time.Hour)
	d := history.Deletion{Entry: history.Entry{Person: "A. Keeper (invented)"}, Before: evening().AddDate(0, 0, 1),
		KeptFor: "1 day", Why: "test"}
	for _, c := range []struct {
		channel sensors.ChannelID
		left    int
	}{{"fixer", 4004}, {"tray", 0}} {
		d.Channel = c.channel
		_, err := s.Delete(t.Context(), d)
		require.NoError(t, err)
		require.Equal(t, c.left, count(t, dir, timesAndBlocks))
		if c.channel == "fixer" {
			require.Len(t, all(t, s, evening(), clock.Now().Wall), 3600)
		}
	}
	require.NoError(t, s.Close())
	requireVerified(t, dir)
}
