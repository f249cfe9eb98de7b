package chem

import (
	"cmp"
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Measure is a volume as read off a graduate.
type Measure struct {
	// Volume is what was read.
	Volume quantity.Millilitre
	// Division is the distance between two marks of the graduate; the reading is
	// taken to be good to half of it. Zero: not known, and not counted.
	Division quantity.Millilitre
}

func (m Measure) relative() float64 {
	if m.Volume <= 0 {
		return 0
	}
	return float64(m.Division) / 2 / float64(m.Volume)
}

// MixUncertainty is the relative plus-or-minus of the strength of a mix, from half a division of
// each graduate, added in quadrature. What is not known is not counted.
func MixUncertainty(parent, water Measure) float64 {
	share := float64(parent.Volume / (parent.Volume + water.Volume))
	return (1 - share) * math.Hypot(parent.relative(), water.relative())
}

// Pour is what was really poured together, and what it should have become.
type Pour struct {
	// Parent and Water are what was poured.
	Parent, Water Measure
	// ParentStrength is the strength of what was poured as a share of the origin:
	// 1 for concentrate. When stock was taken for concentrate it is the stock's.
	ParentStrength Strength
	// Target is the strength wanted, as a share of the same origin.
	Target Strength
	// RepairWith is the strength of the liquid at hand for a repair of a weak
	// mix. Zero: more of the parent.
	RepairWith Strength
	// Vessel is what the vessel holds. Zero: not known, and no limit.
	Vessel quantity.Millilitre
	// Tolerance is the relative error that is let pass, such as 0.05.
	Tolerance float64
}

// Remedy says what to do with a mix.
type Remedy uint8

// The remedies. The zero Remedy is none of them.
const (
	UseAsItIs Remedy = iota + 1
	AddWater
	AddConcentrate
	DiscardAndStartAgain
	NoVerdict // the graduates are too coarse to tell
)

// String names the remedy in words.
func (r Remedy) String() string {
	return cmp.Or(map[Remedy]string{UseAsItIs: "use as it is", AddWater: "add water", AddConcentrate: "add concentrate",
		DiscardAndStartAgain: "discard and start again", NoVerdict: "no verdict"}[r], "no remedy")
}

// PourCheck is the verdict on a pour.
type PourCheck struct {
	// Strength is the true strength, as a share of the origin.
	Strength Strength
	// Total is the volume poured.
	Total quantity.Millilitre
	// Error is the relative error of the strength: -0.09 is 9 % too weak.
	Error float64
	// Uncertainty is the plus-or-minus of Error, from half a division of each
	// graduate, added in quadrature. It is zero when no division is known.
	Uncertainty float64
	// Remedy is what to do, and Add how much of it; Add is zero when nothing is added.
	Remedy Remedy
	Add    quantity.Millilitre
	// Reason is the verdict in a sentence.
	Reason phrase.Sentence
}

// Check works out the true strength of what was poured and how to repair it.
// A pour that makes no sense is an error.
func (p Pour) Check() (PourCheck, error) {
	if err := p.valid(); err != nil {
		return PourCheck{}, err
	}
	total := p.Parent.Volume + p.Water.Volume
	share := float64(p.Parent.Volume / total)
	c := PourCheck{Total: total, Strength: p.ParentStrength * Strength(share)}
	c.Error = float64(c.Strength/p.Target) - 1
	c.Uncertainty = MixUncertainty(p.Parent, p.Water) * (1 + c.Error)
	p.decide(&c)
	return c, nil
}

func (p Pour) valid() error {
	volumes := []quantity.Millilitre{p.Parent.Volume, p.Water.Volume, p.Parent.Division, p.Water.Division, p.Vessel}
	for _, v := range volumes {
		if !(v >= 0 && finite(float64(v))) {
			return phrase.Errorf("%s is not a volume: it must be zero or more", v.To(0))
		}
	}
	switch {
	case p.Parent.Volume == 0:
		return phrase.Errorf("nothing but water was poured: say how much concentrate or stock went in")
	case !isShare(p.ParentStrength) || !isShare(p.Target):
		return phrase.Errorf("a strength is a share of the concentrate: more than 0 and at most 1")
	case p.RepairWith < 0 || p.RepairWith > 1:
		return phrase.Errorf("the strength of the liquid for a repair must be between 0 and 1")
	case p.Vessel > 0 && p.Parent.Volume+p.Water.Volume > p.Vessel:
		return phrase.Errorf("%s were poured, but the vessel holds %s: check the volumes",
			millilitres(p.Parent.Volume+p.Water.Volume), millilitres(p.Vessel))
	}
	return nil
}

func isShare(s Strength) bool { return s > 0 && s <= 1 }

// decide asks for a repair only when the error is larger than what is let pass. Where the graduates
// cannot tell as much as is let pass there is no verdict, but for an error that is too large whatever they hide.
func (p Pour) decide(c *PourCheck) {
	size := math.Abs(c.Error)
	switch {
	case c.Uncertainty > p.Tolerance && size-c.Uncertainty <= p.Tolerance:
		c.Remedy = NoVerdict
		c.Reason = phrase.Say("no verdict: with these graduates the strength is known to ± %s %% only, and %s %% is allowed: measure with "+
			"a finer "+
			"graduate",
			short(c.Uncertainty*100), short(p.Tolerance*100))
	case size <= 1e-9:
		c.Remedy, c.Reason = UseAsItIs, phrase.Say("the strength is right: use it")
	case size <= p.Tolerance:
		c.Remedy, c.Reason = UseAsItIs, phrase.Say("%s, within the %s %% allowed: use it", c.errorWords(), short(p.Tolerance*100))
	case c.Error > 0:
		p.repair(c, AddWater, c.Total*quantity.Millilitre(c.Strength/p.Target-1))
	case p.repairStrength() <= p.Target:
		c.Remedy = DiscardAndStartAgain
		c.Reason = phrase.Say("%s, and nothing stronger is to hand: discard and start again", c.errorWords())
	default:
		p.repair(c, AddConcentrate, c.Total*quantity.Millilitre((p.Target-c.Strength)/(p.repairStrength()-p.Target)))
	}
}

// repair takes water = V(s/s_t - 1) or concentrate = V(s_t - s)/(s_p - s_t), as
// far as the vessel holds it.
func (p Pour) repair(c *PourCheck, remedy Remedy, add quantity.Millilitre) {
	if p.Vessel > 0 && c.Total+add > p.Vessel {
		c.Remedy = DiscardAndStartAgain
		c.Reason = phrase.Say("%s; the repair needs %s more and the vessel holds %s: discard and start again",
			c.errorWords(), millilitres(add), millilitres(p.Vessel))
		return
	}
	c.Remedy, c.Add = remedy, add
	switch {
	case remedy == AddWater:
		c.Reason = phrase.Say("%s: add %s of water", c.errorWords(), millilitres(add))
	case p.repairStrength() < 1-1e-9: // what is left in a bottle is worked out by many subtractions
		c.Reason = phrase.Say("%s: add %s of the parent at %s", c.errorWords(), millilitres(add), p.repairStrength().Percent())
	default:
		c.Reason = phrase.Say("%s: add %s of concentrate", c.errorWords(), millilitres(add))
	}
}

// errorWords are "9.1 % (± 0.5) too weak"; graduates that are not known add no doubt.
func (c PourCheck) errorWords() phrase.Sentence {
	size, doubt := short(math.Abs(c.Error)*100), short(c.Uncertainty*100)
	switch weak := c.Error < 0; {
	case c.Error > 1:
		return phrase.Say("%.1f times as strong as meant", 1+c.Error)
	case weak && c.Uncertainty > 0:
		return phrase.Say("%s %% (± %s) too weak", size, doubt)
	case weak:
		return phrase.Say("%s %% too weak", size)
	case c.Uncertainty > 0:
		return phrase.Say("%s %% (± %s) too strong", size, doubt)
	}
	return phrase.Say("%s %% too strong", size)
}

func (p Pour) repairStrength() Strength {
	if p.RepairWith > 0 {
		return p.RepairWith
	}
	return p.ParentStrength
}
