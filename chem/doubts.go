package chem

import (
	"math"

	"wetside/sensors/quantity/phrase"
)

// Published rows have fitted coefficients from 0.035 to 0.118 per kelvin; below
// this one a row is odd enough to be checked against its source.
const (
	flattest = 0.040
	steepest = 0.125
	// offTheLine is how far a point may lie from the fitted line, in ln(time).
	offTheLine = 0.08
)

// fit is the least-squares line of ln(seconds) over °C above 20.
func (t Table) fit() (slope, offset float64) {
	var l line
	for _, p := range t.points {
		l.add(float64(p.At)-20, math.Log(p.Time.Seconds()))
	}
	slope, offset, _ = l.fit()
	return slope, offset
}

// Doubts are reasons to check a table against its source before it is relied on:
// a slope outside what is published elsewhere, a time that grows with warmth, or
// a point far from the others. They are sentences, for the person who types.
func (t Table) Doubts() []phrase.Sentence {
	if len(t.points) < 2 {
		return nil
	}
	var doubts []phrase.Sentence
	slope, offset := t.fit()
	if k := -slope; k < flattest || k > steepest {
		doubts = append(doubts, phrase.Say("the times change by %.1f %% per °C; published tables have %.0f to %.1f %%: check for a misprint",
			k*100, flattest*100, steepest*100))
	}
	for i, p := range t.points {
		if i > 0 && p.Time > t.points[i-1].Time {
			doubts = append(doubts, phrase.Say("%s is longer than %s although it is warmer", p, t.points[i-1]))
		}
		if off := math.Log(p.Time.Seconds()) - offset - slope*(float64(p.At)-20); math.Abs(off) > offTheLine {
			doubts = append(doubts, phrase.Say("%s lies %.0f %% off the line through the others", p, (math.Exp(off)-1)*100))
		}
	}
	return doubts
}
