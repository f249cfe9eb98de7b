package rules

import (
	"errors"
	"iter"
	"slices"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// airMemory is the state of the air last judged and when it began, and the runs of the fan.
type airMemory struct {
	State ventilation.State
	Since sensors.Instant
	// known is the state judged last by a flow that was known.
	known    ventilation.State
	disputes disputeMemory
	fan      fanMemory
}

// recall brings back from the alarms that too little air moved, which a flow within the
// deadband does not end.
func (m *airMemory) recall(set alarm.Set) {
	m.known = ""
	for _, id := range []string{lowAlarm, airAlarm} {
		if state := set.State(id); state == alarm.Unacknowledged || state == alarm.Acknowledged {
			m.known = ventilation.Low
		}
	}
}

// flowProbe gives the channel that the flow rests on, or would rest on if it were good.
func flowProbe(v views) (*ChannelView, bool) {
	lead, _ := ventilation.Leading(v.flowProbes(), func(c *ChannelView) bool { return c.Grade == sensors.Good })
	return lead, lead != nil
}

// flowProbes are the probes in the duct, the most direct first.
func (v views) flowProbes() iter.Seq[*ChannelView] {
	return ventilation.Directly(v, func(c *ChannelView) sensors.Kind {
		if c.apart {
			return ""
		}
		return c.Channel.Kind
	})
}

// flowKind is the most direct kind that a probe in the duct of the room is of.
func (r Room) flowKind() (sensors.Kind, bool) {
	for c := range ventilation.Directly(r.Channels, func(c *sensors.Channel) sensors.Kind { return c.Kind }) {
		if !r.apart(c.ID) {
			return c.Kind, true
		}
	}
	return "", false
}

// flowOf gives the flow that a reading of a probe in the duct stands for, by the density of the air.
func (r Room) flowOf(v views, kind sensors.Kind, value float64) (quantity.CubicMetrePerHour, error) {
	var air ventilation.Optional[quantity.Celsius]
	if temp, known := v.good(sensors.AirTemperature); known {
		air = ventilation.Known(quantity.Celsius(temp))
	}
	return r.Duct.Probe(kind).Flow(value, air)
}

// Probe is a flow probe of some kind in the duct.
func (d Duct) Probe(kind sensors.Kind) ventilation.FlowProbe {
	return ventilation.FlowProbe{Kind: kind, Duct: ventilation.Duct{Area: d.Area, Factor: d.Factor}, Altitude: d.Altitude}
}

// airInput is what the air is judged by besides the readings.
type airInput struct {
	before airMemory
	people int // who were counted and are at work
	now    sensors.Instant
}

// judgeAir says what is proven of the air, against what was commissioned and the
// strictest requirement in force.
func judgeAir(room Room, v views, in airInput) (AirView, disputeMemory) {
	demand, err := demanded(room, in.now.Wall)
	view := AirView{Required: demand.AirChanges, Duct: room.Duct, Volume: room.Volume,
		Commissioned: room.Commissioned, Rows: room.rows(in.now.Wall), Hood: evidenceOfHood(room, v), HoodAt: room.Hood}
	if probe, found := flowProbe(v); found {
		view.Probe = probe.Channel.ID
	}
	if err == nil {
		view.Limits, err = ventilation.LimitsFor(room.Commissioned.Flow, room.Commissioned.Uncertainty, demand.Exhaust)
	}
	e := ventilation.Evidence{Signs: room.signs(v), Limits: view.Limits, Before: in.before.known,
		UsualPressure: room.Commissioned.RoomPressure}
	view.measure(&e, v.get(room.Supply))
	disputes := in.before.disputes.follow(e, in.now.Mono)
	if view.Flow != nil {
		e.MostCO2 = room.mostCO2(in.people, *view.Flow, disputes.enoughFor(in.now.Mono))
	}
	if err != nil {
		view.State, view.Sentence = ventilation.NotProven, sentence(err)
		return view.settle(in.before, in.now), disputes
	}
	proof, disputes := disputes.prove(e, in.before.State, in.now.Mono)
	view.State, view.Sentence, view.Contradictions = proof.State, proof.Sentence, proof.Contradictions
	view.Basis, view.Weak, view.MayStand = proof.Basis, proof.Weak, proof.MayStand
	if proof.State == ventilation.Disputed {
		view.Flow, view.AirChanges, view.MakeUp = nil, nil, nil // no number that another reading contradicts
	}
	return view.settle(in.before, in.now), disputes
}

// measure notes the flow, and sets the make-up air against it.
func (a *AirView) measure(e *ventilation.Evidence, supply ChannelView) {
	flow, known := e.Signs.Flow()
	if !known {
		return
	}
	a.Flow = &flow
	if changes, err := ventilation.AirChanges(flow, a.Volume); err == nil {
		a.AirChanges = &changes
	}
	a.MakeUp = a.makeUp(supply)
	if m := a.MakeUp; m != nil {
		e.Signs = append(e.Signs, ventilation.GoodSign(ventilation.MakeUpSign, supply.Channel.Name, float64(m.Share)))
		e.MakeUpAsked, e.MakeUpSource = m.Asked, m.Source
	}
}

func evidenceOfHood(room Room, v views) ventilation.Hood {
	return ventilation.Hood{Left: v.along(room.Hood.Left), Middle: v.along(room.Hood.Middle), Right: v.along(room.Hood.Right)}
}

// along gives the velocity at a place of the hood.
func (v views) along(id sensors.ChannelID) ventilation.Optional[quantity.MetrePerSecond] {
	if u, ok := v.get(id).Good(); ok {
		return ventilation.Known(quantity.MetrePerSecond(u))
	}
	return ventilation.Optional[quantity.MetrePerSecond]{}
}

// demanded is what is asked of the room; a commissioned room may do without.
func demanded(room Room, at time.Time) (ventilation.Demand, error) {
	d, err := ventilation.Strictest(ventilation.InForce(room.Required, at), room.measures())
	if errors.Is(err, ventilation.ErrNothingRequired) && room.Commissioned.Flow > 0 {
		return ventilation.Demand{}, nil
	}
	return d, err
}

// settle keeps the moment at which the present state began.
func (a AirView) settle(before airMemory, now sensors.Instant) AirView {
	a.Since = before.Since
	if before.State != a.State {
		a.Since = now
	}
	return a
}

func (a AirView) has(c ventilation.Conflict) bool {
	return slices.ContainsFunc(a.Contradictions, func(found ventilation.Contradiction) bool { return found.Conflict == c })
}

// notices are the contradictions on which nobody has to act at once; the others are alarms.
func (a AirView) notices() []phrase.Sentence {
	var list []phrase.Sentence
	for _, c := range a.Contradictions {
		if c.Conflict == ventilation.FlowNoCommand || c.Conflict == ventilation.RoomPushesOut || c.Conflict == ventilation.MakeUpShort {
			list = append(list, c.Sentence)
		}
	}
	return list
}

// RequiredRow is one row of what is asked of the air, with what it comes to in this room.
type RequiredRow struct {
	ventilation.Requirement
	// Flow is what the row asks for; zero for a make-up share and while the row is not in force.
	Flow    quantity.CubicMetrePerHour
	InForce bool
	// Binds is set for the row that asks for the most.
	Binds bool
}

// rows lists what is asked of the room at a moment. A row that can't be used is left
// out here because the configuration refuses it.
func (r Room) rows(at time.Time) []RequiredRow {
	var list []RequiredRow
	binds, most := -1, quantity.CubicMetrePerHour(0)
	for _, q := range r.Required {
		if q.Off || q.Over(at) {
			continue // taken off, or another has taken its place
		}
		row := RequiredRow{Requirement: q, InForce: q.Holds(at)}
		alone, err := ventilation.Strictest([]ventilation.Requirement{q}, r.measures())
		if row.InForce && err == nil {
			row.Flow = alone.Exhaust
		}
		if row.Flow > most {
			binds, most = len(list), row.Flow
		}
		list = append(list, row)
	}
	if binds >= 0 {
		list[binds].Binds = true
	}
	return list
}

// MakeUpView sets the air that is blown in against the air that is drawn out.
type MakeUpView struct {
	Supply quantity.CubicMetrePerHour
	Share  quantity.Percent // of the exhaust
	// Asked is the least share that a row in force asks for, and Source whose; zero without one.
	Asked  quantity.Percent
	Source string
}

// makeUp sets the supply against the exhaust; nil unless both are measured.
func (a AirView) makeUp(probe ChannelView) *MakeUpView {
	supply, ok := probe.Good()
	if !ok || probe.Channel.ID == "" || a.Flow == nil {
		return nil
	}
	m := &MakeUpView{Supply: quantity.CubicMetrePerHour(supply)}
	var err error
	if m.Share, err = ventilation.MakeUp(m.Supply, *a.Flow); err != nil {
		return nil // nothing is drawn out, so that there is no share
	}
	for _, row := range a.Rows {
		if row.Kind == ventilation.MakeUpShare && row.InForce && quantity.Percent(row.Value) > m.Asked {
			m.Asked, m.Source = quantity.Percent(row.Value), row.Source
		}
	}
	return m
}
