package rules

import (
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// settlesWithin is how long signs of the air may differ after a change: a fan runs down
// within seconds and plain probes follow within ten (choice of this program).
const settlesWithin = 20 * time.Second

// disputeMemory is since when signs of the air disagree without a pause, and since when
// enough air has been measured; monotonic.
type disputeMemory struct {
	disagree, enough           bool
	disagreeSince, enoughSince time.Duration
}

// signs lists everything in the room that tells of its air, the most direct first.
func (r Room) signs(v views) ventilation.Signs {
	list := make(ventilation.Signs, 0, 8)
	for probe := range v.flowProbes() {
		list = append(list, r.flowSign(v, probe))
	}
	for _, one := range []struct {
		kind    ventilation.SignKind
		channel sensors.ChannelID
	}{{ventilation.HoodLeft, r.Hood.Left}, {ventilation.HoodMiddle, r.Hood.Middle}, {ventilation.HoodRight, r.Hood.Right}} {
		if at := v.index(one.channel, 0); one.channel != "" && at >= 0 {
			list = append(list, v[at].sign(one.kind))
		}
	}
	for _, one := range []struct {
		kind sensors.Kind
		as   ventilation.SignKind
	}{{sensors.FanCommand, ventilation.FanContact}, {sensors.RoomPressure, ventilation.PressureSign},
		{sensors.CarbonDioxide, ventilation.CarbonDioxideOf}} {
		if c, found := v.of(one.kind); found {
			list = append(list, c.sign(one.as))
		}
	}
	return list
}

// sign is what the reading of a channel tells; one that is not good tells nothing.
func (c *ChannelView) sign(kind ventilation.SignKind) ventilation.Sign {
	if value, good := c.Good(); good {
		return ventilation.GoodSign(kind, c.Channel.Name, value)
	}
	return ventilation.NoSign(kind, c.Channel.Name, c.Why())
}

// flowSign is the flow that a probe in the duct stands for.
func (r Room) flowSign(v views, c *ChannelView) ventilation.Sign {
	value, good := c.Good()
	if !good {
		return c.sign(ventilation.FlowSign)
	}
	flow, err := r.flowOf(v, c.Channel.Kind, value)
	if err != nil {
		return ventilation.NoSign(ventilation.FlowSign, c.Channel.Name, phrase.Say("not usable: %s", err))
	}
	return ventilation.GoodSign(ventilation.FlowSign, c.Channel.Name, float64(flow))
}

// mostCO2 is what the people who were counted may raise the CO2 to at a flow: three times
// what they give sitting, above outdoors (choices of this program: more may be there than
// were counted, and who works breathes out more). It is known once the flow has renewed
// the air three times, which leaves 5 % of what was in it before.
func (r Room) mostCO2(people int, flow quantity.CubicMetrePerHour, lasted time.Duration) ventilation.Optional[float64] {
	const outdoors, share = 420, 3
	if people <= 0 || flow <= 0 || lasted < time.Duration(3*float64(r.Volume)/float64(flow)*float64(time.Hour)) {
		return ventilation.Optional[float64]{}
	}
	rise, err := ventilation.People{Number: people, Each: ventilation.SedentaryCO2}.SteadyRise(flow)
	if err != nil {
		return ventilation.Optional[float64]{}
	}
	return ventilation.Known(outdoors + share*float64(rise))
}

// follow notes since when enough air has been measured.
func (m disputeMemory) follow(e ventilation.Evidence, now time.Duration) disputeMemory {
	flow, known := e.Signs.Flow()
	switch enough := known && e.Limits.Reference > 0 && flow >= e.Limits.Low; {
	case !enough:
		m.enough = false
	case !m.enough:
		m.enough, m.enoughSince = true, now
	}
	return m
}

func (m disputeMemory) enoughFor(now time.Duration) time.Duration {
	if !m.enough {
		return 0
	}
	return now - m.enoughSince
}

// prove works out what the signs prove. They may differ for moments while something
// changes; nothing is overlooked that they disagree about at the first look.
func (m disputeMemory) prove(e ventilation.Evidence, before ventilation.State, now time.Duration) (ventilation.Proof, disputeMemory) {
	p := ventilation.Prove(e)
	if p.State != ventilation.Disputed {
		m.disagree = false
		return p, m
	}
	if !m.disagree {
		m.disagree, m.disagreeSince = true, now
	}
	if before.Known() && now-m.disagreeSince < settlesWithin {
		e.Settling = true
		p = ventilation.Prove(e)
	}
	return p, m
}
