package ventilation

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Conflict names a kind of contradiction in the evidence.
type Conflict string

// The contradictions that are recognised.
const (
	CommandNoFlow Conflict = "fan on, no flow"
	FlowNoCommand Conflict = "fan off, flow measured"
	MakeUpBlocked Conflict = "make-up air blocked"
	RoomPushesOut Conflict = "room pushes air out"
	HoodUneven    Conflict = "hood draws unevenly"
	MakeUpShort   Conflict = "too little make-up air"
)

// Contradiction is one conflict with what was seen and what to look at.
type Contradiction struct {
	Conflict Conflict
	Sentence phrase.Sentence
}

// Thresholds of this program (common practice; no published figure): the
// depression counts as risen at twice the usual and 2 Pa more, a hood as uneven
// when an end draws less than half of the middle.
const (
	depressionRatio  = 2.0
	depressionStep   = quantity.Pascal(2)
	pressureNearZero = quantity.Pascal(0.5)
	hoodShare        = 0.5
)

func contradictions(in Evidence) []Contradiction {
	var found []Contradiction
	for _, check := range []func(Evidence) (Contradiction, bool){commandAgainstFlow, blockedMakeUp, pushedOut, unevenHood, shortMakeUp} {
		if c, ok := check(in); ok {
			found = append(found, c)
		}
	}
	return found
}

func commandAgainstFlow(in Evidence) (Contradiction, bool) {
	flow, flowKnown := in.Flow.Get()
	on, onKnown := in.FanCommand.Get()
	if !flowKnown || !onKnown || in.Limits.Reference <= 0 {
		return Contradiction{}, false
	}
	switch moves := flow >= in.Limits.Stopped; {
	case on && !moves:
		return Contradiction{CommandNoFlow, phrase.Measured("The fan is switched on but the duct reads %.0f m³/h: look at the belt, the damper, the breaker and the probe.", float64(flow))}, true
	case !on && moves:
		return Contradiction{FlowNoCommand, phrase.Measured("The fan is switched off but the duct reads %.0f m³/h: another fan draws on the duct, or the probe or the contact is wrong.", float64(flow))}, true
	}
	return Contradiction{}, false
}

// BlockedFrom is the room pressure below which make-up air counts as blocked, where a
// pressure is usual.
func BlockedFrom(usual quantity.Pascal) quantity.Pascal {
	usual = min(usual, 0)
	return min(usual-depressionStep, depressionRatio*usual)
}

func blockedMakeUp(in Evidence) (Contradiction, bool) {
	now, nowKnown := in.RoomPressure.Get()
	usual, usualKnown := in.UsualPressure.Get()
	if !nowKnown || !usualKnown || now >= BlockedFrom(usual) {
		return Contradiction{}, false
	}
	effect := phrase.Say("the fan runs against a closed room")
	if flow, known := in.Flow.Get(); known && in.Limits.Reference > 0 {
		effect = phrase.Measured("the flow is %.0f %% of the %s one", 100*float64(flow/in.Limits.Reference), in.Limits.Basis)
	}
	return Contradiction{MakeUpBlocked, phrase.Measured("The room is at %.1f Pa, usually %.1f Pa, and %s: make-up air can't get in; look for a covered grille or a sealed door.",
		float64(now), float64(usual), effect)}, true
}

func pushedOut(in Evidence) (Contradiction, bool) {
	now, known := in.RoomPressure.Get()
	flow, flowKnown := in.Flow.Get()
	if !known || !flowKnown || in.Limits.Reference <= 0 || flow < in.Limits.Stopped || LeakAt(now, pressureNearZero) != Outward {
		return Contradiction{}, false
	}
	return Contradiction{RoomPushesOut, phrase.Measured("The exhaust runs, yet the room is %.1f Pa above its neighbours: its air goes into the building; the supply is stronger than the exhaust.", float64(now))}, true
}

func shortMakeUp(in Evidence) (Contradiction, bool) {
	share, known := in.MakeUp.Get()
	flow, flowKnown := in.Flow.Get()
	if !known || share >= in.MakeUpAsked || !flowKnown || flow < in.Limits.Stopped {
		return Contradiction{}, false
	}
	return Contradiction{MakeUpShort, phrase.Measured("The supply blows in %.0f %% of what the exhaust draws out, at least %.0f %% is asked for (%s): the rest comes through gaps from the neighbours; look at the supply's fan, filter and grilles.",
		float64(share), float64(in.MakeUpAsked), in.MakeUpSource)}, true
}

func unevenHood(in Evidence) (Contradiction, bool) {
	middle, known := in.Hood.Middle.Get()
	if !known || middle <= 0 {
		return Contradiction{}, false
	}
	for _, end := range []struct {
		name phrase.Sentence
		at   Optional[quantity.MetrePerSecond]
	}{{phrase.Say("left"), in.Hood.Left}, {phrase.Say("right"), in.Hood.Right}} {
		if v, ok := end.at.Get(); ok && float64(v) < hoodShare*float64(middle) {
			return Contradiction{HoodUneven, phrase.Measured("The hood draws %.2f m/s in the middle but %.2f m/s at its %s end: trays there are not served.", float64(middle), float64(v), end.name)}, true
		}
	}
	return Contradiction{}, false
}
