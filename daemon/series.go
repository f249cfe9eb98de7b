package daemon

import (
	"context"
	"math"
	"slices"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/web"
	"wetside/rules/truth"
	"wetside/sensors"
)

// corrected turns a channel's raw history into true values in the inside unit, by
// the correction in force at each time. Corrections have a positive slope, so the
// lowest raw value stays the lowest. An imported value is not of this probe, so its
// corrections don't touch it.
func corrected(c sensors.Channel, raw history.Series) web.Series {
	return series(raw, func(r rawValue) float64 { return trueValue(c, r) })
}

func trueValue(c sensors.Channel, r rawValue) float64 {
	if r.imported {
		return c.Unit.ToBase(r.value)
	}
	return c.Correct(c.Unit.ToBase(r.value), r.at)
}

// kept reads a channel for a chart, with its readings graded by what is known of the probe
// now: a fault may have been found later than it began.
func (s *site) kept(ctx context.Context, q history.SeriesQuery) (history.Series, error) {
	raw, err := s.store.Series(ctx, q)
	if book := s.bookOf(q.Channel); err == nil && book.Knows(q.Channel) {
		raw = believed(book, q.Channel, raw)
	}
	return raw, err
}

// bookOf is what is known of the probes of the room that has a channel; empty where none has.
func (s *site) bookOf(id sensors.ChannelID) truth.Book {
	for _, r := range s.everyRoom() {
		if book := r.shown.Load().Probes; book.Knows(id) {
			return book
		}
	}
	return truth.Book{}
}

// believed takes out of a series what lies in a time in which the channel was suspected, and
// puts back single readings that were doubted as they came, by a finding that a person has
// dismissed. A column in which some readings were suspected counts as a whole as suspected.
func believed(book truth.Book, id sensors.ChannelID, raw history.Series) history.Series {
	raw.Samples = slices.Clone(raw.Samples)
	for i := range raw.Samples {
		p := &raw.Samples[i]
		switch {
		case p.Imported:
		case book.Trust(id).Counts(p.At, p.Grade, p.Reason):
			p.Grade, p.Reason = sensors.Good, ""
		case p.Grade == sensors.Good:
			p.Grade, p.Reason = sensors.Suspect, sensors.LooksWrong
		}
	}
	raw.Columns = slices.Clone(raw.Columns)
	for _, d := range book.Doubts(id) {
		for i := range raw.Columns {
			if col := &raw.Columns[i]; !col.Imported && d.Touches(col.From, col.To) {
				col.Bad, col.Good = col.Bad+col.Good, 0
			}
		}
	}
	return raw
}

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
