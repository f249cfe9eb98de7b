package rules

import (
	"errors"
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
	known ventilation.State
	fan   fanMemory
}

// recall brings back from the alarms that too little air moved, which a flow within the
// deadband does not end.
func (m *airMemory) recall(set alarm.Set) {
	m.known = ""
	for _, id := range []string{lowAlarm, airAlarm} {
		if state := set[id].State; state == alarm.Unacknowledged || state == alarm.Acknowledged {
			m.known = ventilation.Low
		}
	}
}

// Commissioned is what a traverse of the duct has proven, as the configuration holds it.
// The zero Commissioned is a room that was never commissioned.
type Commissioned struct {
	Flow        quantity.CubicMetrePerHour
	Date        time.Time
	Instrument  string // make-independent name and serial number
	Certificate string // number of its calibration certificate
	// Record is the number of the traverse in the book and Traverse what it was worked
	// out from, in words; zero and empty for one that only the configuration tells of.
	Record   uint64
	Traverse phrase.Sentence
	// RoomPressure, room minus neighbour, at the traverse: what is usual from then on.
	RoomPressure ventilation.Optional[quantity.Pascal]
}

// flowProbe gives the channel that the flow rests on, or would rest on if it were good.
func flowProbe(v views) (*ChannelView, bool) {
	var first *ChannelView
	for _, kind := range ventilation.FlowKinds() {
		view, found := v.of(kind)
		if found && view.Grade == sensors.Good {
			return view, true
		}
		if found && first == nil {
			first = view
		}
	}
	return first, first != nil
}

// flowKind is the most direct kind that a probe in the duct of the room is of.
func (r Room) flowKind() (sensors.Kind, bool) {
	for _, kind := range ventilation.FlowKinds() {
		for _, c := range r.Channels {
			if c.Kind == kind && !r.apart(c.ID) {
				return kind, true
			}
		}
	}
	return "", false
}

// measuredFlow takes the most direct good reading: a volume flow, else a duct
// velocity, else a velocity pressure turned into a velocity by the density of the air.
func measuredFlow(room Room, v views) (quantity.CubicMetrePerHour, error) {
	probe, found := flowProbe(v)
	if !found {
		return 0, phrase.Errorf("no flow probe is configured in this room")
	}
	value, ok := probe.Good()
	if !ok {
		return 0, phrase.Errorf("%s is %s", probe.Channel.Name, probe.Why())
	}
	var air ventilation.Optional[quantity.Celsius]
	if temp, known := v.good(sensors.AirTemperature); known {
		air = ventilation.Known(quantity.Celsius(temp))
	}
	return room.Duct.Probe(probe.Channel.Kind).Flow(value, air)
}

// Probe is a flow probe of some kind in the duct.
func (d Duct) Probe(kind sensors.Kind) ventilation.FlowProbe {
	return ventilation.FlowProbe{Kind: kind, Duct: ventilation.Duct{Area: d.Area, Factor: d.Factor}, Altitude: d.Altitude}
}

// judgeAir says whether the air moves, against what was commissioned and the
// strictest requirement in force.
func judgeAir(room Room, v views, before airMemory, now sensors.Instant) AirView {
	demand, err := demanded(room, now.Wall)
	view := AirView{Required: demand.AirChanges, Source: demand.Binding.Source, Duct: room.Duct, Volume: room.Volume}
	if probe, found := flowProbe(v); found {
		view.Probe = probe.Channel.ID
	}
	if err == nil {
		view.Limits, err = limitsOf(room.Commissioned, demand.Exhaust)
	}
	view.Commissioned, view.Rows = room.Commissioned, room.rows(now.Wall)
	view.Hood, view.HoodAt = evidenceOfHood(room, v), room.Hood
	flow, flowErr := measuredFlow(room, v)
	if flowErr == nil {
		view.Flow = &flow
		if changes, err := ventilation.AirChanges(flow, room.Volume); err == nil {
			view.AirChanges = &changes
		}
		view.MakeUp = view.makeUp(v.get(room.Supply))
	}
	if err != nil {
		view.State, view.Sentence = ventilation.NotProven, sentence(err)
		return view.settle(before, now)
	}
	judged := ventilation.Judge(evidence(room, v, view, before))
	view.State, view.Sentence, view.Contradictions = judged.State, judged.Sentence, judged.Contradictions
	if flowErr != nil {
		view.Sentence = phrase.Measured("Not known whether the air moves: %s.", flowErr)
	}
	return view.settle(before, now)
}

func evidence(room Room, v views, view AirView, before airMemory) ventilation.Evidence {
	e := ventilation.Evidence{Before: before.known, Limits: view.Limits, UsualPressure: room.Commissioned.RoomPressure}
	if view.Flow != nil {
		e.Flow = ventilation.Known(*view.Flow)
	}
	if on, ok := v.good(sensors.FanCommand); ok {
		e.FanCommand = ventilation.Known(on > 0.5)
	}
	if p, ok := v.good(sensors.RoomPressure); ok {
		e.RoomPressure = ventilation.Known(quantity.Pascal(p))
	}
	e.Hood = view.Hood
	if m := view.MakeUp; m != nil {
		e.MakeUp, e.MakeUpAsked, e.MakeUpSource = ventilation.Known(m.Share), m.Asked, m.Source
	}
	return e
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

// limitsOf derives the limits of the flow from the commissioned one, lifted to what
// is required; a room that was never commissioned is judged by the requirement alone.
func limitsOf(c Commissioned, required quantity.CubicMetrePerHour) (ventilation.Limits, error) {
	if c.Flow <= 0 {
		return ventilation.RequiredLimits(required), nil
	}
	limits, err := ventilation.DeriveLimits(c.Flow, ventilation.CommonShares())
	if err != nil {
		return limits, err
	}
	limits = limits.Require(required)
	by := phrase.Say("%s, %s, certificate %s", c.Date.Format(time.DateOnly), c.Instrument, c.Certificate)
	if c.Record != 0 {
		by = phrase.Say("record %d of %s, %s", c.Record, by, c.Traverse)
	}
	limits.Derivation = phrase.Measured("%s: %s", by, limits.Derivation)
	return limits, nil
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
	for _, found := range a.Contradictions {
		if found.Conflict == c {
			return true
		}
	}
	return false
}

// notices are the contradictions on which nobody has to act at once; the others are alarms.
func (a AirView) notices() []phrase.Sentence {
	var list []phrase.Sentence
	for _, c := range a.Contradictions {
		if c.Conflict == ventilation.FlowNoCommand || c.Conflict == ventilation.RoomPushesOut || c.Conflict == ventilation.HoodUneven || c.Conflict == ventilation.MakeUpShort {
			list = append(list, c.Sentence)
		}
	}
	return list
}
