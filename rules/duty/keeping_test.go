package duty_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/duty"
)

func TestADayIsKeptUntilItsIntervalIsOver(t *testing.T) {
	for _, c := range []struct{ every, now, want string }{
		{"30 years", "2056-11-25", "2026-11-25"}, // the day itself is over only tomorrow
		{"1 year", "2025-02-28", "2024-02-28"},
		{"1 year", "2025-03-01", "2024-03-01"}, // 29 February of 2024 ends with 28 February of 2025
		{"1 month", "2026-03-31", "2026-03-01"},
		{"7 days", "2026-03-08", "2026-03-01"},
	} {
		every, err := duty.ParseInterval(c.every)
		require.NoError(t, err)
		now, err := time.Parse(time.DateOnly, c.now)
		require.NoError(t, err)
		for _, zone := range []*time.Location{time.UTC, time.FixedZone("", -12*3600), time.FixedZone("", 14*3600)} {
			got := duty.Keeping{For: every}.KeptUntil(now.Add(23 * time.Hour).In(zone))
			require.Equal(t, c.want+"T00:00:00Z", got.Format(time.RFC3339Nano), "%s, asked %v", c.every, zone)
		}
	}
	require.Equal(t, "30 years", duty.ExposureUS().String())
}

func TestNothingIsGivenUpBeforeItsTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := duty.Keeping{For: duty.Interval{Months: rapid.IntRange(0, 400).Draw(t, "months"), Days: rapid.IntRange(1, 400).Draw(t, "days")}}
		now := time.Unix(rapid.Int64Range(1e9, 5e9).Draw(t, "now"), 0).UTC()
		kept := k.KeptUntil(now)
		require.True(t, k.For.After(kept).After(now), "the first day kept is not over")
		for days := 1; days < 40; days++ {
			require.False(t, k.For.After(kept.AddDate(0, 0, -days)).After(now), "every day before it is")
		}
	})
}
