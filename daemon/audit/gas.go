package audit

import (
	"time"

	"wetside/dashboard/report"
	"wetside/rules/breathing"
	"wetside/rules/past"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// countGases sets the gas channels of a session against the limits that were in force then:
// the worst average of the session for each.
func (g *gathering) countGases(out *counted, s evening, room past.Room) error {
	for _, gas := range room.Gases {
		if err := g.judge(out, s, gas); err != nil {
			return err
		}
	}
	return nil
}

func (g *gathering) judge(out *counted, s evening, gas past.Gas) error {
	c := s.Settled.Channel(gas.ID)
	sensor := breathing.Sensor{Resolution: gas.Resolution, Detection: gas.Detection, FullScale: gas.FullScale}
	minutes, err := g.read(s, sensor, c)
	if err != nil || minutes == nil {
		return err
	}
	ppm, err := quantity.ParseUnit("ppm")
	if err != nil {
		return err
	}
	judged := breathing.Gas{Agent: breathing.Agent{Name: gas.Agent, MolarMass: quantity.GramPerMole(gas.MolarMass)}, Unit: ppm,
		Sensor: sensor, Vouched: g.vouched(s)}
	out.gasMinutes = append(out.gasMinutes, gasMinutes(s, sensor, c.ID, minutes)...)
	for _, row := range gas.InForce(s.Last.Begun) {
		if judged.Tape, err = sensor.Lay(minutes, s.Span().Length(), row.Kind); err != nil {
			return phrase.Errorf("the readings of %s: %w", gas.Agent, err)
		}
		found, err := judged.Judge(row)
		if err != nil {
			return phrase.Errorf("the limits of %s: %w", gas.Agent, err)
		}
		average := averageOf(s.number, c, found)
		if average.Unexposed > 0 {
			average.Statement = judged.Vouched.Record
		}
		out.averages = append(out.averages, average)
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

// statements lists what was stated about the time outside of classes.
func (g *gathering) statements() error {
	newest := g.known.At(g.Now)
	if newest == nil {
		return nil
	}
	for _, r := range newest.Rooms {
		for _, v := range r.Unexposed {
			g.data.Statements = append(g.data.Statements, report.Statement{Room: r.ID, By: v.By, On: v.On, From: v.Effective, Withdrawn: v.Off, Why: v.Why, Record: v.Record})
		}
	}
	return nil
}

// averageOf is a finding as the report shows it.
func averageOf(number int, c past.Channel, f breathing.Finding) report.Average {
	out := report.Average{Session: number, Channel: c.ID, Name: c.Name, Agent: f.Limit.Agent, Limit: f.Limit.Text(), Value: f.Limit.Value, Unit: f.Limit.Unit.String(),
		Minutes: f.Limit.Window.Minutes(), Text: f.Average.Text(f.Limit.Unit.Symbol()), Verdict: f.Verdict.Said(), Known: 100 * f.Average.Coverage, Unexposed: f.Average.Unexposed}
	if f.Average.Coverage > 0 {
		out.Low = &f.Average.Low
		if !f.Average.Open {
			out.High = &f.Average.High
		}
	}
	return out
}

// read sums the readings of a gas over a session up by the minute, as the rules do; nothing
// where the channel has left the settings. A limit of which nothing was measured is judged
// too: whether the air was within it can't be told.
func (g *gathering) read(s evening, sensor breathing.Sensor, c past.Channel) ([]breathing.Minute, error) {
	if _, err := quantity.ParseUnit(c.Unit); err != nil {
		return nil, nil
	}
	channel, span := c.Sensor(), s.Span()
	probe := breathing.Probe{Sensor: sensor, Silence: channel.Silence}
	course := breathing.Begin(0)
	err := g.eachMeasured(channel.ID, span, func(raw float64, at time.Time, good bool) {
		course = course.Read(probe, at.Sub(span.From), channel.Correct(channel.Unit.ToBase(raw), at), good)
	})
	if err != nil {
		return nil, err
	}
	end := span.Length()
	if rest := end % time.Minute; rest > 0 {
		end += time.Minute - rest // so that the last minute is complete too
	}
	return course.End(probe, end).Minutes(), nil
}
