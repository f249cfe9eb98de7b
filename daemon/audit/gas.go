package audit

import (
	"fmt"
	"time"

	"wetside/daemon/history"
	"wetside/daemon/settings"
	"wetside/dashboard/report"
	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// gases sets the gas channels of every session against the limits that were in
// force then: the worst average of the session for each.
func (g *gathering) gases() error {
	for _, s := range g.evenings {
		room, _ := s.roomThen()
		for _, gas := range room.Gases {
			if err := g.judge(s, gas, s.settled.Channel(gas.ID)); err != nil {
				return err
			}
		}
	}
	return nil
}

func (g *gathering) judge(s *evening, gas settings.Gas, c settings.Channel) error {
	tape, err := g.tape(s, gas, c)
	if err != nil || tape.Length() == 0 {
		return err
	}
	ppm, err := quantity.ParseUnit("ppm")
	if err != nil {
		return err
	}
	judged := breathing.Gas{Agent: breathing.Agent{Name: gas.Agent, MolarMass: quantity.GramPerMole(gas.MolarMass)}, Tape: tape, Unit: ppm,
		Sensor: breathing.Sensor{Resolution: gas.Resolution, Detection: gas.Detection, FullScale: gas.FullScale}, Bound: breathing.WorstObserved()}
	for _, row := range gas.Limits {
		unit, err := quantity.ParseUnit(row.Unit)
		if err != nil || row.Effective.After(s.last.Begun) {
			continue
		}
		found, err := judged.Judge(breathing.Limit{Agent: gas.Agent, Jurisdiction: row.Jurisdiction, Edition: row.Edition, Kind: breathing.LimitKind(row.Kind),
			Window: time.Duration(row.Minutes * float64(time.Minute)), Value: row.Value, Unit: unit, Effective: row.Effective, Standing: breathing.Standing(row.Standing), Source: row.Source})
		if err != nil {
			return fmt.Errorf("the limits of %s: %w", gas.Agent, err)
		}
		g.data.Averages = append(g.data.Averages, averageOf(s.number, c, found))
	}
	return nil
}

// averageOf is a finding as the report shows it.
func averageOf(number int, c settings.Channel, f breathing.Finding) report.Average {
	out := report.Average{Session: number, Channel: c.ID, Name: c.Name, Agent: f.Limit.Agent, Limit: f.Limit.Text(), Value: f.Limit.Value, Unit: f.Limit.Unit.String(),
		Minutes: f.Limit.Window.Minutes(), Text: f.Average.Text(f.Limit.Unit.Symbol()), Verdict: string(f.Verdict), Known: 100 * f.Average.Coverage}
	if f.Average.Coverage > 0 {
		out.Low = &f.Average.Low
		if !f.Average.Open {
			out.High = &f.Average.High
		}
	}
	return out
}

// tape lays the readings of a gas over a session.
func (g *gathering) tape(s *evening, gas settings.Gas, c settings.Channel) (breathing.Tape, error) {
	unit, err := quantity.ParseUnit(c.Unit)
	if err != nil {
		return breathing.Tape{}, nil // the channel has left the settings
	}
	span := s.span()
	var list []breathing.Sample
	for sample, err := range g.book.Samples(g.ctx, sensors.ChannelID(gas.ID), span.From, span.To) {
		if unknown(err) {
			return breathing.Tape{}, nil
		}
		if err != nil {
			return breathing.Tape{}, err
		}
		if level, ok := levelOf(sample, gas, corrected(c, unit.ToBase(sample.Raw), sample.At)); ok {
			list = append(list, breathing.Sample{At: sample.At, Level: level})
		}
	}
	return breathing.Record(list, span.To, time.Duration(c.Silence*float64(time.Second)))
}

// levelOf is what a good reading in ppm says; a reading below zero by the sensor's
// own error is one below what it detects.
func levelOf(s history.Sample, gas settings.Gas, ppm float64) (breathing.Level, bool) {
	switch {
	case s.Grade != sensors.Good:
		return breathing.Level{}, false
	case gas.Detection > 0 && ppm < gas.Detection:
		return breathing.BelowDetection(gas.Detection), true
	case gas.FullScale > 0 && ppm >= gas.FullScale:
		return breathing.OverRange(gas.FullScale), true
	}
	return breathing.Measured(ppm), ppm >= 0
}
