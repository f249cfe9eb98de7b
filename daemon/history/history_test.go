package history_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// evening is when the tests begin: a quarter past seven, UTC.
func evening() time.Time { return time.Date(2026, 10, 14, 19, 15, 0, 0, time.UTC) }

// handClock is set by a test.
type handClock struct {
	now chan sensors.Instant
}

func newHandClock(wall time.Time) *handClock {
	c := &handClock{make(chan sensors.Instant, 1)}
	c.now <- sensors.Instant{Wall: wall}
	return c
}

func (c *handClock) Now() sensors.Instant {
	now := <-c.now
	c.now <- now
	return now
}

func (c *handClock) After(time.Duration) <-chan time.Time { return nil }

// pass lets both times go on.
func (c *handClock) pass(d time.Duration) {
	now := <-c.now
	c.now <- sensors.Instant{Wall: now.Wall.Add(d), Mono: now.Mono + d}
}

// set sets the wall clock alone.
func (c *handClock) set(wall time.Time) {
	now := <-c.now
	c.now <- sensors.Instant{Wall: wall, Mono: now.Mono}
}

func celsius(t require.TestingT) quantity.Unit {
	u, err := quantity.ParseUnit("°C")
	require.NoError(t, err)
	return u
}

func bath(t require.TestingT, id sensors.ChannelID) sensors.Channel {
	traits, ok := sensors.BathTemperature.Traits()
	require.True(t, ok)
	return sensors.Channel{ID: id, Name: "developer tray", Kind: sensors.BathTemperature, Unit: celsius(t), Traits: traits}
}

func options(dir string, clock sensors.Clock) history.Options {
	return history.Options{Dir: dir, Clock: clock, Zone: time.FixedZone("CEST", 7200), Version: "test"}
}

// open opens a history that knows the channel "tray" in the room "wet".
func open(t *testing.T, dir string, clock sensors.Clock) *history.Store {
	t.Helper()
	s, err := history.Open(t.Context(), options(dir, clock))
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{bath(t, "tray")}))
	return s
}

func good(at time.Time, raw float64) history.Sample {
	return history.Sample{Channel: "tray", At: at, Raw: raw, Grade: sensors.Good}
}

// fill stores n good samples, a second apart, and lets the clock go on with them.
func fill(t *testing.T, s *history.Store, clock *handClock, n int) []history.Sample {
	t.Helper()
	samples := make([]history.Sample, n)
	for i := range samples {
		samples[i] = good(clock.Now().Wall, 20+float64(i%7)/100)
		clock.pass(time.Second)
	}
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: samples}))
	return samples
}

func all(t *testing.T, s *history.Store, from, to time.Time) []history.Sample {
	t.Helper()
	var got []history.Sample
	for sample, err := range s.Samples(context.Background(), "tray", from, to) {
		require.NoError(t, err)
		got = append(got, sample)
	}
	return got
}

func TestSamplesComeBackFromTailAndBlocks(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	s := open(t, dir, clock)
	want := fill(t, s, clock, 2500)
	require.Equal(t, want, all(t, s, evening(), clock.Now().Wall))
	require.NoError(t, s.Close())

	s = open(t, dir, clock)
	require.Equal(t, want, all(t, s, evening(), clock.Now().Wall))
}

func TestRecordsComeBackAndTheBookVerifies(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	s := open(t, dir, clock)
	written, err := s.Record(t.Context(), history.Entry{Kind: "batch mixed", Person: "A. Volunteer", Content: []byte(`{"millilitres": 1000}`)})
	require.NoError(t, err)
	records, err := s.Records(t.Context(), history.Query{Kinds: []string{"batch mixed"}})
	require.NoError(t, err)
	require.Equal(t, []history.Record{written}, records)
	require.Equal(t, 7200, written.OffsetSeconds)
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.NoError(t, report.Err())
	require.Equal(t, written.Hash, report.Last.Hash)
}
