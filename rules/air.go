package rules

import (
	"fmt"
	"strings"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// airMemory is the state of the air last judged and when it began.
type airMemory struct {
	State ventilation.State
	Since sensors.Instant
}

// flowReading is the exhaust flow and the channel that it rests on.
type flowReading struct {
	flow    quantity.CubicMetrePerHour
	channel sensors.Channel
}

// views looks a channel up by what it measures.
type views map[sensors.ChannelID]ChannelView

// of gives the first channel of a kind in the room's order, good ones first.
func (v views) of(room Room, kind sensors.Kind) (ChannelView, bool) {
	var found *ChannelView
	for _, c := range room.Channels {
		if c.Kind != kind {
			continue
		}
		view := v[c.ID]
		if view.Grade == sensors.Good {
			return view, true
		}
		if found == nil {
			found = &view
		}
	}
	if found == nil {
		return ChannelView{}, false
	}
	return *found, true
}

// good gives the value of the first good channel of a kind.
func (v views) good(room Room, kind sensors.Kind) (float64, sensors.Channel, bool) {
	view, found := v.of(room, kind)
	value, ok := view.Good()
	return value, view.Channel, found && ok
}

// measuredFlow takes the most direct good reading: a volume flow, else a duct
// velocity, else a velocity pressure turned into a velocity by the density of the air.
func measuredFlow(room Room, v views) (flowReading, error) {
	if q, c, ok := v.good(room, sensors.VolumeFlow); ok {
		return flowReading{quantity.CubicMetrePerHour(q), c}, nil
	}
	duct := ventilation.Duct{Area: room.Duct.Area, Factor: room.Duct.Factor}
	if u, c, ok := v.good(room, sensors.DuctVelocity); ok {
		q, err := duct.Flow(quantity.MetrePerSecond(u))
		return flowReading{q, c}, err
	}
	dp, c, ok := v.good(room, sensors.VelocityPressure)
	if !ok {
		return flowReading{}, fmt.Errorf("%s", whyNoFlow(room, v))
	}
	u, err := velocityOf(room, v, quantity.Pascal(dp))
	if err != nil {
		return flowReading{}, err
	}
	q, err := duct.Flow(u)
	return flowReading{q, c}, err
}

// velocityOf uses the density at the measured air temperature, or at 20 °C where none is measured:
// ten kelvin change the velocity by less than 2 %.
func velocityOf(room Room, v views, dp quantity.Pascal) (quantity.MetrePerSecond, error) {
	temp, _, ok := v.good(room, sensors.AirTemperature)
	if !ok {
		temp = 20
	}
	pressure, err := ventilation.PressureAtAltitude(room.Duct.Altitude)
	if err != nil {
		return 0, err
	}
	rho, err := ventilation.AirDensity(quantity.Celsius(temp), pressure)
	if err != nil {
		return 0, err
	}
	return ventilation.VelocityFromPressure(dp, rho)
}

func whyNoFlow(room Room, v views) string {
	for _, kind := range []sensors.Kind{sensors.VolumeFlow, sensors.DuctVelocity, sensors.VelocityPressure} {
		if view, found := v.of(room, kind); found {
			return fmt.Sprintf("%s is %s", view.Channel.Name, view.Why())
		}
	}
	return "no flow probe is configured in this room"
}

// Why says in words why a channel gives no value.
func (c ChannelView) Why() string {
	switch {
	case c.Grade == sensors.Good:
		return "good"
	case !c.Seen:
		return "not seen yet"
	case c.Grade == sensors.Missing:
		return fmt.Sprintf("missing (%s, last heard %s ago)", c.Reason, Age(c.Age))
	default:
		return fmt.Sprintf("suspect (%s)", c.Reason)
	}
}

// Cause says in few words why a channel is not good, for the book: it stays the same
// however long it lasts.
func (c ChannelView) Cause() string {
	if c.Grade == sensors.Good {
		return "good readings"
	}
	return string(c.Reason)
}

// judgeAir says whether the air moves, against the strictest requirement in force.
func judgeAir(room Room, v views, before airMemory, now sensors.Instant) (AirView, airMemory, []string) {
	view := AirView{}
	measures := ventilation.Room{Volume: room.Volume, Floor: room.Floor}
	demand, err := ventilation.Strictest(ventilation.InForce(room.Required, now.Wall), measures)
	if err != nil {
		view.State, view.Sentence = ventilation.NotProven, sentence(err)
		return settleAir(view, before, now)
	}
	view.Required, view.Source = demand.AirChanges, demand.Binding.Source
	evidence := ventilation.Evidence{Before: before.State, Limits: ventilation.RequiredLimits(demand.Exhaust)}
	if on, _, ok := v.good(room, sensors.FanCommand); ok {
		evidence.FanCommand = ventilation.Known(on > 0.5)
	}
	if p, _, ok := v.good(room, sensors.RoomPressure); ok {
		evidence.RoomPressure = ventilation.Known(quantity.Pascal(p))
	}
	measured, flowErr := measuredFlow(room, v)
	if flowErr == nil {
		evidence.Flow = ventilation.Known(measured.flow)
		view.Flow = &measured.flow
		if changes, err := ventilation.AirChanges(measured.flow, room.Volume); err == nil {
			view.AirChanges = &changes
		}
	}
	judged := ventilation.Judge(evidence)
	view.State, view.Sentence = judged.State, judged.Sentence
	if flowErr != nil {
		view.Sentence = fmt.Sprintf("Not known whether the air moves: %s.", flowErr)
	}
	view, memory, _ := settleAir(view, before, now)
	return view, memory, texts(judged.Contradictions)
}

// settleAir keeps the moment at which the present state began.
func settleAir(view AirView, before airMemory, now sensors.Instant) (AirView, airMemory, []string) {
	if before.State != view.State {
		before = airMemory{State: view.State, Since: now}
	}
	view.Since = before.Since
	return view, before, nil
}

func texts(found []ventilation.Contradiction) []string {
	var list []string
	for _, c := range found {
		list = append(list, c.Sentence)
	}
	return list
}

// sentence makes an error the sentence of a page.
func sentence(err error) string {
	text := err.Error()
	return strings.ToUpper(text[:1]) + text[1:] + "."
}
