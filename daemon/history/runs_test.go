package history_test

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/history"
	"wetside/sensors"
)

// runsByHand joins samples one by one.
func runsByHand(samples []history.Sample, pause time.Duration) (runs []history.Run) {
	for _, s := range samples {
		if n := len(runs); n > 0 && runs[n-1].Grade == s.Grade && runs[n-1].Reason == s.Reason && s.At.Sub(runs[n-1].Last) <= pause {
			runs[n-1].Last = s.At
			continue
		}
		runs = append(runs, history.Run{First: s.At, Last: s.At, Grade: s.Grade, Reason: s.Reason})
	}
	return runs
}

func TestRunsAreTheSamplesJoined(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		clock := newHandClock(evening())
		s := open(t, t.TempDir(), clock)
		var samples []history.Sample
		for range rapid.IntRange(0, 300).Draw(rt, "samples") {
			sample := good(clock.Now().Wall, 20)
			if rapid.IntRange(0, 9).Draw(rt, "bad") == 0 {
				sample.Grade, sample.Reason = sensors.Suspect, rapid.SampledFrom([]sensors.Reason{sensors.Jump, sensors.FlatLine}).Draw(rt, "reason")
			}
			samples = append(samples, sample)
			clock.pass(time.Duration(rapid.SampledFrom([]int{1, 1, 1, 10, 15, 16, 900}).Draw(rt, "pause")) * time.Second)
		}
		require.NoError(rt, s.Append(rt.Context(), history.Batch{Samples: samples}))
		s.Settle(t.Context())
		var runs []history.Run
		for r, err := range s.Runs(rt.Context(), history.RunQuery{Channel: "tray", From: evening(), To: clock.Now().Wall.Add(time.Second),
			Pause: 15 * time.Second}) {
			require.NoError(rt, err)
			runs = append(runs, r)
		}
		require.Equal(rt, runsByHand(samples, 15*time.Second), runs)
		for range s.Runs(rt.Context(), history.RunQuery{Channel: "tray", From: evening(), To: clock.Now().Wall, Pause: time.Second}) {
			break // a reader may have enough
		}
		require.NoError(rt, s.Close())
	})
}

func TestRunsByRollUpsAreTheSamplesJoinedAsWell(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		clock := newHandClock(evening())
		s := open(t, t.TempDir(), clock)
		var samples []history.Sample
		for range rapid.IntRange(1, 6).Draw(rt, "pieces") {
			pause := rapid.IntRange(1, 15).Draw(rt, "pace")
			for range rapid.IntRange(1, 4200/pause).Draw(rt, "samples") {
				samples = append(samples, good(clock.Now().Wall, 20))
				clock.pass(time.Duration(pause) * time.Second)
			}
			switch rapid.IntRange(0, 2).Draw(rt, "end") {
			case 0:
				sample := good(clock.Now().Wall, 20)
				sample.Grade, sample.Reason = sensors.Suspect, sensors.Jump
				samples = append(samples, sample)
				clock.pass(time.Second)
			case 1:
				clock.pass(time.Duration(rapid.IntRange(16, 2000).Draw(rt, "gap")) * time.Second)
			}
		}
		require.NoError(rt, s.Append(rt.Context(), history.Batch{Samples: samples}))
		s.Settle(t.Context())
		from := evening().Add(time.Duration(rapid.IntRange(0, 3000).Draw(rt, "from")) * time.Second)
		to := from.Add(time.Duration(rapid.IntRange(0, 20000).Draw(rt, "length")) * time.Second)
		var inside []history.Sample
		for _, p := range samples {
			if !p.At.Before(from) && p.At.Before(to) {
				inside = append(inside, p)
			}
		}
		var runs []history.Run
		for r, err := range s.Runs(rt.Context(), history.RunQuery{Channel: "tray", From: from, To: to, Pause: 15 * time.Second}) {
			require.NoError(rt, err)
			runs = append(runs, r)
		}
		require.Equal(rt, runsByHand(inside, 15*time.Second), runs)
		sameByValues(rt, s, history.RunQuery{Channel: "tray", From: from, To: to, Pause: 15 * time.Second}, inside)
		require.NoError(rt, s.Close())
	})
}

