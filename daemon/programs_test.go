package daemon_test

import (
	"encoding/json"
	"math"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
)

// series is what /api/series answers, as far as the tests read it.
type series struct {
	Rows []struct {
		Row, Quality     string
		From             time.Time
		To               *time.Time
		Reason           *string
		Value, Low, High *float64
		Raw              *float64
		Good, Doubtful   int
		Simulated        bool
	}
	End struct {
		Rows int
		Next *string
	}
}

func (e *evening) series(resolution string) series {
	code, body := e.get("/api/series?channel=developer-tray&from=2026-10-14T17:00:00Z&to=2026-10-14T17:30:00Z&resolution=" + resolution)
	require.Equal(e, http.StatusOK, code, body)
	var s series
	require.NoError(e, json.Unmarshal([]byte(body), &s))
	require.Len(e, s.Rows, s.End.Rows)
	require.Nil(e, s.End.Next)
	return s
}

// TestAProgramReadsAnEveningWithItsGap holds the three resolutions of a series against each
// other and against what happened: a plug that is out for two minutes, and a correction by
// 0.9 K that a person enters within a quarter of an hour.
func TestAProgramReadsAnEveningWithItsGap(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 3m pull trays 2m")
	e.until(8 * time.Minute)
	e.does(truth.FitProbe{Channel: tray, Probe: "P-1", Accuracy: 0.5})
	e.does(truth.CheckProbe{Channel: tray, Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.9, Correct: true})
	e.until(17 * time.Minute)

	raw := e.series("raw")
	good, sum, gaps, offsets := 0, 0.0, 0, map[float64]int{}
	for _, r := range raw.Rows {
		require.True(t, r.Simulated)
		if r.Row == "gap" {
			gaps++
			require.Equal(t, "line gone", *r.Reason)
			require.WithinDuration(t, time.Date(2026, 10, 14, 17, 3, 0, 0, time.UTC), r.From, 5*time.Second)
			continue
		}
		if r.From.Before(time.Date(2026, 10, 14, 17, 15, 0, 0, time.UTC)) && r.Quality == "good" {
			good++
			sum += *r.Value
		}
		if r.Quality == "good" {
			offsets[math.Round((*r.Value-*r.Raw)*1000)/1000]++
		}
	}
	require.Equal(t, 1, gaps)
	require.Len(t, offsets, 2)
	require.InDelta(t, 6*60, offsets[0], 45, "uncorrected for 8 minutes, of which 2 are a gap")
	require.InDelta(t, 9*60, offsets[-0.9], 10)

	quarters := e.series("quarter")
	require.Equal(t, []string{"value", "gap", "value"}, []string{quarters.Rows[0].Row, quarters.Rows[1].Row, quarters.Rows[2].Row})
	require.Equal(t, good, quarters.Rows[0].Good)
	require.InDelta(t, sum/float64(good), *quarters.Rows[0].Value, 1e-9)

	day := e.series("day")
	first, second := quarters.Rows[0], quarters.Rows[2]
	require.Equal(t, first.Good+second.Good, day.Rows[0].Good)
	mean := (*first.Value*float64(first.Good) + *second.Value*float64(second.Good)) / float64(first.Good+second.Good)
	require.InDelta(t, mean, *day.Rows[0].Value, 1e-9)
	require.Equal(t, max(*first.High, *second.High), *day.Rows[0].High)
}
