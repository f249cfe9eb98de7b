package audit

import (
	"time"

	"wetside/dashboard/report"
	"wetside/rules/breathing"
	"wetside/rules/past"
)

func gasCourses(s evening, room past.Room) (all []*past.GasCourse) {
	for _, gas := range room.Gases {
		if course, known := s.GasCourse(gas); known {
			all = append(all, course)
		}
	}
	return all
}

// judge sets the gases of a session, by the minutes that were read of each, against the limits that
// were in force then.
func (g *gathering) judge(out *counted, s evening, gases []*past.GasCourse, read [][]breathing.Minute) error {
	for i, course := range gases {
		minutes, vouched := read[i], g.vouched(s)
		out.gasMinutes = append(out.gasMinutes, gasMinutes(s, course, minutes))
		found, err := course.Judge(minutes, vouched)
		if err != nil {
			return err
		}
		for _, f := range found {
			average := averageOf(s.number, course.Channel, f)
			if average.Unexposed > 0 {
				average.Statement = vouched.Record
			}
			out.averages = append(out.averages, average)
		}
	}
	return nil
}

// vouched is the statement about the time outside of the class that covers a session, as
// known when the report is made.
func (g *gathering) vouched(s evening) breathing.Vouched {
	if newest := g.known.At(g.Now); newest != nil {
		room, _ := newest.Room(s.Room)
		return breathing.VouchedAt(room.Unexposed, s.Last.Begun)
	}
	return breathing.Vouched{}
}

func (g *gathering) statements() error {
	newest := g.known.At(g.Now)
	if newest == nil {
		return nil
	}
	for _, r := range newest.Rooms {
		for _, v := range r.Unexposed {
			g.data.Statements = append(g.data.Statements, report.Statement{Room: r.ID, By: v.By, On: v.On, From: v.Effective, Withdrawn: v.Off,
				Why: v.Why, Record: v.Record})
		}
	}
	return nil
}

func averageOf(number int, c past.Channel, f breathing.Finding) report.Average {
	out := report.Average{Session: number, Channel: c.ID, Name: c.Name, Agent: f.Limit.Agent, Limit: f.Limit.Text(), Value: f.Limit.Value,
		Unit:    f.Limit.Unit.String(),
		Minutes: f.Limit.Window.Minutes(), Text: f.Figure(), Wide: f.Wide(), Verdict: f.Verdict.Said(),
		Known: 100 * f.Average.Coverage, Unexposed: f.Average.Unexposed}
	if f.Average.Coverage > 0 {
		out.Low = &f.Average.Low
		if !f.Average.Open {
			out.High = &f.Average.High
		}
	}
	return out
}

// gasMinutes gives the minutes of a gas as a pack keeps them, so that its averages can be
// computed again without the readings.
func gasMinutes(s evening, course *past.GasCourse, minutes []breathing.Minute) report.GasMinutes {
	sensor, length := course.Sensor(), s.Span().Length()
	minutes = minutes[:min(len(minutes), max(0, int((length+time.Minute-1)/time.Minute)))]
	out := report.GasMinutes{Session: s.number, Channel: course.Channel.ID, From: s.Span().From.UTC(), Length: length,
		Detection: some(sensor.Detection), RangeEnd: some(sensor.FullScale), Minutes: make([]report.GasMinute, len(minutes))}
	for i, m := range minutes {
		out.Minutes[i] = report.GasMinute{Read: m.Known, Below: m.Below, Over: m.Over, Mean: max(0, m.Mean()), Highest: m.High}
	}
	return out
}
