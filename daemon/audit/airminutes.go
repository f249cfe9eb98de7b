package audit

import (
	"slices"

	"wetside/dashboard/report"
	"wetside/rules/coverage"
	"wetside/rules/past"
)

// flow begins the course of the airflow of a session; nil where no probe measured the flow.
func (c counting) flow(s evening, room past.Room) (*past.FlowCourse, error) {
	probes := room.FlowProbes()
	if len(probes) == 0 {
		return nil, nil
	}
	var warm past.Temperatures
	if slices.ContainsFunc(probes, func(p past.FlowProbe) bool { return p.NeedsTemperature() }) {
		for _, channel := range room.AirTemperatures() {
			track, err := c.track(channel, s.Span())
			if err != nil {
				return nil, err
			}
			warm = append(warm, track)
		}
	}
	return s.FlowCourse(probes, warm, c.chronicle.disputed(s.Room, s.Span())), nil
}

// track reads what a channel measured over a time.
func (c counting) track(channel past.Channel, over coverage.Span) (*past.Track, error) {
	sensor := channel.Sensor()
	t := &past.Track{Silence: sensor.Silence}
	read := func(r past.Reading) { t.Add(r.At(), sensor.Correct(sensor.Unit.ToBase(r.Raw), r.At()), r.Good) }
	return t, c.hear(hearing{channel: channel, over: over, readers: []func(past.Reading){read}})
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
