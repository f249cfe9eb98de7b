package ventilation

import "wetside/sensors/quantity/phrase"

// State says in a word whether the air moves. The zero State is no judgement.
type State string

// The states of the air. NotProven is a flow that nobody measures, Disputed one that
// readings contradict, Uneven enough air of which a place of the hood draws too little.
const (
	Moving    State = "moving"
	Uneven    State = "uneven"
	Low       State = "low"
	Stopped   State = "stopped"
	NotProven State = "not proven"
	Disputed  State = "readings disagree"
)

// States lists every state of the air.
func States() []State { return []State{Moving, Uneven, Low, Stopped, NotProven, Disputed} }

func (s State) Said() phrase.Sentence { return phrase.Plain(string(s)) }

// Proven says whether the state counts as ventilated.
func (s State) Proven() bool { return s == Moving }

// Known says whether the flow of air is known, be it enough or not.
func (s State) Known() bool { return s.Drawn() || s == Stopped }

// Drawn says whether air is drawn out for certain, be it enough or not.
func (s State) Drawn() bool { return s == Moving || s == Uneven || s == Low }

// Verdict is what may be claimed of the air.
type Verdict string

// The verdicts: too little air and readings that disagree are not proven, a flow that
// nobody measures is not known.
const (
	IsProven  Verdict = "proven"
	IsNot     Verdict = "not proven"
	IsUnknown Verdict = "not known"
)

// Verdict is what may be claimed in this state.
func (s State) Verdict() Verdict {
	switch {
	case s.Proven():
		return IsProven
	case s.Known(), s == Disputed:
		return IsNot
	}
	return IsUnknown
}
