package chem

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// How time follows strength is taken from published dilutions alone. Where only
// one is published, a strength this near to it is taken as equal to it (common
// practice), and the difference goes into the interval with the steepest exponent
// seen in print: 0.65 (derived from Kodak F-32, 1:7, 1:9 and 1:15 at 24 °C).
const (
	strengthSlack    = 0.02
	steepestExponent = 0.65
)

// DilutionTime is a published time at one dilution.
type DilutionTime struct {
	Parts Parts
	Time  time.Duration
}

// BathStrength is how strong the bath is beside what the table is for. The zero
// value is unknown.
type BathStrength struct {
	// Nominal is the dilution that the table's times are for.
	Nominal Parts
	// Made is the true strength of the bath, as a share of the same parent.
	Made Strength
	// Uncertainty is the relative plus-or-minus of Made.
	Uncertainty float64
	// Published are times of the same developer at several dilutions, all at
	// one temperature and for the same paper or film.
	Published []DilutionTime
}

func (b BathStrength) known() bool { return isShare(b.Made) && b.Nominal.Known() && b.Uncertainty >= 0 }

// strengthFactor gives g: the time at the strength made over the time at the
// nominal dilution.
func strengthFactor(b BathStrength) (effect, error) {
	e := effect{cause: phrase.Say("strength %s", b.Made.Percent())}
	nominal := b.Nominal.Strength()
	slack := math.Max(strengthSlack, b.Uncertainty)
	off := math.Log(float64(b.Made / nominal))
	if len(b.Published) < 2 {
		if math.Abs(off) > slack {
			return effect{}, Refusal{phrase.Say("the bath's strength is %s instead of %s, and no published second dilution tells what that "+
				"does to the time",
				b.Made.Percent(), nominal.Percent())}
		}
		e.off = within(steepestExponent * math.Hypot(off, b.Uncertainty))
		return e, nil
	}
	line, err := dilutionLine(b.Published)
	if err != nil {
		return effect{}, err
	}
	atMade, inside := line.at(b.Made, slack)
	atNominal, nominalInside := line.at(nominal, strengthSlack)
	if !inside || !nominalInside {
		return effect{}, Refusal{phrase.Say("strength %s or the table's own %s lies outside the published dilutions, %s to %s",
			b.Made.Percent(), nominal.Percent(), line[0].strength.Percent(), line[len(line)-1].strength.Percent())}
	}
	e.ln = atMade - atNominal
	e.off = within(b.Uncertainty * line.steepest())
	return e, nil
}

// strengthLine is ln(time) over ln(strength), weakest first.
type strengthLine []strengthPoint

type strengthPoint struct {
	strength Strength
	ln       float64
}

func dilutionLine(published []DilutionTime) (strengthLine, error) {
	line := make(strengthLine, 0, len(published))
	for _, p := range published {
		if !p.Parts.Known() || p.Time <= 0 {
			return nil, Refusal{phrase.Say("a published dilution has no parts or no time")}
		}
		line = append(line, strengthPoint{p.Parts.Strength(), math.Log(p.Time.Seconds())})
	}
	slices.SortFunc(line, func(a, b strengthPoint) int { return cmp.Compare(a.strength, b.strength) })
	for i := 1; i < len(line); i++ {
		if line[i].strength/line[i-1].strength < 1+1e-9 {
			return nil, Refusal{phrase.Say("the same dilution is published twice: keep one of the two")}
		}
	}
	return line, nil
}

// at interpolates; a strength beyond an end by less than the slack counts as the end.
func (l strengthLine) at(s Strength, slack float64) (ln float64, inside bool) {
	first, last := l[0], l[len(l)-1]
	x := math.Log(float64(s))
	if x < math.Log(float64(first.strength))-slack || x > math.Log(float64(last.strength))+slack {
		return 0, false
	}
	s = min(max(s, first.strength), last.strength)
	hi := max(slices.IndexFunc(l, func(p strengthPoint) bool { return p.strength >= s }), 1)
	return l[hi-1].ln + l.exponent(hi)*math.Log(float64(s/l[hi-1].strength)), true
}

// exponent is d ln t / d ln s of the segment that ends at a point.
func (l strengthLine) exponent(end int) float64 {
	return (l[end].ln - l[end-1].ln) / math.Log(float64(l[end].strength/l[end-1].strength))
}

func (l strengthLine) steepest() float64 {
	most := 0.0
	for i := 1; i < len(l); i++ {
		most = max(most, math.Abs(l.exponent(i)))
	}
	return most
}
