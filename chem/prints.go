package chem

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// PrintWindow is the range of useful development times of a print: from the
// shortest time that gives full black to twice that time, which is already
// outside (Clerc, Photography: Theory and Practice, s. 556-557: full black at
// 140 s, still clean at 200 s, stained at 280 s).
type PrintWindow struct {
	// FullBlack is the shortest time for full black.
	FullBlack time.Duration
}

// Below is the first time that is too long.
func (w PrintWindow) Below() time.Duration { return 2 * w.FullBlack }

// PullVerdict says what a development time does to a print.
type PullVerdict uint8

// The verdicts. The zero verdict is none: the window is not known.
const (
	PulledEarly PullVerdict = iota + 1
	InWindow
	TooLong
)

// Judge places a development time in the window.
func (w PrintWindow) Judge(t time.Duration) PullVerdict {
	switch {
	case w.FullBlack <= 0 || t <= 0:
		return 0
	case t < w.FullBlack:
		return PulledEarly
	case t < w.Below():
		return InWindow
	}
	return TooLong
}

// Sentence says the verdict and what to do.
func (w PrintWindow) Sentence(t time.Duration) phrase.Sentence {
	switch w.Judge(t) {
	case PulledEarly:
		return phrase.Say("pulled early: full black needs %s; a longer time cures it, more light on the paper does not",
			MinutesSeconds(w.FullBlack))
	case InWindow:
		return phrase.Say("within the useful range, %s to less than %s", MinutesSeconds(w.FullBlack), MinutesSeconds(w.Below()))
	case TooLong:
		return phrase.Say("too long: from %s on a stain is to be expected", MinutesSeconds(w.Below()))
	}
	return phrase.Say("the time for full black is not known: make a black test strip")
}
