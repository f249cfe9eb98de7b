package ventilation

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// SignKind says what a sign is read from.
type SignKind uint8

// The signs that a room may have. A flow is measured as such, or follows from a velocity
// or a velocity pressure in the duct.
const (
	FlowSign        SignKind = iota + 1 // m³/h
	FanContact                          // 1 for on, 0 for off: power alone, which moves nothing by itself
	HoodLeft                            // m/s
	HoodMiddle                          // m/s
	HoodRight                           // m/s
	PressureSign                        // Pa, room minus neighbour
	MakeUpSign                          // supply in % of the exhaust
	CarbonDioxideOf                     // ppm, of people at work
)

// Hood says whether the sign stands at the hood.
func (k SignKind) Hood() bool { return k == HoodLeft || k == HoodMiddle || k == HoodRight }

// Said is the place of a sign along the hood, in words.
func (k SignKind) Said() phrase.Sentence {
	switch k {
	case HoodLeft:
		return phrase.Say("at its left end")
	case HoodRight:
		return phrase.Say("at its right end")
	}
	return phrase.Say("in its middle")
}

// Sign is one thing in the room that tells of its air. It has a value only while its
// reading is good: one that is suspected or missing proves and contradicts nothing.
type Sign struct {
	Kind  SignKind
	Name  string // of its channel
	value Optional[float64]
	why   phrase.Sentence
}

// GoodSign is a sign with a good reading, in the unit of its kind.
func GoodSign(kind SignKind, name string, value float64) Sign {
	return Sign{Kind: kind, Name: name, value: Known(value)}
}

// NoSign is a sign that gives nothing, and why: it is suspected or missing.
func NoSign(kind SignKind, name string, why phrase.Sentence) Sign {
	return Sign{Kind: kind, Name: name, why: why}
}

// Value gives what a good sign reads.
func (s Sign) Value() (float64, bool) { return s.value.Get() }

// Signs are all that a room has, the most direct first among equals.
type Signs []Sign

// value gives the first good reading of a kind.
func (s Signs) value(kind SignKind) (float64, bool) {
	for _, sign := range s {
		if v, good := sign.Value(); good && sign.Kind == kind {
			return v, true
		}
	}
	return 0, false
}

// lead gives the place of the flow that the rest is held against, and that flow.
func (s Signs) lead() (at int, flow quantity.CubicMetrePerHour, known bool) {
	for i, sign := range s {
		if v, good := sign.Value(); good && sign.Kind == FlowSign {
			return i, quantity.CubicMetrePerHour(v), true
		}
	}
	return 0, 0, false
}

// Flow is the flow that the most direct good probe gives.
func (s Signs) Flow() (quantity.CubicMetrePerHour, bool) {
	_, flow, known := s.lead()
	return flow, known
}

// best is the highest velocity along the hood; zero without any.
func (s Signs) best() (most float64) {
	for _, sign := range s {
		if v, good := sign.Value(); good && sign.Kind.Hood() {
			most = max(most, v)
		}
	}
	return most
}

// switchedOn reads a fan contact, which gives 1 for on and 0 for off.
func switchedOn(contact float64) bool { return contact > 0.5 }

// reads says in words what a good sign reads that may contradict a flow, or is one; the hood has its own words.
func (s Sign) reads() phrase.Sentence {
	v, _ := s.Value()
	switch s.Kind {
	case FlowSign:
		return phrase.Say("%s reads %s", s.Name, quantity.CubicMetrePerHour(v).To(1))
	case FanContact:
		return phrase.Say("%s is off", s.Name)
	}
	return phrase.Say("%s reads %s", s.Name, phrase.Say("%.0f ppm", v))
}

// Hood holds air velocities along a slot hood: it may draw well in the middle
// and poorly at its ends.
type Hood struct {
	Left, Middle, Right Optional[quantity.MetrePerSecond]
}
