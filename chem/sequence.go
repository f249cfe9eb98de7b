package chem

import (
	"cmp"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Paper is what a print is made on, as far as the baths behind the developer ask.
type Paper uint8

// The papers. The zero Paper is none.
const (
	ResinCoated Paper = iota + 1
	FibreSingleWeight
	FibreDoubleWeight
)

// Stage is a bath or a wash behind the developer.
type Stage uint8

// The stages in their order. The zero Stage is the developer itself.
const (
	Developing Stage = iota
	Stopping
	FirstFixing
	SecondFixing
	Rinsing
	WashAiding
	Washing
)

func (s Stage) Said() phrase.Sentence {
	return phrase.Plain(cmp.Or(map[Stage]string{Stopping: "stop bath", FirstFixing: "first fixer", SecondFixing: "second fixer",
		Rinsing: "rinse", WashAiding: "wash aid", Washing: "wash"}[s], "developer"))
}

// StageTime is how long a print stays in a stage, with who says so; never both a time and a refusal.
type StageTime struct {
	Stage    Stage
	Time     time.Duration
	Most     time.Duration // longer harms the print; zero when nobody says so
	Source   phrase.Sentence
	Standing Standing
	Causes   []phrase.Sentence // what changed the published time
	Refusal  phrase.Sentence   // why there is no time
}

// Way is how prints are processed tonight.
type Way struct {
	Paper    Paper
	TwoBaths bool // two fixing baths in a row
	WashAid  bool
	// FixerShare is the share of concentrate in the fixer, 0.2 for 1+4; zero when not known.
	FixerShare Strength
}

// rapidFixer is the share of concentrate, 1+4, to which the fixing time of resin-coated paper belongs.
const rapidFixer Strength = 0.2

// WeakFixer is the weaker of the two dilutions that are usual for paper, 1+9.
const WeakFixer Strength = 0.1

// PublishedTimes are the times at 20 °C. A place puts its own in their stead by [Line.Own].
func PublishedTimes(w Way) []StageTime {
	if w.Paper == ResinCoated {
		return w.resinCoated()
	}
	return w.fibreBased()
}

func (w Way) resinCoated() []StageTime {
	fix := StageTime{Stage: FirstFixing, Time: 30 * time.Second, Most: 2 * time.Minute, Standing: Unverified,
		Source: phrase.Say("from memory, rapid fixer: 0:30 at 1+4, 1:00 at 1+9; " +
			"at most 2 minutes: analogue-photography.org, fixing prints (secondary)")}
	if w.FixerShare > 0 && w.FixerShare < rapidFixer {
		fix.Time = fromSeconds(fix.Time.Seconds() * float64(rapidFixer/w.FixerShare))
	}
	return w.withSecond([]StageTime{
		{Stage: Stopping, Time: 10 * time.Second, Source: phrase.Say("from memory; US Navy, NAVEDTRA 14209, p. 291, has about 5 seconds"),
			Standing: Unverified}, fix,
		{Stage: Washing, Time: 2 * time.Minute, Source: phrase.Say("from memory"), Standing: Unverified},
	})
}

func (w Way) fibreBased() []StageTime {
	prints := phrase.Say("analogue-photography.org, fixing prints")
	fix := StageTime{Stage: FirstFixing, Time: 5 * time.Minute, Most: 10 * time.Minute, Source: prints, Standing: Secondary}
	if w.TwoBaths {
		fix.Time, fix.Most = 3*time.Minute, 5*time.Minute
	}
	times := []StageTime{{Stage: Stopping, Time: time.Minute, Source: phrase.Say("US Army course SS0509, p. 45"), Standing: Verified}, fix}
	if !w.WashAid {
		return w.withSecond(append(times, StageTime{Stage: Washing, Time: time.Hour, Source: phrase.Say("from memory"), Standing: Unverified}))
	}
	wash := StageTime{Stage: Washing, Time: 20 * time.Minute, Standing: Secondary,
		Source: phrase.Say("a photographers' forum: 10 to 20 minutes after wash aid (apug.org, post 75985)")}
	if w.Paper == FibreSingleWeight {
		wash.Time = 10 * time.Minute
	}
	return w.withSecond(append(times,
		StageTime{Stage: Rinsing, Time: 5 * time.Minute, Source: phrase.Say("darkside.photography, print washing"), Standing: Secondary},
		StageTime{Stage: WashAiding, Time: 3 * time.Minute,
			Source: phrase.Say("a photographers' forum: 2 to 3 minutes (apug.org, post 75985)"), Standing: Secondary}, wash))
}

// withSecond puts the second fixer behind the first, for as long (US Navy, NAVEDTRA 14209: equal time in each).
func (w Way) withSecond(times []StageTime) []StageTime {
	if !w.TwoBaths {
		return times
	}
	var all []StageTime
	for _, t := range times {
		all = append(all, t)
		if t.Stage == FirstFixing {
			t.Stage = SecondFixing
			all = append(all, t)
		}
	}
	return all
}

// Standing says how far a figure can be trusted.
type Standing string

// The standings, the most trusted first.
const (
	Verified       Standing = "verified"
	Secondary      Standing = "secondary"
	CommonPractice Standing = "common practice"
	Unverified     Standing = "unverified"
	OfThePlace     Standing = "of this place"
)

func (s Standing) Said() phrase.Sentence { return phrase.Plain(string(s)) }
