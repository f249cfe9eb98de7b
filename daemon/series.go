package daemon

import (
	"math"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// corrected turns a channel's raw history into true values in the inside unit, by
// the correction in force at each time. Corrections have a positive slope, so the
// lowest raw value stays the lowest. An imported value is not of this probe, so its
// corrections don't touch it.
func corrected(c sensors.Channel, raw history.Series) web.Series {
	return series(raw, func(r rawValue) float64 {
		if r.imported {
			return c.Unit.ToBase(r.value)
		}
		return c.Correct(c.Unit.ToBase(r.value), r.at)
	})
}

// rawValue is a value as it is kept.
type rawValue struct {
	value    float64
	at       time.Time
	imported bool
}

// series turns raw history into values by a rule that keeps their order. What the
// rule makes no number of is suspect.
func series(raw history.Series, truth func(rawValue) float64) web.Series {
	var out web.Series
	for _, s := range raw.Samples {
		v := truth(rawValue{s.Raw, s.At, s.Imported})
		out.Points = append(out.Points, web.SeriesPoint{At: s.At, Min: v, Mean: v, Max: v, Count: 1,
			Suspect: s.Grade != sensors.Good || math.IsNaN(v), Imported: s.Imported})
	}
	for _, col := range raw.Columns {
		p := web.SeriesPoint{At: col.From, Count: int(col.Good), Suspect: col.Good == 0, Imported: col.Imported}
		if !p.Suspect {
			of := func(v float64) float64 { return truth(rawValue{v, col.From, col.Imported}) }
			p.Min, p.Mean, p.Max = of(col.Min), of(col.Mean), of(col.Max)
			p.Suspect = math.IsNaN(p.Min + p.Mean + p.Max)
		}
		out.Points = append(out.Points, p)
	}
	for _, g := range raw.Gaps {
		out.Gaps = append(out.Gaps, web.SeriesGap{From: g.From, To: g.To, Cause: g.Cause})
	}
	return out
}
