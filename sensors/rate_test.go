package sensors

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestRateIsThatOfTheLastMinute(t *testing.T) {
	var rate minuteRate
	at := func(d time.Duration) Instant { return Instant{Mono: d} }
	require.Zero(t, rate.perMinute(at(time.Hour)))
	rate = minuteRate{}
	for s := range 30 {
		rate.add(at(time.Duration(s)*time.Second), 2)
	}
	require.InDelta(t, 120, rate.perMinute(at(29*time.Second)), 1e-9, "before a minute is full")
	require.InDelta(t, 60, rate.perMinute(at(59*time.Second)), 1e-9)
	require.InDelta(t, 2, rate.perMinute(at(88*time.Second)), 1e-9)
	require.Zero(t, rate.perMinute(at(89*time.Second)))
}

func TestRateAgreesWithCountingEveryEvent(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var rate minuteRate
		var seconds []int64
		now := time.Duration(0)
		for _, pause := range rapid.SliceOfN(rapid.Int64Range(0, 90_000), 1, 50).Draw(rt, "pauses in ms") {
			now += time.Duration(pause) * time.Millisecond
			rate.add(Instant{Mono: now}, 1)
			seconds = append(seconds, int64(now/time.Second))
		}
		last, count := seconds[len(seconds)-1], 0
		for _, s := range seconds {
			if s > last-60 {
				count++
			}
		}
		want := float64(count) * 60 / float64(min(last-seconds[0]+1, 60))
		require.InDelta(rt, want, rate.perMinute(Instant{Mono: now}), 1e-9)
	})
}

func TestWaitsDoubleUpToHalfAMinute(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := Backoff{First: firstWait, Longest: maxWait}
		want := firstWait
		for range rapid.IntRange(1, 60).Draw(rt, "attempts") {
			wait := b.Next()
			require.LessOrEqual(rt, wait, want)
			require.GreaterOrEqual(rt, wait, want*4/5)
			want = min(2*want, maxWait)
		}
		b.Reset()
		require.LessOrEqual(rt, b.Next(), firstWait)
	})
}
