package daemon

import (
	"math"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard"
	"wetside/sensors"
)

// corrected turns a channel's raw history into true values in the inside unit, by
// the correction in force at each time. Corrections have a positive slope, so the
// lowest raw value stays the lowest.
func corrected(c sensors.Channel, raw history.Series) dashboard.Series {
	return series(raw, func(v float64, at time.Time) float64 { return c.Correct(c.Unit.ToBase(v), at) })
}

// series turns raw history into values by a rule that keeps their order. What the
// rule makes no number of is suspect.
func series(raw history.Series, truth func(v float64, at time.Time) float64) dashboard.Series {
	var out dashboard.Series
	for _, s := range raw.Samples {
		v := truth(s.Raw, s.At)
		out.Points = append(out.Points, dashboard.SeriesPoint{At: s.At, Min: v, Mean: v, Max: v, Count: 1, Suspect: s.Grade != sensors.Good || math.IsNaN(v)})
	}
	for _, col := range raw.Columns {
		p := dashboard.SeriesPoint{At: col.From, Count: int(col.Good), Suspect: col.Good == 0}
		if !p.Suspect {
			p.Min, p.Mean, p.Max = truth(col.Min, col.From), truth(col.Mean, col.From), truth(col.Max, col.From)
			p.Suspect = math.IsNaN(p.Min + p.Mean + p.Max)
		}
		out.Points = append(out.Points, p)
	}
	for _, g := range raw.Gaps {
		out.Gaps = append(out.Gaps, dashboard.SeriesGap{From: g.From, To: g.To, Cause: g.Cause})
	}
	return out
}
