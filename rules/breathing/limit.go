package breathing

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/rules/dated"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// LimitKind says how a limit is judged.
type LimitKind string

// The kinds of limit.
const (
	LongTerm    LimitKind = "long-term average"
	ShortTerm   LimitKind = "short-term average"
	Ceiling     LimitKind = "ceiling"      // never to be passed; its window is zero
	ActionLevel LimitKind = "action level" // an average above which duties begin
)

// Standing says how far a row may be trusted.
type Standing string

// The standings of a row.
const (
	Verified   Standing = "verified"
	SecondHand Standing = "verified in a second-hand text"
	Unverified Standing = "unverified, check your jurisdiction"
)

func (s Standing) Said() phrase.Sentence { return phrase.Plain(string(s)) }

// Agent is a substance in the air.
type Agent struct {
	Name      string
	CAS       string // registry number, shown beside the name
	MolarMass quantity.GramPerMole
	// Irritant agents of the airways are added up in a mixture.
	Irritant bool
}

// Limit is one published limit for one agent.
type Limit struct {
	Agent        string
	Jurisdiction string
	Edition      string
	Kind         LimitKind
	Window       time.Duration // averaging time; zero for a ceiling
	Value        float64       // in Unit, the unit it is published in
	Unit         quantity.Unit // ppm, ppb, mg/m3 or ug/m3
	Standing     Standing
	Source       string
	dated.Term
	// Off ends earlier versions of the row.
	Off bool
}

// Holds says whether the row is in force at a date.
func (l Limit) Holds(at time.Time) bool { return !l.Off && l.Term.Holds(at) }

// SameAs says whether two rows are versions of one: of the same kind and averaging time for
// the same agent in the same jurisdiction. Another edition is another version.
func (l Limit) SameAs(other Limit) bool {
	return l.Agent == other.Agent && l.Kind == other.Kind && l.Window == other.Window &&
		strings.EqualFold(strings.TrimSpace(l.Jurisdiction), strings.TrimSpace(other.Jurisdiction))
}

// Kinds lists the kinds of limit.
func Kinds() []LimitKind { return []LimitKind{LongTerm, ShortTerm, Ceiling, ActionLevel} }

// Standings lists every standing of a row.
func Standings() []Standing { return []Standing{Verified, SecondHand, Unverified} }

// Check says what is wrong with a row.
func (l Limit) Check() error {
	for _, field := range []struct {
		name  phrase.Sentence
		value string
	}{
		{phrase.Say("agent"), l.Agent}, {phrase.Say("jurisdiction"), l.Jurisdiction}, {phrase.Say("edition"), l.Edition},
		{phrase.Say("source"), l.Source},
	} {
		if strings.TrimSpace(field.value) == "" {
			return phrase.Errorf("limit %s %s %g lacks its %s", l.Agent, l.Jurisdiction, l.Value, field.name)
		}
	}
	if !(l.Value > 0) || l.Value > 1e9 {
		return phrase.Errorf("limit %s: a value of %g is not usable: expected more than zero", l.name(), l.Value)
	}
	if d := l.Unit.Dimension(); d != quantity.VolumeFraction && d != quantity.MassConcentration {
		return phrase.Errorf("limit %s: unit %q is not usable: expected ppm, ppb, mg/m3 or ug/m3", l.name(), l.Unit)
	}
	if !slices.Contains(Standings(), l.Standing) {
		return phrase.Errorf("limit %s: unknown standing %q: expected %q, %q or %q", l.name(), l.Standing, Verified, SecondHand, Unverified)
	}
	return l.checkWindow()
}

func (l Limit) checkWindow() error {
	switch l.Kind {
	case Ceiling:
		if l.Window != 0 {
			return phrase.Errorf("limit %s: a ceiling has no averaging window", l.name())
		}
	case LongTerm, ShortTerm, ActionLevel:
		if l.Window <= 0 || l.Window > 24*time.Hour {
			return phrase.Errorf("limit %s: a window of %s is not usable: expected more than zero and at most 24 h", l.name(), l.Window)
		}
	default:
		return phrase.Errorf("limit %s: unknown kind %q: expected %q, %q, %q or %q", l.name(), l.Kind, LongTerm, ShortTerm, Ceiling, ActionLevel)
	}
	return nil
}

func (l Limit) name() string { return fmt.Sprintf("%s, %s (%s)", l.Agent, l.Jurisdiction, l.Edition) }

// Text names the limit with its value, window and standing.
func (l Limit) Text() phrase.Sentence {
	s := phrase.Say("%s, %s of %s %s", l.name(), l.Kind, figure(l.Value), l.Unit)
	if l.Window > 0 {
		s = phrase.Say("%s over %s", s, spell(l.Window))
	}
	if l.Standing != Verified {
		s = phrase.Say("%s, %s", s, l.Standing)
	}
	return s
}

// spell writes whole hours and minutes as people do: 8 h, 15 min.
func spell(d time.Duration) string {
	switch {
	case d%time.Hour == 0:
		return fmt.Sprintf("%d h", d/time.Hour)
	case d%time.Minute == 0:
		return fmt.Sprintf("%d min", d/time.Minute)
	default:
		return d.String()
	}
}

// ErrShift says that a shift can't be used for the extended-shift factor.
var ErrShift = phrase.Errorf("the extended-shift factor is for shifts from 8 to below 24 hours")

// BriefScala gives the factor (8/h)·((24-h)/16) for a long shift (Brief and
// Scala, from memory): 0.5 for 12 h.
func BriefScala(shift time.Duration) (float64, error) {
	h := shift.Hours()
	if !(h >= 8 && h < 24) {
		return 0, phrase.Errorf("a shift of %s: %w", shift, ErrShift)
	}
	return 8 / h * (24 - h) / 16, nil
}

// ForShift lowers a long-term limit for a long shift, over which it is then
// averaged, and says so in its edition. Other kinds stay as they are.
func (l Limit) ForShift(shift time.Duration) (Limit, error) {
	factor, err := BriefScala(shift)
	if err != nil || l.Kind != LongTerm {
		return l, err
	}
	l.Value *= factor
	l.Window = shift
	l.Edition += fmt.Sprintf(", times %.2f for a shift of %s (Brief and Scala)", factor, spell(shift))
	return l, nil
}
