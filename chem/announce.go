package chem

import (
	"math"
	"slices"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Announced is what has been told to the people at a tray. It is a value: telling
// gives a new one. The zero Announced has told nothing.
type Announced struct {
	told []announcement
}

type announcement struct {
	at time.Duration
	r  Recommendation
}

// keptAnnouncements is enough for every print that can still be in a tray.
const keptAnnouncements = 16

// Consider takes the newest recommendation at a moment of monotonic time. It is
// announced when the time has changed by more than a share (such as 0.1) of the
// one told before, or when a time becomes a refusal, a refusal a time, or the
// refusal has another reason.
func (a Announced) Consider(r Recommendation, at time.Duration, share float64) (next Announced, tell bool) {
	if len(a.told) > 0 && !worthTelling(a.told[len(a.told)-1].r, r, share) {
		return a, false
	}
	told := append(slices.Clone(a.told), announcement{at: at, r: r})
	if extra := len(told) - keptAnnouncements; extra > 0 {
		told = told[extra:]
	}
	return Announced{told: told}, true
}

func worthTelling(before, now Recommendation, share float64) bool {
	was, hadTime := before.Time()
	is, hasTime := now.Time()
	if !hadTime || !hasTime {
		return hadTime != hasTime || withoutFigures(before.Refusal().String()) != withoutFigures(now.Refusal().String())
	}
	return math.Abs(float64(is-was)) > share*float64(was)
}

// withoutFigures keeps a refusal the same while only its figures move.
func withoutFigures(reason string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '.' || r == '-' {
			return -1
		}
		return r
	}, reason)
}

// Now is what was told last.
func (a Announced) Now() Recommendation {
	if len(a.told) == 0 {
		return Refused(phrase.Say("nothing has been announced yet"))
	}
	return a.told[len(a.told)-1].r
}

// ForPrintStarted is what holds for a print that went into the tray at a moment:
// a new time applies only to prints started after it was told.
func (a Announced) ForPrintStarted(at time.Duration) Recommendation {
	for _, told := range slices.Backward(a.told) {
		if told.at <= at {
			return told.r
		}
	}
	return Refused(phrase.Say("nothing had been announced when this print was started"))
}
