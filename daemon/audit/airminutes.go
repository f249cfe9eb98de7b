package audit

import (
	"time"

	"wetside/dashboard/report"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/sensors"
)

// countAir sums up the air of a session by the minute.
func (g *gathering) countAir(out *counted, s evening, room past.Room) error {
	probe, fitted := room.FlowProbe()
	if !fitted {
		return nil
	}
	var warm past.Temperatures
	if probe.NeedsTemperature() {
		for _, c := range room.AirTemperatures() {
			track, err := g.track(c.Sensor(), s.Span())
			if err != nil {
				return err
			}
			warm = append(warm, track)
		}
	}
	minutes := past.NewAirMinutes(s.Open(), g.chronicle.disputed(s.Room, s.Span()))
	err := g.eachMeasured(probe.Channel.ID, s.Span(), func(raw float64, at time.Time, good bool) {
		if !good || !minutes.Counts(at) {
			return
		}
		if n, err := probe.AirChanges(raw, at, warm.At(at)); err == nil {
			minutes.Add(at, float64(n))
		}
	})
	out.fillAir(s.number, minutes.List())
	return err
}

// fillAir gives the minutes of a session, the lowest of their means and the typical one.
func (c *counted) fillAir(session int, list []past.AirMinute) {
	var means []float64
	for _, p := range list {
		row := report.Minute{Session: session, At: p.At, Readings: p.Readings}
		if p.Readings > 0 {
			mean := p.Mean()
			row.Low, row.Mean, row.Highest = &p.Low, &mean, &p.High
			means = append(means, mean)
			if c.lowest == nil || mean < *c.lowest {
				c.lowest = &mean
			}
		}
		c.minutes = append(c.minutes, row)
	}
	c.typical = report.Median(means)
}

// eachMeasured hands on what the probe of a channel said, but not what came from a file. A
// reading is not good while the probe was suspected, also where its fault was found later.
func (g *gathering) eachMeasured(id sensors.ChannelID, span coverage.Span, each func(raw float64, at time.Time, good bool)) error {
	for sample, err := range g.book.Samples(g.ctx, id, span.From, span.To) {
		if unknown(err) {
			return nil // the channel stands in the settings and never gave anything
		}
		if err != nil {
			return err
		}
		if !sample.Imported {
			each(sample.Raw, sample.At, g.probesBelieved.Trusts(id, sample.At, sample.Grade, sample.Reason))
		}
	}
	return nil
}

// track reads what a channel measured over a time.
func (g *gathering) track(c sensors.Channel, span coverage.Span) (*past.Track, error) {
	t := &past.Track{Silence: c.Silence}
	span.From = span.From.Add(-c.Silence)
	return t, g.eachMeasured(c.ID, span, func(raw float64, at time.Time, good bool) {
		t.Add(at, c.Correct(c.Unit.ToBase(raw), at), good)
	})
}
