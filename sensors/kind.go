package sensors

import (
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Kind says what a channel measures and where in the room: a water bath and the
// room's air are both temperatures, yet a rule must never take one for the other.
type Kind string

// The kinds of channel, named as a configuration writes them.
const (
	BathTemperature  Kind = "bath-temperature"
	WaterTemperature Kind = "water-temperature"
	AirTemperature   Kind = "air-temperature"
	RelativeHumidity Kind = "relative-humidity"
	DuctVelocity     Kind = "duct-velocity"
	VolumeFlow       Kind = "volume-flow"
	VelocityPressure Kind = "velocity-pressure"
	RoomPressure     Kind = "room-pressure"
	CarbonDioxide    Kind = "carbon-dioxide"
	AceticAcid       Kind = "acetic-acid"
	SulfurDioxide    Kind = "sulfur-dioxide"
	OtherGas         Kind = "other-gas"
	FanCommand       Kind = "fan-command"
)

// Range is a closed interval in the inside unit of a dimension.
type Range struct{ Low, High float64 }

// Holds says whether v lies within the range, its ends included.
func (r Range) Holds(v float64) bool { return v >= r.Low && v <= r.High }

// Traits are the usual limits of a kind, each of which a configuration may
// narrow for one channel. All are common practice for the plain probes of a
// teaching darkroom, not figures of a standard.
type Traits struct {
	Dimension quantity.Dimension
	// Plausible is what the quantity can be in a darkroom, in the inside unit.
	Plausible Range
	// Resolution is the smallest step worth showing, in the inside unit.
	Resolution float64
	// Silence is how long a channel may go without a good frame before it is missing.
	Silence time.Duration
	// Jump is the largest believable change from one reading to the next, in the
	// inside unit; zero when any change is believable (a contact, an air flow).
	Jump float64
	// Flat is how long an unchanged value is believable, where a configuration sets it for
	// one channel; zero leaves that to what a live probe of its resolution does (rules/truth).
	Flat time.Duration
}

// kinds has a row for every kind, in a fixed order. A new gas is a row here: its name is that of
// its agent in the file of limits, with hyphens for the spaces.
var kinds = []struct {
	kind Kind
	Traits
}{
	{BathTemperature, Traits{quantity.Temperature, Range{0, 60}, 0.1, 15 * time.Second, 4, 0}},
	{WaterTemperature, Traits{quantity.Temperature, Range{0, 60}, 0.1, 15 * time.Second, 4, 0}},
	{AirTemperature, Traits{quantity.Temperature, Range{-10, 50}, 0.1, 30 * time.Second, 4, 0}},
	{RelativeHumidity, Traits{quantity.Ratio, Range{0, 100}, 1, 60 * time.Second, 0, 0}},
	{DuctVelocity, Traits{quantity.Velocity, Range{0, 30}, 0.05, 15 * time.Second, 0, 0}},
	{VolumeFlow, Traits{quantity.VolumeFlow, Range{0, 20000}, 1, 15 * time.Second, 0, 0}},
	{VelocityPressure, Traits{quantity.Pressure, Range{-50, 500}, 0.1, 15 * time.Second, 0, 0}},
	{RoomPressure, Traits{quantity.Pressure, Range{-100, 100}, 0.1, 15 * time.Second, 0, 0}},
	{CarbonDioxide, Traits{quantity.VolumeFraction, Range{250, 10000}, 1, 60 * time.Second, 0, 0}},
	{AceticAcid, Traits{quantity.VolumeFraction, Range{0, 1000}, 0.1, 30 * time.Second, 0, 0}},
	{SulfurDioxide, Traits{quantity.VolumeFraction, Range{0, 1000}, 0.1, 30 * time.Second, 0, 0}},
	{OtherGas, Traits{quantity.VolumeFraction, Range{0, 1000}, 0.1, 30 * time.Second, 0, 0}},
	{FanCommand, Traits{quantity.Contact, Range{0, 1}, 1, 60 * time.Second, 0, 0}},
}

// KnownKinds lists every kind in a fixed order.
func KnownKinds() []Kind {
	list := make([]Kind, len(kinds))
	for i, k := range kinds {
		list[i] = k.kind
	}
	return list
}

// Label is what people call the quantity.
func (k Kind) Label() string {
	switch k {
	case DuctVelocity:
		return "duct air velocity"
	case VolumeFlow:
		return "volume flow of air"
	case FanCommand:
		return "fan switch"
	}
	return strings.ReplaceAll(string(k), "-", " ")
}

// Traits gives the usual limits of the kind; ok is false for an unknown kind.
func (k Kind) Traits() (t Traits, ok bool) {
	for _, known := range kinds {
		if known.kind == k {
			return known.Traits, true
		}
	}
	return Traits{}, false
}

// IsGas says whether the kind is that of a gas cell, which reads zero where no gas is: there
// is no air without carbon dioxide.
func (k Kind) IsGas() bool {
	t, known := k.Traits()
	return known && t.Dimension == quantity.VolumeFraction && t.Plausible.Holds(0)
}

// Agent is the gas that the kind measures, as a file of limits names it; empty for a kind that
// measures none, or one that a configuration names.
func (k Kind) Agent() string {
	if t, known := k.Traits(); !known || t.Dimension != quantity.VolumeFraction || k == OtherGas {
		return ""
	}
	return k.Label()
}

// MovesWithAir says whether the kind shows that air moves, and rests where none does.
func (k Kind) MovesWithAir() bool {
	return k == DuctVelocity || k == VolumeFlow || k == VelocityPressure || k == RoomPressure
}

// ParseKind reads a kind as a configuration writes it.
func ParseKind(text string) (Kind, error) {
	k := Kind(strings.TrimSpace(text))
	if _, known := k.Traits(); known {
		return k, nil
	}
	return "", phrase.Errorf("unknown quantity %q: expected one of %s", text, phrase.Join(", ", KnownKinds()...))
}
