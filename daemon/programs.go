package daemon

import (
	"context"
	"math"
	"slices"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/programs"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// measured is what other programs read of the history of a site.
type measured struct{ *site }

var _ programs.Measured = measured{}

// Samples gives every sample of a channel, as far as it is believed now.
func (m measured) Samples(ctx context.Context, s programs.Span) ([]programs.Sample, error) {
	c, err := m.channel(s.Channel)
	if err != nil {
		return nil, err
	}
	raw := history.Series{}
	for sample, err := range m.store.Samples(ctx, s.Channel, s.From, s.To) {
		if err != nil {
			return nil, err
		}
		raw.Samples = append(raw.Samples, sample)
	}
	raw = believed(m.bookOf(s.Channel), s.Channel, raw)
	list := make([]programs.Sample, len(raw.Samples))
	for i, p := range raw.Samples {
		list[i] = programs.Sample{At: p.At, Raw: p.Raw, Value: trueValue(c, rawValue{p.Raw, p.At, p.Imported}), Grade: p.Grade, Reason: p.Reason,
			Imported: p.Imported}
	}
	return list, nil
}

// Quarters gives what each quarter of an hour comes to. One in which a correction comes into
// force is made of its samples, each corrected by its own.
func (m measured) Quarters(ctx context.Context, s programs.Span) ([]programs.Stretch, error) {
	c, err := m.channel(s.Channel)
	if err != nil {
		return nil, err
	}
	columns, err := m.store.Quarters(ctx, s.Channel, s.From, s.To)
	if err != nil {
		return nil, err
	}
	columns = believed(m.bookOf(s.Channel), s.Channel, history.Series{Columns: columns}).Columns
	list := make([]programs.Stretch, len(columns))
	for i, q := range columns {
		if len(datesWithin(c, q.From, q.To)) > 0 {
			samples, err := m.Samples(ctx, programs.Span{Channel: s.Channel, From: q.From, To: q.To})
			if err != nil {
				return nil, err
			}
			list[i] = summed(q, samples)
			continue
		}
		list[i] = stretch(c, q)
	}
	return list, nil
}

// Gaps are the times without samples; one that lasts still has no end.
func (m measured) Gaps(ctx context.Context, s programs.Span, exact bool) ([]web.SeriesGap, error) {
	q := history.SeriesQuery{Channel: s.Channel, From: s.From, To: s.To, Points: 1}
	if exact { // columns narrower than a quarter of an hour are made of the samples themselves
		q.Points = int(s.To.Sub(s.From)/(15*time.Minute)) + 1
	}
	raw, err := m.store.Series(ctx, q)
	if err != nil {
		return nil, err
	}
	now := m.clock.Now().Wall
	var list []web.SeriesGap
	for _, g := range raw.Gaps {
		if !g.To.Before(now) {
			g.To = time.Time{}
		}
		list = append(list, web.SeriesGap{From: g.From, To: g.To, Cause: g.Cause})
	}
	return list, nil
}

// stretch is a column corrected by the record in force at its beginning.
func stretch(c sensors.Channel, q history.Column) programs.Stretch {
	of := func(v float64) float64 { return trueValue(c, rawValue{v, q.From, q.Imported}) }
	return programs.Stretch{From: q.From, To: q.To, Good: int(q.Good), Bad: int(q.Bad), Covered: coveredOf(q),
		Min: of(q.Min), Mean: of(q.Mean), Max: of(q.Max), Imported: q.Imported}
}

// summed is a column made of corrected samples.
func summed(q history.Column, samples []programs.Sample) programs.Stretch {
	out := programs.Stretch{From: q.From, To: q.To, Covered: coveredOf(q), Min: math.Inf(1), Max: math.Inf(-1), Imported: q.Imported}
	samples = slices.DeleteFunc(samples, func(s programs.Sample) bool {
		doubtful := s.Grade != sensors.Good || math.IsNaN(s.Value)
		if doubtful {
			out.Bad++
		}
		return doubtful
	})
	for i, s := range samples {
		out.Min, out.Max = min(out.Min, s.Value), max(out.Max, s.Value)
		out.Mean += (s.Value - out.Mean) / float64(i+1)
	}
	out.Good = len(samples)
	return out
}

// coveredOf is for how long a good value is known; a column that is suspected covers nothing.
func coveredOf(q history.Column) time.Duration {
	if q.Good == 0 {
		return 0
	}
	return q.Covered
}
