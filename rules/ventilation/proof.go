package ventilation

import (
	"slices"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Evidence is what is known about the air at one moment. Whatever is not known
// stays unknown: it never counts as zero, nor as fine.
type Evidence struct {
	Signs  Signs
	Limits Limits // from commissioning, or else from what is required; zero: none
	Before State  // the state last known, for the hysteresis
	// Settling is set for the moments after a change in which signs may still differ,
	// because a fan runs down and a probe lags: no disagreement counts.
	Settling bool
	// UsualPressure is room minus neighbour at commissioning.
	UsualPressure Optional[quantity.Pascal]
	// MostCO2 is what the people at work could raise the CO2 to at the measured flow, in
	// ppm; unknown where nobody was counted or the room has not had time to settle.
	MostCO2 Optional[float64]
	// MakeUpAsked is the least share of supply that its source asks for; zero where nobody asks.
	MakeUpAsked  quantity.Percent
	MakeUpSource string
}

// Proof is what all signs together prove of the air, and why.
type Proof struct {
	State State
	// Flow is the quantity; unknown where no probe gives one or another sign contradicts.
	Flow     Optional[quantity.CubicMetrePerHour]
	Sentence phrase.Sentence
	// Basis names the signs on which a flow rests; empty without one.
	Basis phrase.Sentence
	// MayStand is set when signs disagree and one of them says that no air moves.
	MayStand bool
	// Weak is the place of the hood that draws too little, where enough air moves.
	Weak           Optional[SignKind]
	Contradictions []Contradiction
}

// Prove works out what the signs prove. Only a measured flow proves enough air: a fan
// contact, a hood or a room pressure alone never does. Nothing is proven by a flow that
// another sign contradicts, nor by a probe that is suspected. A fan contact shows power
// alone: it contradicts a flow unless another sign shows that air moves.
func Prove(in Evidence) Proof {
	p := Proof{Contradictions: contradictions(in)}
	lead, flow, known := in.Signs.lead()
	switch {
	case !known:
		p.State, p.Sentence = NotProven, unknownFlow(in.Signs)
		return p
	case in.Limits.Reference <= 0:
		p.State, p.Flow = NotProven, Known(flow)
		p.Sentence = phrase.Say("The probe reads %s, but the room has neither a commissioned nor a required flow to judge it by.", flow.To(1))
		return p
	}
	against := in.against(lead, flow)
	if len(against) > 0 && !in.Settling {
		return p.disputed(in, lead, against)
	}
	p.State, p.Sentence = judgeFlow(flow, in)
	p.Flow = Known(flow)
	if p.State.Drawn() {
		p.Basis = in.basis(lead, flow)
	}
	if weak, uneven := weakPlace(in); uneven && p.State == Moving {
		p.State, p.Weak, p.Sentence = Uneven, Known(weak.Kind), phrase.Join(" ", p.Sentence, hoodSentence(in, weak))
	}
	return p
}

// unknownFlow says why no flow is known.
func unknownFlow(signs Signs) phrase.Sentence {
	why := phrase.Say("no flow probe is configured in this room")
	for _, s := range signs {
		if s.Kind == FlowSign {
			why = phrase.Say("%s is %s", s.Name, s.why)
			break
		}
	}
	if on, known := signs.value(FanContact); known && switchedOn(on) {
		return phrase.Say("Airflow unknown: %s. The fan is switched on, which does not prove a flow.", why)
	}
	return phrase.Say("Airflow unknown: %s.", why)
}

// moving is the flow from which air moves at all. After a stop it is twice as much (choice of
// this program): the root of a velocity pressure that scatters about zero passes the limit itself.
func (in Evidence) moving() quantity.CubicMetrePerHour {
	if in.Before == Stopped {
		return min(2*in.Limits.Stopped, in.Limits.Low)
	}
	return in.Limits.Stopped
}

func (in Evidence) moves(flow quantity.CubicMetrePerHour) bool { return flow >= in.moving() }

func judgeFlow(flow quantity.CubicMetrePerHour, in Evidence) (State, phrase.Sentence) {
	l := in.Limits
	switch {
	case flow >= l.Stopped && !in.moves(flow):
		return Stopped, phrase.Say("No air to speak of: %s, moving again from %s.", flow.To(1), in.moving().To(1))
	case !in.moves(flow):
		return Stopped, phrase.Say("No air moves: %s, %s %s.", flow.To(1), l.Basis, l.Reference.To(1))
	case flow < l.Low:
		return Low, phrase.Say("Too little air: %s, low below %s.", flow.To(1), l.Low.To(1))
	case flow < l.Clear && (in.Before == Low || in.Before == Stopped):
		return Low, phrase.Say("Still too little air: %s, moving again from %s.", flow.To(1), l.Clear.To(1))
	}
	return Moving, phrase.Say("Air is moving: %s, %.0f %% of the %s flow.", flow.To(1), 100*float64(flow/l.Reference), l.Basis)
}

// disputed is the proof of signs that disagree: none.
func (p Proof) disputed(in Evidence, lead int, against []Sign) Proof {
	p.State, p.MayStand = Disputed, in.still(in.Signs[lead])
	p.Contradictions = slices.DeleteFunc(p.Contradictions, func(c Contradiction) bool { return c.Conflict != MakeUpBlocked })
	var words []phrase.Sentence
	for i, s := range against {
		p.MayStand = p.MayStand || in.still(s)
		switch {
		case !s.Kind.Hood():
			words = append(words, s.reads())
		case i == 0 || !against[i-1].Kind.Hood(): // the places of the hood stand in a row
			words = append(words, phrase.Say("the hood draws %s at most", quantity.MetrePerSecond(in.Signs.best()).To(0.01)))
		}
	}
	p.Sentence = phrase.Say("Airflow not proven, the readings disagree: %s, but %s.", in.Signs[lead].reads(), enumerate(words))
	return p
}

// enumerate lists parts of a sentence as people do: a, b and c.
func enumerate(parts []phrase.Sentence) phrase.Sentence {
	last := len(parts) - 1
	if last < 1 {
		return phrase.Join("", parts...)
	}
	return phrase.Say("%s and %s", phrase.Join(", ", parts[:last]...), parts[last])
}

// basis names what a flow rests on: the probe that measures it and the signs that show by
// themselves that air moves. A fan contact confirms none: it shows power alone.
func (in Evidence) basis(lead int, flow quantity.CubicMetrePerHour) phrase.Sentence {
	var agree []phrase.Sentence
	hood := false
	for i, s := range in.Signs {
		switch {
		case i == lead || !in.agrees(s, flow) || s.Kind.Hood() && hood:
		case s.Kind.Hood():
			agree, hood = append(agree, phrase.Say("the hood")), true
		default:
			agree = append(agree, phrase.Plain(s.Name))
		}
	}
	if len(agree) == 0 {
		return phrase.Say("Only one reading, of %s, shows this: no other confirms that air moves.", in.Signs[lead].Name)
	}
	return phrase.Say("Measured by %s, confirmed by %s.", in.Signs[lead].Name, enumerate(agree))
}
