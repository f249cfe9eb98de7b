package audit

import (
	"errors"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/breathing"
	"wetside/rules/past"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// gases sets the gas channels of every session against the limits that were in
// force then: the worst average of the session for each.
func (g *gathering) gases() error {
	for _, s := range g.evenings {
		room, _ := s.Then()
		for _, gas := range room.Gases {
			if err := g.judge(s, gas, s.Settled.Channel(gas.ID)); err != nil {
				return err
			}
		}
	}
	return nil
}

func (g *gathering) judge(s evening, gas past.Gas, c past.Channel) error {
	tape, err := g.tape(s, gas, c)
	if err != nil || tape == nil {
		return err
	}
	ppm, err := quantity.ParseUnit("ppm")
	if err != nil {
		return err
	}
	judged := breathing.Gas{Agent: breathing.Agent{Name: gas.Agent, MolarMass: quantity.GramPerMole(gas.MolarMass)}, Unit: ppm,
		Sensor: breathing.Sensor{Resolution: gas.Resolution, Detection: gas.Detection, FullScale: gas.FullScale}, Bound: breathing.WorstObserved()}
	for _, row := range gas.InForce(s.Last.Begun) {
		if judged.Tape, err = tape.laid(row.Kind, s.Span().Length()); err != nil {
			return phrase.Errorf("the readings of %s: %w", gas.Agent, err)
		}
		found, err := judged.Judge(row)
		if err != nil {
			return phrase.Errorf("the limits of %s: %w", gas.Agent, err)
		}
		g.data.Averages = append(g.data.Averages, averageOf(s.number, c, found))
	}
	return nil
}

// averageOf is a finding as the report shows it.
func averageOf(number int, c past.Channel, f breathing.Finding) report.Average {
	out := report.Average{Session: number, Channel: c.ID, Name: c.Name, Agent: f.Limit.Agent, Limit: f.Limit.Text(), Value: f.Limit.Value, Unit: f.Limit.Unit.String(),
		Minutes: f.Limit.Window.Minutes(), Text: f.Average.Text(f.Limit.Unit.Symbol()), Verdict: f.Verdict.Said(), Known: 100 * f.Average.Coverage}
	if f.Average.Coverage > 0 {
		out.Low = &f.Average.Low
		if !f.Average.Open {
			out.High = &f.Average.High
		}
	}
	return out
}

// tape sums the readings of a gas up by the minute, as the rules do, and lays them
// over a session.
func (g *gathering) tape(s evening, gas past.Gas, c past.Channel) (*gasTape, error) {
	unit, err := quantity.ParseUnit(c.Unit)
	if err != nil {
		return nil, nil // the channel has left the settings
	}
	span, channel := s.Span(), c.Sensor()
	silence := time.Duration(c.Silence * float64(time.Second))
	t := &gasTape{gas: gas, from: span.From, minutes: make([]gasMinute, span.Length()/time.Minute+1)}
	var last history.Sample
	for sample, err := range g.book.Samples(g.ctx, sensors.ChannelID(gas.ID), span.From, span.To) {
		if unknown(err) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		if sample.Imported {
			continue
		}
		if last.Grade == sensors.Good && sample.At.Sub(last.At) <= silence {
			t.hold(channel.Correct(unit.ToBase(last.Raw), last.At), last.At, sample.At)
		}
		last = sample
	}
	return t, nil
}

// gasTape is a gas over a session, minute by minute, in ppm.
type gasTape struct {
	gas     past.Gas
	from    time.Time
	minutes []gasMinute
}

// gasMinute is the time with a value, the time below the detection limit, the sum of
// value times time, and the highest value.
type gasMinute struct {
	known, below time.Duration
	sum, high    float64
	over         bool // a reading stood at the end of the sensor's range
}

// hold counts a reading until the next one. One below zero is an error of the sensor
// and counts as not read, unless it lies below what the sensor detects anyway.
func (t *gasTape) hold(ppm float64, from, to time.Time) {
	below := t.gas.Detection > 0 && ppm < t.gas.Detection
	if ppm < 0 && !below {
		return
	}
	for from.Before(to) {
		m := int(from.Sub(t.from) / time.Minute)
		end := t.from.Add(time.Duration(m+1) * time.Minute)
		if to.Before(end) {
			end = to
		}
		t.minutes[m].add(ppm, end.Sub(from), below)
		t.minutes[m].over = t.minutes[m].over || t.gas.FullScale > 0 && ppm >= t.gas.FullScale
		from = end
	}
}

func (m *gasMinute) add(ppm float64, length time.Duration, below bool) {
	if below {
		m.below += length
		return
	}
	m.known += length
	m.sum += ppm * length.Hours()
	m.high = max(m.high, ppm)
}

// laid gives the tape on which a limit is judged: an average needs the means of the
// minutes, a ceiling their highest readings.
func (t *gasTape) laid(kind breathing.LimitKind, length time.Duration) (breathing.Tape, error) {
	var tape breathing.Tape
	var errs []error
	for _, m := range t.minutes {
		if m.known > 0 {
			errs = append(errs, tape.Sampled(m.known, m.level(t.gas, kind)))
		}
		if m.below > 0 {
			errs = append(errs, tape.Sampled(m.below, breathing.BelowDetection(t.gas.Detection)))
		}
		if rest := min(time.Minute, length) - m.known - m.below; rest > 0 {
			errs = append(errs, tape.Unsampled(rest, phrase.Say("no reading")))
		}
		length -= time.Minute
	}
	return tape, errors.Join(errs...)
}

func (m gasMinute) level(gas past.Gas, kind breathing.LimitKind) breathing.Level {
	switch {
	case m.over:
		return breathing.OverRange(gas.FullScale)
	case kind == breathing.Ceiling:
		return breathing.Measured(m.high)
	}
	return breathing.Measured(m.sum / m.known.Hours())
}
