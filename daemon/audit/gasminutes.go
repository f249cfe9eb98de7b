package audit

import (
	"time"

	"wetside/dashboard/report"
	"wetside/rules/breathing"
	"wetside/rules/past"
)

// gasMinutes gives the minutes of a gas as a pack keeps them, so that its averages can be
// computed again without the readings.
func gasMinutes(s evening, course *past.GasCourse, minutes []breathing.Minute) []report.GasMinute {
	list, sensor := make([]report.GasMinute, 0, len(minutes)), course.Sensor()
	from, length := s.Span().From, s.Span().Length()
	detection, end := configured(sensor.Detection), configured(sensor.FullScale)
	figures := make([][2]float64, len(minutes)) // the mean and the highest of each, to which the rows point
	for i, m := range minutes {
		out := report.GasMinute{Session: s.number, Channel: course.Channel.ID, At: from.Add(time.Duration(i) * time.Minute).UTC(), Length: min(time.Minute, length),
			Read: m.Known, Below: m.Below, Over: m.Over, Detection: detection, RangeEnd: end}
		if m.Known > 0 {
			figures[i] = [2]float64{max(0, m.Mean()), m.High}
			out.Mean, out.Highest = &figures[i][0], &figures[i][1]
		}
		if out.Length > 0 {
			list = append(list, out)
		}
		length -= time.Minute
	}
	return list
}

// configured is a figure of a sensor; nil for zero, which stands for none.
func configured(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}
