package ventilation

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// State says in a word whether the air moves. The zero State is no judgement.
type State string

// The states of the air.
const (
	Moving    State = "moving"
	Low       State = "low"
	Stopped   State = "stopped"
	NotProven State = "not proven"
)

// Said is the state in a word.
func (s State) Said() phrase.Sentence {
	switch s {
	case Moving:
		return phrase.Say("moving")
	case Low:
		return phrase.Say("low")
	case Stopped:
		return phrase.Say("stopped")
	case NotProven:
		return phrase.Say("not proven")
	}
	return phrase.Plain(string(s))
}

// Proven says whether the state counts as ventilated.
func (s State) Proven() bool { return s == Moving }

// Evidence is what is known about the air at one moment. Whatever is not known
// stays unknown: it never counts as zero, nor as fine.
type Evidence struct {
	Flow   Optional[quantity.CubicMetrePerHour] // measured now by a good reading
	Limits Limits                               // from commissioning, or else from what is required; zero: none
	Before State                                // the state last judged, for the hysteresis
	// FanCommand is what the switch, timer or contact says of the fan.
	FanCommand Optional[bool]
	// RoomPressure is room minus neighbour; UsualPressure is the same at commissioning.
	RoomPressure  Optional[quantity.Pascal]
	UsualPressure Optional[quantity.Pascal]
	Hood          Hood
	// MakeUp is the supply as a share of the exhaust, and MakeUpAsked the least share
	// that its source asks for; zero where nobody asks.
	MakeUp       Optional[quantity.Percent]
	MakeUpAsked  quantity.Percent
	MakeUpSource string
}

// Hood holds air velocities along a slot hood: it may draw well in the middle
// and poorly at its ends.
type Hood struct {
	Left, Middle, Right Optional[quantity.MetrePerSecond]
}

// Judgement is the state of the air, why, and what contradicts what.
type Judgement struct {
	State          State
	Sentence       phrase.Sentence
	Contradictions []Contradiction
}

// Judge says whether the air moves. Only a measured flow proves it: a fan
// command or a room pressure alone never does.
func Judge(in Evidence) Judgement {
	j := Judgement{Contradictions: contradictions(in)}
	j.State, j.Sentence = judgeFlow(in)
	return j
}

func judgeFlow(in Evidence) (State, phrase.Sentence) {
	flow, known := in.Flow.Get()
	l := in.Limits
	switch {
	case !known:
		if on, known := in.FanCommand.Get(); known && on {
			return NotProven, phrase.Say("No usable flow reading, so it is not known whether the air moves. The fan is switched on, which does not prove a flow.")
		}
		return NotProven, phrase.Say("No usable flow reading, so it is not known whether the air moves.")
	case l.Reference <= 0:
		return NotProven, phrase.Measured("The probe reads %.0f m³/h, but the room has neither a commissioned nor a required flow to judge it by.", float64(flow))
	case !(flow >= l.Stopped):
		return Stopped, phrase.Measured("No air moves: %.0f m³/h, %s %.0f m³/h.", float64(flow), l.Basis, float64(l.Reference))
	case flow < l.Low:
		return Low, phrase.Measured("Too little air: %.0f m³/h, low below %.0f m³/h.", float64(flow), float64(l.Low))
	case flow < l.Clear && (in.Before == Low || in.Before == Stopped):
		return Low, phrase.Measured("Still too little air: %.0f m³/h, moving again from %.0f m³/h.", float64(flow), float64(l.Clear))
	}
	return Moving, phrase.Measured("Air is moving: %.0f m³/h, %.0f %% of the %s flow.", float64(flow), 100*float64(flow/l.Reference), l.Basis)
}
