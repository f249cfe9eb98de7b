package ventilation

import (
	"slices"
	"strings"
	"time"

	"wetside/rules/dated"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Kind says how a required value is expressed.
type Kind string

// The kinds of required value as records and configurations name them, each with the unit of [Requirement.Value].
const (
	AirChangeRate Kind = "air changes"             // changes an hour
	FloorFlow     Kind = "flow a floor area"       // L/s for each m² of floor
	SurfaceFlow   Kind = "flow a solution surface" // L/s for each m² of open solution
	MakeUpShare   Kind = "make-up share"           // supply in % of exhaust
)

func (k Kind) Said() phrase.Sentence {
	switch k {
	case FloorFlow:
		return phrase.Plain("flow for the floor area")
	case SurfaceFlow:
		return phrase.Plain("flow for the open solutions")
	}
	return phrase.Plain(string(k))
}

// Kinds lists every kind of required value.
func Kinds() []Kind { return []Kind{AirChangeRate, FloorFlow, SurfaceFlow, MakeUpShare} }

// Unit is what [Requirement.Value] is written in.
func (k Kind) Unit() string {
	switch k {
	case AirChangeRate:
		return "/h"
	case MakeUpShare:
		return "%"
	}
	return "L/s·m²"
}

// ReadValue reads a required value as people write it; a bare number is in the unit of
// the kind. A flow for an area may be in cfm/ft2 too, which is 5.08 L/s·m² (0.3048 m a minute).
func (k Kind) ReadValue(text string) (float64, error) {
	bare := strings.ToLower(strings.Join(strings.Fields(text), ""))
	bare = strings.NewReplacer("²", "2", "·", "", "/m2", "m2").Replace(bare)
	times := 1.0
	switch {
	case k == AirChangeRate:
		bare = strings.TrimSuffix(bare, "/h")
	case k == MakeUpShare:
		bare = strings.TrimSuffix(bare, "%")
	case strings.HasSuffix(bare, "cfm/ft2"):
		bare, times = strings.TrimSuffix(bare, "cfm/ft2"), 5.08
	default:
		bare = strings.TrimSuffix(bare, "l/sm2")
	}
	v, err := quantity.Number(bare)
	if err != nil {
		return 0, phrase.Errorf("%q is no required value of %s: write a number in %s", text, k.Said(), k.Unit())
	}
	return v * times, nil
}

// Requirement is one row of what is asked of a room's ventilation.
type Requirement struct {
	Kind    Kind    `json:"kind"`
	Value   float64 `json:"value"`  // in the unit of the kind
	Source  string  `json:"source"` // who asks for it; a row without is refused
	Edition string  `json:"edition,omitempty"`
	dated.Term
	// Off is set for a row that is not chosen for this room, and for an entry that ends earlier versions of it.
	Off bool `json:"off,omitempty"`
}

// Holds says whether the row is on and in force at a date.
func (r Requirement) Holds(at time.Time) bool { return !r.Off && r.Term.Holds(at) }

// SameAs says whether two rows are versions of one: of the same kind, from the same source.
func (r Requirement) SameAs(other Requirement) bool {
	return r.Kind == other.Kind && strings.EqualFold(strings.TrimSpace(r.Source), strings.TrimSpace(other.Source))
}

// Room holds the measures of a room that requirements refer to.
type Room struct {
	Volume  quantity.CubicMetre
	Floor   quantity.SquareMetre
	Surface quantity.SquareMetre // open solution: trays together
}

// Demand is what the rows that are on ask of a room.
type Demand struct {
	Exhaust    quantity.CubicMetrePerHour
	AirChanges quantity.PerHour
	Binding    Requirement // the row that asks for the most
	// MakeUpBinding is the row that asks for the most supply; without a source if no make-up row is on.
	MakeUpBinding Requirement
}

// ErrNothingRequired says that no row which asks for a flow is on.
var ErrNothingRequired = phrase.Errorf("no ventilation is required of this room yet: enter what your code or your house requires, as " +
	"air changes, flow for the floor area or flow for the open solutions")

// Check says what is wrong with a row.
func (r Requirement) Check() error {
	switch {
	case strings.TrimSpace(r.Source) == "":
		return phrase.Errorf("required %s %g has no source: name the code, standard or decision it comes from", r.Kind.Said(), r.Value)
	case r.Kind == MakeUpShare && !(r.Value > 0 && r.Value <= 200):
		return phrase.Errorf("required make-up share of %g %% (%s) is not usable: expected above 0 and at most 200 %%", r.Value, r.Source)
	}
	return positive(phrase.Say("required %s (%s)", r.Kind.Said(), r.Source), r.Value, "")
}

// InForce keeps the rows that are on and in force at a date.
func InForce(rows []Requirement, at time.Time) []Requirement {
	return slices.DeleteFunc(slices.Clone(rows), func(r Requirement) bool { return !r.Holds(at) })
}

// Strictest gives the largest flow that the rows which are on ask of the room,
// and which row asks for it. Of equal rows the first binds. A row that can't be
// used (no source, a measure of the room missing) is an error, never left out.
func Strictest(required []Requirement, room Room) (Demand, error) {
	var d Demand
	for _, r := range required {
		if r.Off {
			continue
		}
		if err := r.Check(); err != nil {
			return Demand{}, err
		}
		if r.Kind == MakeUpShare {
			if r.Value > d.MakeUpBinding.Value {
				d.MakeUpBinding = r
			}
			continue
		}
		flow, err := r.flow(room)
		if err != nil {
			return Demand{}, err
		}
		if flow > d.Exhaust {
			d.Exhaust, d.Binding = flow, r
		}
	}
	return d.complete(room)
}

func (d Demand) complete(room Room) (Demand, error) {
	if d.Exhaust == 0 {
		return Demand{}, ErrNothingRequired
	}
	var err error
	if d.AirChanges, err = AirChanges(d.Exhaust, room.Volume); err != nil {
		return Demand{}, err
	}
	return d, nil
}

func (r Requirement) flow(room Room) (quantity.CubicMetrePerHour, error) {
	var value float64
	var err error
	switch r.Kind {
	case AirChangeRate:
		err = positive(phrase.Say("room volume"), float64(room.Volume), "m³")
		value = r.Value * float64(room.Volume)
	case FloorFlow:
		err = positive(phrase.Say("floor area"), float64(room.Floor), "m²")
		value = r.Value * float64(room.Floor) * 3.6
	case SurfaceFlow:
		err = positive(phrase.Say("solution surface"), float64(room.Surface), "m²")
		value = r.Value * float64(room.Surface) * 3.6
	default:
		err = phrase.Errorf("unknown kind %q: expected %s, %s, %s or %s", r.Kind, AirChangeRate, FloorFlow, SurfaceFlow, MakeUpShare)
	}
	if err != nil {
		return 0, phrase.Errorf("required value from %s: %w", r.Source, err)
	}
	return quantity.CubicMetrePerHour(value), nil
}