// A time that begins between two samples, right before a quarter of an hour in which nothing is
// missing: no sample before that quarter says where its run begins.
func TestARunMayBeginWithAnUnbrokenQuarterOfAnHour(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	var samples []history.Sample
	for clock.Now().Wall.Before(evening().Add(2 * time.Hour)) {
		samples = append(samples, good(clock.Now().Wall, 20))
		clock.pass(10 * time.Second)
	}
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: samples}))
	s.Settle(t.Context())
	quarter := evening().Truncate(15 * time.Minute).Add(30 * time.Minute)
	var runs []history.Run
	for r, err := range s.Runs(t.Context(), history.RunQuery{Channel: "tray", From: quarter.Add(-time.Second), To: quarter.Add(time.Hour),
		Pause: 15 * time.Second}) {
		require.NoError(t, err)
		runs = append(runs, r)
	}
	require.Equal(t, []history.Run{{First: quarter, Last: quarter.Add(time.Hour - 10*time.Second), Grade: sensors.Good}}, runs)
	require.NoError(t, s.Close())
}

func TestAnEmptyBlockIsDamage(t *testing.T) {
	clock, dir := newHandClock(evening()), t.TempDir()
	s := open(t, dir, clock)
	for range 200 {
		require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{good(clock.Now().Wall, 20)}}))
		clock.pass(10 * time.Second)
	}
	s.Settle(t.Context())
	require.NoError(t, s.Close())
	db, err := sql.Open("sqlite", filepath.Join(dir, history.FileName))
	require.NoError(t, err)
	_, err = db.Exec("UPDATE part SET samples = x''")
	require.NoError(t, errors.Join(err, db.Close()))
	reader, err := history.OpenReader(t.Context(), options(dir, clock))
	require.NoError(t, err)
	asked := 0
	for _, err := range reader.Runs(t.Context(), history.RunQuery{Channel: "tray", From: evening(), To: clock.Now().Wall,
		Pause: 15 * time.Second}) {
		asked++
		require.ErrorIs(t, err, history.ErrCorrupt)
	}
	require.Equal(t, 1, asked)
	require.NoError(t, reader.Close())
}

// sameByValues reads a channel once for its runs and its samples, twice in one look.
func sameByValues(t require.TestingT, s *history.Store, q history.RunQuery, want []history.Sample) {
	require.NoError(t, s.Look(context.Background(), func(l *history.Look) error {
		for range 2 {
			var runs []history.Run
			var got []history.Sample
			p := history.Pass{RunQuery: q, Run: func(r history.Run) { runs = append(runs, r) }, Values: func(values history.Values) {
				for i := range values.Len() {
					v := values.At(i)
					got = append(got, history.Sample{Channel: q.Channel, At: time.UnixMilli(v.UnixMilli).UTC(), Raw: v.Raw, Grade: v.Grade,
						Reason: values.Reason(i), Imported: v.Imported})
				}
			}}
			require.NoError(t, l.Pass(p))
			require.Equal(t, want, got)
			require.Equal(t, runsByHand(want, q.Pause), runs)
		}
		return nil
	}))
}

func TestALookEndsWithItsContextAndNamesAChannelThatItDoesNotKnow(t *testing.T) {
	s := open(t, t.TempDir(), newHandClock(evening()))
	defer func() { require.NoError(t, s.Close()) }()
	ctx, cancel := context.WithCancel(t.Context())
	err := s.Look(ctx, func(l *history.Look) error {
		require.ErrorIs(t, l.Pass(history.Pass{RunQuery: history.RunQuery{Channel: "nowhere", From: evening(),
			To: evening().Add(time.Hour)}}), history.ErrUnknownChannel)
		cancel()
		return l.Pass(history.Pass{RunQuery: history.RunQuery{Channel: "tray", From: evening(), To: evening().Add(time.Hour)}})
	})
	require.ErrorIs(t, err, context.Canceled)
}
