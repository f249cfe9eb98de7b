package dashboard_test

import (
	"context"
	"time"

	"wetside/dashboard/programs"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// measured is an invented history for other programs: a reading every Step that falls from
// 22 degrees, the third of each ten suspect and the fourth missing; and one gap.
type measured struct {
	Step time.Duration
	Err  error
}

var _ programs.Measured = (*measured)(nil)

// Samples gives the readings of a time.
func (m *measured) Samples(_ context.Context, s programs.Span) ([]programs.Sample, error) {
	var list []programs.Sample
	first := s.From.Truncate(m.Step)
	if first.Before(s.From) {
		first = first.Add(m.Step)
	}
	for at := first; at.Before(s.To); at = at.Add(m.Step) {
		n := at.Unix() / int64(m.Step/time.Second) % 10
		p := programs.Sample{At: at, Raw: 22 - float64(n)/10, Grade: sensors.Good}
		p.Value = p.Raw - 0.5
		switch n {
		case 3:
			p.Grade, p.Reason = sensors.Suspect, sensors.Jump
		case 4:
			p.Grade, p.Reason = sensors.Missing, sensors.ProbeFault
		}
		list = append(list, p)
	}
	return list, m.Err
}

// Quarters gives one stretch a quarter of an hour, the first of them without a good reading.
func (m *measured) Quarters(_ context.Context, s programs.Span) ([]programs.Stretch, error) {
	var list []programs.Stretch
	const quarter = 15 * time.Minute
	for at := s.From; at.Before(s.To); at = at.Add(quarter) {
		q := programs.Stretch{From: at, To: at.Add(quarter), Good: 800, Bad: 100, Covered: 13 * time.Minute, Min: 19, Mean: 20, Max: 21}
		if at.Equal(s.From) {
			q.Good, q.Bad, q.Covered = 0, 900, 0
		}
		list = append(list, q)
	}
	return list, m.Err
}

// Gaps are one in the middle of the time, of a minute.
func (m *measured) Gaps(_ context.Context, s programs.Span, _ bool) ([]web.SeriesGap, error) {
	middle := s.From.Add(s.To.Sub(s.From) / 2)
	return []web.SeriesGap{{From: middle, To: middle.Add(time.Minute), Cause: "line gone"}}, m.Err
}
