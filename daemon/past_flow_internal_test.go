package daemon

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/web"
	"wetside/rules/past"
)

func TestAGapOfEveryFlowProbeIsKeptThoughAStepBeginsInIt(t *testing.T) {
	begun := time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC)
	minute := func(m float64) time.Time { return begun.Add(time.Duration(m * float64(time.Minute))) }
	flow := func(gap bool, at ...float64) (s web.Series) {
		for _, m := range at {
			s.Points = append(s.Points, web.SeriesPoint{At: minute(m), Min: 250, Mean: 250, Max: 250, Count: 60})
		}
		if gap {
			s.Gaps = []web.SeriesGap{{From: minute(2), To: minute(10), Cause: "machine off"}}
		}
		return s
	}
	joined := func(first, second web.Series) web.Series {
		tracks := []*past.Track{trackOf(first, 90*time.Second), trackOf(second, 90*time.Second)}
		return resting([]web.Series{first, second}, tracks, 2*time.Minute)
	}
	// the step from 9.5 on holds the readings after minute 10
	off := joined(flow(true, 0, 1, 9.5, 10.5), flow(true, 0, 1, 9.5, 10.5))
	require.Len(t, off.Gaps, 1, "nothing was measured: no line may lead across")
	filled := joined(flow(true, 0, 1, 10.5), flow(false, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10))
	require.Empty(t, filled.Gaps, "the other probe measured meanwhile")
}
