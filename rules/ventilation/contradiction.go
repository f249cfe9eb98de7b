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
// depression counts as risen at twice the usual and 2 Pa more, a hood as uneven when
// one of its places draws less than half of the best, and as even again from 60 %.
const (
	depressionRatio  = 2.0
	depressionStep   = quantity.Pascal(2)
	pressureNearZero = quantity.Pascal(0.5)
	hoodShare        = 0.5
	hoodRegained     = 0.6
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
	_, flow, flowKnown := in.Signs.lead()
	contact, onKnown := in.Signs.value(FanContact)
	on := switchedOn(contact)
	if !flowKnown || !onKnown || in.Limits.Reference <= 0 {
		return Contradiction{}, false
	}
	switch moves := in.moves(flow); {
	case on && !moves:
		return Contradiction{CommandNoFlow,
			phrase.Say("The fan is switched on but the duct reads %s: look at the belt, the damper, the breaker and the probe.", flow.To(1))}, true
	case !on && moves:
		return Contradiction{FlowNoCommand,
			phrase.Say("The fan is switched off but the duct reads %s: either another fan is drawing on this duct, or the flow probe or the "+
				"fan contact is faulty.",
				flow.To(1))}, true
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
	now, nowKnown := in.Signs.pressure()
	usual, usualKnown := in.UsualPressure.Get()
	if !nowKnown || !usualKnown || now >= BlockedFrom(usual) {
		return Contradiction{}, false
	}
	effect := phrase.Say("the fan runs against a closed room")
	if _, flow, known := in.Signs.lead(); known && in.Limits.Reference > 0 {
		effect = phrase.Say("the flow is %.0f %% of the %s one", 100*float64(flow/in.Limits.Reference), in.Limits.Basis)
	}
	return Contradiction{MakeUpBlocked,
		phrase.Say("The room is at %s, usually %s, and %s: make-up air can't get in; look for a covered grille or a sealed door.",
			now.To(0.1), usual.To(0.1), effect)}, true
}

func pushedOut(in Evidence) (Contradiction, bool) {
	now, known := in.Signs.pressure()
	_, flow, flowKnown := in.Signs.lead()
	if !known || !flowKnown || in.Limits.Reference <= 0 || !in.moves(flow) || LeakAt(now, pressureNearZero) != Outward {
		return Contradiction{}, false
	}
	return Contradiction{RoomPushesOut,
		phrase.Say("The exhaust runs, yet the room is %s above its neighbours: its air goes into the building; the supply is stronger than "+
			"the exhaust.", now.To(0.1))}, true
}

func shortMakeUp(in Evidence) (Contradiction, bool) {
	share, known := in.Signs.value(MakeUpSign)
	_, flow, flowKnown := in.Signs.lead()
	if !known || share >= float64(in.MakeUpAsked) || !flowKnown || !in.moves(flow) {
		return Contradiction{}, false
	}
	return Contradiction{MakeUpShort,
		phrase.Say("The supply blows in %.0f %% of what the exhaust draws out, at least %.0f %% is required (%s): the rest comes through "+
			"gaps from the neighbours; look at the supply's fan, filter and grilles.",
			share, float64(in.MakeUpAsked), in.MakeUpSource)}, true
}

// pressure of the room; false while it is not known.
func (s Signs) pressure() (quantity.Pascal, bool) {
	v, known := s.value(PressureSign)
	return quantity.Pascal(v), known
}

func unevenHood(in Evidence) (Contradiction, bool) {
	weak, uneven := weakPlace(in)
	if !uneven {
		return Contradiction{}, false
	}
	return Contradiction{HoodUneven, hoodSentence(in, weak)}, true
}

// weakPlace is the place of the hood that draws least, if that is too little beside the best.
func weakPlace(in Evidence) (weak Sign, uneven bool) {
	share, best := hoodShare, in.Signs.best()
	if in.Before == Uneven {
		share = hoodRegained
	}
	least := share * best
	for _, s := range in.Signs {
		if v, good := s.Value(); good && s.Kind.Hood() && best >= hoodStill && v < least {
			weak, least, uneven = s, v, true
		}
	}
	return weak, uneven
}

func hoodSentence(in Evidence, weak Sign) phrase.Sentence {
	v, _ := weak.Value()
	return phrase.Say("The hood draws up to %s, but %s %s: the trays there get too little extraction.",
		quantity.MetrePerSecond(in.Signs.best()).To(0.01), quantity.MetrePerSecond(v).To(0.01), weak.Kind)
}
