package ledger

import (
	"cmp"
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Place is where a fixing bath stands: alone, or as one of two in a row.
type Place string

// The places. The first of two baths takes most of the silver, the second little.
const (
	OnlyBath    Place = "only bath"
	FirstOfTwo  Place = "first of two baths"
	SecondOfTwo Place = "second of two baths"
)

func (p Place) Said() phrase.Sentence { return phrase.Plain(string(cmp.Or(p, OnlyBath))) }

// FixingRow is what a liquid did as one of two fixing baths in a row.
type FixingRow struct {
	Led       Load // of the area it processed: what went on to another fixing bath
	Followed  Load // what came from another fixing bath
	Second    bool // the last sheets came from another fixing bath
	Rotations int  // how often a second bath had moved up when this liquid took the first place
	Ahead     int  // the same of the bath before this one
}

func (r FixingRow) plus(o FixingRow) FixingRow {
	r.Led, r.Followed = r.Led.plus(o.Led), r.Followed.plus(o.Followed)
	r.Rotations, r.Ahead = max(r.Rotations, o.Rotations), max(r.Ahead, o.Ahead)
	return r
}

func (r FixingRow) times(f float64) FixingRow {
	r.Led, r.Followed = r.Led.times(f), r.Followed.times(f)
	return r
}

// fixedAfter enters an area that came to this fixing bath, straight or from the bath before.
func (l *Liquid) fixedAfter(before *Liquid, area Load) {
	l.row.Second = before != nil
	if before == nil {
		return
	}
	l.row.Followed, l.row.Ahead = l.row.Followed.plus(area), before.row.Rotations
	if !before.row.Second {
		before.row.Led = before.row.Led.plus(area)
	}
}

// mostRotations is how often the second bath moves up before both are discarded
// (analogue-photography.org, fixing prints: a secondary source). The Darkroom Cookbook,
// 3rd ed., p. 107, discards both after the third rotation; the words say so.
const mostRotations = 4

// The published capacity of the first of two baths.
const (
	twoBathUse    = "first of two baths, then rotate"
	twoBathSource = "analogue-photography.org, fixing prints"
	twoBathUnit   = "sheets 8x10 per litre"
)

// PublishedTwoBath is the published capacity of the first of two baths, for a product without one of its own.
func PublishedTwoBath() Capacity {
	return Capacity{Use: twoBathUse, Place: FirstOfTwo, Figure: Figure{Value: 50, Unit: twoBathUnit, Source: twoBathSource,
		Standing: Secondary}}
}

// TwoBathStep is what two fixing baths in a row ask for.
type TwoBathStep struct {
	Rotations int  // how often the second bath must have moved up by now
	Rotate    bool // it has not moved up so often yet
	Discard   bool // both baths are at their end
}

// TwoBaths is the step for an area that went through two baths of a volume each since both were fresh;
// ok is false without an area, a volume or a capacity.
func (c Capacity) TwoBaths(area quantity.SquareMetre, volume quantity.Millilitre) (step TwoBathStep, ok bool) {
	perLitre, known := c.AreaPerLitre()
	if !known || !(area >= 0) || !(volume > 0) {
		return TwoBathStep{}, false
	}
	return twoBaths(0, float64(area/perLitre)/(float64(volume)/1000)), true
}

// twoBaths is the step when the second bath has moved up so often and the present
// first bath has done a part of its work.
func twoBaths(moved int, part float64) TwoBathStep {
	due := moved + int(math.Min(math.Floor(part+1e-9), mostRotations+1))
	if due > mostRotations {
		return TwoBathStep{Rotations: mostRotations, Discard: true}
	}
	return TwoBathStep{Rotations: due, Rotate: due > moved}
}

func (s TwoBathStep) todo() phrase.Sentence {
	if s.Discard {
		return phrase.Say("Discard both fixing baths as silver-bearing waste and mix both fresh: the second bath has moved up %d times.",
			mostRotations)
	}
	rotate := phrase.Say("Discard the first bath as silver-bearing waste, move the second bath up into its place and mix a fresh second "+
		"bath: rotation %d of %d.",
		s.Rotations, mostRotations)
	if s.Rotations == mostRotations {
		return phrase.Say("%s The Darkroom Cookbook, p. 107, discards both baths now.", rotate)
	}
	return rotate
}
