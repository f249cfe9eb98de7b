package ledger

import (
	"math"

	"wetside/sensors/quantity"
)

// Wear is how much of its work a bath has done, by the smallest published capacity for each material.
type Wear struct {
	Place   Place
	Part    float64  // of the work in this place, 1 at its end; what a bath did as the second does not wear it out as the first
	Binds   Capacity // the capacity that weighs most
	Missing Material // a material for which no capacity is known: Part is then 0 and means nothing
	Sure    bool     // no figure behind Part is unverified

	row FixingRow
}

// Known says whether the part of the capacity could be worked out.
func (w Wear) Known() bool { return w.Missing == "" }

// Step is what to do with a bath that is one of two.
func (w Wear) Step() TwoBathStep {
	if w.Place == SecondOfTwo {
		return twoBaths(w.row.Ahead, w.Part)
	}
	return twoBaths(w.row.Rotations, w.Part)
}

// spent says whether the bath is at its end. A second bath is spent only when it went on for as long again
// after it should have moved up, or together with a first bath after the last rotation.
func (w Wear) spent() bool {
	end := 1.0
	if w.Place == SecondOfTwo && !w.Step().Discard {
		end = 2
	}
	return w.Part >= end-1e-9
}

// Wear works out how much of its work a bath has done.
func (p Product) Wear(c Contents) Wear {
	w := Wear{Place: p.place(c), Sure: true, row: c.Row}
	most, litres := 0.0, float64(c.Volume)/1000
	add := func(m Material, area quantity.SquareMetre, place Place) (part float64) {
		if area <= 1e-12 {
			return 0
		}
		least, ok := p.tightest(m, place)
		if !ok {
			w.Missing = m
			return 0
		}
		perLitre, _ := least.AreaPerLitre()
		part = float64(area/perLitre) / litres
		w.Sure = w.Sure && least.Standing != Unverified
		if part > most {
			most, w.Binds = part, least
		}
		return part
	}
	followed := 0.0
	for _, m := range Materials() {
		led, after := c.Row.Led.Of(m), c.Row.Followed.Of(m)
		w.Part += add(m, c.Load.Of(m)-led-after, OnlyBath) + add(m, led, FirstOfTwo)
		followed += add(m, after, SecondOfTwo)
	}
	if w.Place != SecondOfTwo {
		followed = max(0, followed-1)
	}
	w.Part += followed
	if w.Missing != "" {
		w.Part = 0
	}
	return w
}

// place is where a bath stands, as far as its work shows.
func (p Product) place(c Contents) Place {
	_, single := p.tightest("", OnlyBath)
	switch {
	case c.Row.Second:
		return SecondOfTwo
	case c.Row.Led != Load{}, c.Row.Rotations > 0, c.Class == Fixer && c.Load == Load{} && !single && len(p.Capacity) > 0:
		return FirstOfTwo
	}
	return OnlyBath
}

// CapacityFor is the smallest published capacity of a bath for a material in the place
// where the bath stands; ok is false when there is none.
func (p Product) CapacityFor(c Contents, m Material) (least Capacity, ok bool) {
	return p.tightest(m, p.place(c))
}

// FirstOfTwo is the smallest published capacity for a material of a bath that is the first of two.
func (p Product) FirstOfTwo(m Material) (Capacity, bool) { return p.tightest(m, FirstOfTwo) }

// tightest is the smallest published capacity for a material in a place, which is the one that binds; any
// material when it is empty. A figure for the first of two baths says nothing about a bath that is alone;
// a bath in a row without a figure of its own is judged as if it were alone.
func (p Product) tightest(m Material, place Place) (Capacity, bool) {
	if least, ok := p.smallest(m, place != OnlyBath); ok || place == OnlyBath {
		return least, ok
	}
	return p.smallest(m, false)
}

func (p Product) smallest(m Material, inRow bool) (least Capacity, found bool) {
	for _, c := range p.Capacity {
		area, known := c.AreaPerLitre()
		if !known || m != "" && c.Material != m || inRow != (c.Place == FirstOfTwo) {
			continue
		}
		if held, _ := least.AreaPerLitre(); !found || area < held {
			least, found = c, true
		}
	}
	return least, found
}

// Left is what a bath still carries of one material.
type Left struct {
	Material Material
	Sheets   float64 // of 8x10 inches, or rolls
	Sure     bool    // no figure behind the count is unverified
	Alone    bool    // counted for a bath that is alone, though as the first of two it would carry another number
}

// Left is how many sheets a bath still carries in its place, of each paper or of film, whichever goes
// through; empty when no capacity is known.
func (p Product) Left(c Contents) []Left {
	w := p.Wear(c)
	if !w.Known() {
		return nil
	}
	var papers, film []Left
	for _, m := range Materials() {
		least, ok := p.tightest(m, w.Place)
		if !ok {
			continue
		}
		perLitre, _ := least.AreaPerLitre()
		_, inRow := p.smallest(m, true)
		left := Left{Material: m, Sheets: float64(perLitre/EightByTen) * math.Max(0, 1-w.Part) * float64(c.Volume) / 1000,
			Sure: w.Sure && least.Standing != Unverified, Alone: w.Place == OnlyBath && inRow}
		if m == Film {
			film = append(film, left)
			continue
		}
		papers = append(papers, left)
	}
	if c.Load.Film > 0 && c.Load.Film == c.Load.Total() || len(papers) == 0 {
		return film
	}
	return papers
}
