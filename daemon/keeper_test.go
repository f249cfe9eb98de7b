package daemon

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/clocktest"
)

// hears is an update with a reading of the developer's tray.
func (r *room) hears(value float64, grade sensors.Grade) sensors.Update {
	return sensors.Update{Readings: []sensors.Reading{{Channel: "developer-tray", Raw: value, Grade: grade, At: r.clock.Now()}}}
}

// between has the room take an update in a turn of its own between two ticks.
func (r *room) between(t *testing.T, u sensors.Update) {
	r.receive(u)
	r.turn(t.Context(), false)
}

// kept lists what the history holds of the developer's tray.
func (r *room) kept(t require.TestingT) (values []float64) {
	at := r.clock.Now().Wall
	for s, err := range r.store.Samples(context.Background(), "developer-tray", at.Add(-time.Hour), at.Add(time.Hour)) {
		require.NoError(t, err)
		values = append(values, s.Raw)
	}
	return values
}

func TestSamplesWaitForTheTickAndNoLonger(t *testing.T) {
	r := aRoom(t)
	r.between(t, r.hears(20.0, sensors.Good))
	require.Equal(t, []float64{20.0}, r.kept(t), "with the record that the channel gives good values")
	r.between(t, r.hears(20.1, sensors.Good))
	r.between(t, r.hears(20.2, sensors.Good))
	require.Equal(t, []float64{20.0}, r.kept(t))
	r.turn(t.Context(), true)
	require.Equal(t, []float64{20.0, 20.1, 20.2}, r.kept(t))
}

func TestARecordTakesTheSamplesAlongThatLedToIt(t *testing.T) {
	r := aRoom(t)
	r.between(t, r.hears(20.0, sensors.Good))
	r.between(t, r.hears(20.1, sensors.Suspect))
	require.Equal(t, []float64{20.0, 20.1}, r.kept(t))
}

func TestALoopWritesAtEveryTickAndAtItsEnd(t *testing.T) {
	r := aRoom(t)
	clock := r.clock.(*clocktest.Manual)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	taken := func() bool { return len(r.updates) == 0 }
	go func() { defer close(ended); r.run(ctx) }()
	for n := range 3 {
		r.updates <- r.hears(20+float64(n), sensors.Good)
		require.Eventually(t, taken, 5*time.Second, time.Millisecond)
		clock.BlockUntil(1)
		clock.Advance(tick)
		require.EventuallyWithT(t, func(c *assert.CollectT) { require.Len(c, r.kept(c), n+1) }, 5*time.Second, time.Millisecond)
	}
	r.updates <- r.hears(23, sensors.Good)
	require.Eventually(t, taken, 5*time.Second, time.Millisecond)
	cancel()
	<-ended
	require.Equal(t, []float64{20, 21, 22, 23}, r.kept(t))
}
