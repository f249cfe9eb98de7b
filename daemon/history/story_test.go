package history_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/history"
	"wetside/sensors"
)

// life is a history that is written, killed and started again, and everything that it
// has acknowledged.
type life struct {
	*rapid.T
	root    string
	starts  int
	dir     string
	clock   *handClock
	store   *history.Store
	samples map[int64]float64 // by time
	records map[uint64]string // number to hash
}

// TestAnySequenceOfAppendsKillsAndRestartsKeepsWhatWasAcknowledged plays any sequence. A
// kill leaves the files behind as they are at that moment, log and all.
func TestAnySequenceOfAppendsKillsAndRestartsKeepsWhatWasAcknowledged(t *testing.T) {
	root := t.TempDir()
	lives := 0
	rapid.Check(t, func(t *rapid.T) {
		lives++
		l := &life{T: t, root: filepath.Join(root, fmt.Sprint(lives)), clock: newHandClock(evening()), samples: map[int64]float64{},
			records: map[uint64]string{}}
		l.dir = filepath.Join(l.root, "0")
		l.start()
		for range rapid.IntRange(1, 4).Draw(t, "acts") {
			rapid.SampledFrom([]func(){l.append, l.append, l.record, l.pass, l.order, l.kill, l.restart}).Draw(t, "act")()
		}
		l.restart()
		l.check()
		require.NoError(t, l.store.Close())
		require.NoError(t, os.RemoveAll(l.root))
	})
}

func (l *life) start() {
	var err error
	l.store, err = history.Open(context.Background(), options(l.dir, l.clock))
	require.NoError(l, err)
	require.NoError(l, l.store.RegisterChannels(context.Background(), "wet", []sensors.Channel{bath(l, "tray")}))
}

// append stores up to half an hour of samples.
func (l *life) append() {
	samples := make([]history.Sample, rapid.IntRange(1, 180).Draw(l.T, "samples"))
	for i := range samples {
		samples[i] = good(l.clock.Now().Wall, float64(len(l.samples)+i))
		l.clock.pass(10 * time.Second)
	}
	require.NoError(l, l.store.Append(context.Background(), history.Batch{Samples: samples}))
	for _, s := range samples {
		l.samples[s.At.UnixMilli()] = s.Raw
	}
}

func (l *life) record() {
	r, err := l.store.Record(context.Background(), history.Entry{Kind: "form", Person: rapid.String().Draw(l.T, "person")})
	require.NoError(l, err)
	l.records[r.Number] = r.Hash
}

// pass lets minutes or days go by.
func (l *life) pass() {
	l.clock.pass(time.Duration(rapid.IntRange(1, 3000).Draw(l.T, "minutes")) * time.Minute)
}

// order seals and attests what is due.
func (l *life) order() { l.store.Settle(l.Context()) }

// kill goes on with the files as they are now; what the killed program would still
// have written never happens.
func (l *life) kill() {
	l.starts++
	next := filepath.Join(l.root, fmt.Sprint(l.starts))
	require.NoError(l, os.MkdirAll(next, 0o700))
	for _, name := range []string{"wetside.db", "wetside.db-wal"} {
		data, err := os.ReadFile(filepath.Join(l.dir, name))
		require.NoError(l, err)
		require.NoError(l, os.WriteFile(filepath.Join(next, name), data, 0o600))
	}
	require.NoError(l, l.store.Close())
	l.dir = next
	l.check()
	l.start()
}

func (l *life) restart() {
	require.NoError(l, l.store.Close())
	l.check()
	l.start()
}

// check verifies the file and looks for everything that was acknowledged.
func (l *life) check() {
	report, err := history.Verify(context.Background(), l.dir)
	require.NoError(l, err)
	require.NoError(l, report.Err())
	r, err := history.OpenReader(context.Background(), options(l.dir, l.clock))
	require.NoError(l, err)
	defer r.Close()
	found := map[uint64]string{}
	for x, err := range r.EachRecord(context.Background(), history.Query{}) {
		require.NoError(l, err)
		found[x.Number] = x.Hash
	}
	for number, hash := range l.records {
		require.Equal(l, hash, found[number], "record %d", number)
	}
	stored := map[int64]float64{}
	for x, err := range r.Samples(context.Background(), "tray", evening(), l.clock.Now().Wall.Add(time.Hour)) {
		require.NoError(l, err)
		stored[x.At.UnixMilli()] = x.Raw
	}
	require.Equal(l, l.samples, stored)
}
