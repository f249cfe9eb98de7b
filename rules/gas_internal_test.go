package rules

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors"
)

// The few spans on which a limit is judged average the same as the minutes in their order.
func TestTheSumOfMinutesAveragesLikeTheMinutes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := Gas{Sensor: breathing.Sensor{Detection: 0.1}}
		var m gasMemory
		now := time.Duration(rapid.IntRange(0, 100).Draw(t, "began")) * time.Second
		for range rapid.IntRange(5, 60).Draw(t, "readings") {
			c := ChannelView{Grade: rapid.SampledFrom([]sensors.Grade{sensors.Good, sensors.Good, sensors.Missing}).Draw(t, "grade")}
			if c.Grade == sensors.Good {
				c.value = rapid.Float64Range(0, 30).Draw(t, "ppm")
			}
			m, _ = m.take(g, c, now)
			now += time.Duration(rapid.IntRange(1, 150).Draw(t, "seconds")) * time.Second
		}
		for _, window := range []time.Duration{15 * time.Minute, 8 * time.Hour} {
			minutes := m.last(window)
			require.LessOrEqual(t, len(minutes), int(window/time.Minute))
			quick, err := g.sum(minutes)
			require.NoError(t, err)
			slow, err := g.tape(minutes)
			require.NoError(t, err)
			require.Equal(t, slow.Length(), quick.Length())
			if slow.Length() == 0 {
				continue
			}
			a, err := quick.Last(window, breathing.WorstObserved())
			require.NoError(t, err)
			b, err := slow.Last(window, breathing.WorstObserved())
			require.NoError(t, err)
			require.InDelta(t, b.Low, a.Low, 1e-9)
			require.InDelta(t, b.High, a.High, 1e-9)
			require.InDelta(t, b.Coverage, a.Coverage, 1e-9)
			require.Equal(t, b.Below, a.Below)
		}
	})
}

// A reading counts until the next look, a minute at most; what nobody looked at is
// unknown, and never counts as zero.
func TestAGapIsUnknownAndNotZero(t *testing.T) {
	g := Gas{}
	var m gasMemory
	good := ChannelView{Grade: sensors.Good, value: 12}
	for at := time.Duration(0); at <= 5*time.Minute; at += 30 * time.Second {
		m, _ = m.take(g, good, at)
	}
	m, fresh := m.take(g, ChannelView{}, 15*time.Minute)
	require.True(t, fresh)
	tape, err := g.sum(m.last(15 * time.Minute))
	require.NoError(t, err)
	a, err := tape.Last(15*time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.InDelta(t, 4, a.Low, 1e-9, "five minutes of 12 ppm in fifteen")
	require.InDelta(t, 12, a.High, 1e-9)
	require.InDelta(t, 1.0/3, a.Coverage, 1e-9)
}

// A working day and no more is kept, however long the daemon runs and however long nobody looked.
func TestTheDayOfAGasIsBounded(t *testing.T) {
	g, m := Gas{}, gasMemory{}
	for at := time.Duration(0); at < 30*time.Hour; at += 20 * time.Minute {
		m, _ = m.take(g, ChannelView{}, at)
		require.LessOrEqual(t, len(m.minutes), keptMinutes)
	}
	m, _ = m.take(g, ChannelView{}, 300*time.Hour)
	require.Len(t, m.minutes, keptMinutes)
}
