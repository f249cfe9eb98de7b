package audit

import (
	"time"

	"wetside/dashboard/report"
	"wetside/rules/breathing"
	"wetside/rules/past"
)

// gasMinutes gives the minutes of a gas as a pack keeps them, so that its averages can be
// computed again without the readings.
func gasMinutes(s evening, course *past.GasCourse, minutes []breathing.Minute) report.GasMinutes {
	sensor, length := course.Sensor(), s.Span().Length()
	minutes = minutes[:min(len(minutes), max(0, int((length+time.Minute-1)/time.Minute)))]
	out := report.GasMinutes{Session: s.number, Channel: course.Channel.ID, From: s.Span().From.UTC(), Length: length,
		Detection: configured(sensor.Detection), RangeEnd: configured(sensor.FullScale), Minutes: make([]report.GasMinute, len(minutes))}
	for i, m := range minutes {
		out.Minutes[i] = report.GasMinute{Read: m.Known, Below: m.Below, Over: m.Over, Mean: max(0, m.Mean()), Highest: m.High}
	}
	return out
}

// configured is a figure of a sensor; nil for zero, which stands for none.
func configured(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}
