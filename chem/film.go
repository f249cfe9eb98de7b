package chem

import (
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Reuse is how the time grows when one developer is used for film after film.
// Its figures are settings: those commonly told were not found in print.
type Reuse struct {
	// Added is the share of the first time that each step adds, such as 0.1.
	Added float64
	// Every is after how many films a step comes: 1 for each film.
	Every int
	// Most is how many films the volume carries.
	Most int
	// Source is shown beside the time.
	Source string
}

// Factor is the time for the nth film over that for the first. A film beyond the
// limit is a [Refusal].
func (r Reuse) Factor(nth int) (float64, error) {
	if !(r.Added >= 0 && r.Added <= 1) || r.Every < 1 || r.Most < 1 || strings.TrimSpace(r.Source) == "" {
		return 0, phrase.Errorf("a rule for re-use needs its added share (0 to 1), its step, its limit and its source")
	}
	if nth < 1 {
		return 0, phrase.Errorf("film number %d: count from 1", nth)
	}
	if nth > r.Most {
		return 0, Refusal{phrase.Say("film %d is one too many: the developer carries %d (%s); mix fresh", nth, r.Most, r.Source)}
	}
	return 1 + r.Added*float64((nth-1)/r.Every), nil
}

// Replenisher is how much to add for each roll, a roll being 80 square inches.
type Replenisher struct {
	// PerRoll is the rate.
	PerRoll quantity.Millilitre
	// Source is shown beside the volume.
	Source string
}

// Replenishment is what to do after a number of rolls.
type Replenishment struct {
	Add   quantity.Millilitre
	Steps []phrase.Sentence
}

// After is the replenishment for an area of film: take out, add, top up, as a
// tank is replenished (US Army course SS0514).
func (r Replenisher) After(area quantity.SquareMetre) (Replenishment, error) {
	if !(r.PerRoll > 0) || !(area > 0 && finite(float64(area))) {
		return Replenishment{}, phrase.Errorf("a replenishment needs a rate and an area of film, both more than zero")
	}
	add := r.PerRoll * quantity.Millilitre(area/FilmRoll().Area)
	return Replenishment{Add: add, Steps: []phrase.Sentence{
		phrase.Say("take some of the used developer out of the bottle and keep it"),
		phrase.Say("add %s of replenisher", millilitres(add)),
		phrase.Say("fill up to the mark with the developer that was kept"),
		phrase.Say("discard the rest of it"),
	}}, nil
}

// Idle is what makes up for days without use: a share of the volume for so many
// days (US Army course SS0514: 3 % for 2 days, a colour process).
type Idle struct {
	Share quantity.Percent
	Days  float64
}

// Add is the volume of replenisher for a tank that stood idle.
func (i Idle) Add(tank quantity.Millilitre, days float64) (quantity.Millilitre, error) {
	if !(i.Share > 0 && i.Share <= 100) || !(i.Days > 0) || !(tank > 0) || !(days >= 0) {
		return 0, phrase.Errorf("idle replenishment needs a share, its days, a tank volume and the days that passed")
	}
	return tank * quantity.Millilitre(float64(i.Share)/100*days/i.Days), nil
}

// Machine is a roller or cine processor.
type Machine struct {
	// Path is the length of film in the developer, Dwell how long it is there.
	Path  quantity.Metre
	Dwell time.Duration
	// PerMetre is the replenisher for a metre of film.
	PerMetre quantity.Millilitre
}

// PerMinute is the replenisher rate in millilitres per minute.
func (m Machine) PerMinute() (quantity.Millilitre, error) {
	if !(m.Path > 0) || m.Dwell <= 0 || !(m.PerMetre > 0) {
		return 0, phrase.Errorf("a machine needs its path, dwell time and rate, each more than zero")
	}
	metresPerMinute := float64(m.Path) / m.Dwell.Minutes()
	return m.PerMetre * quantity.Millilitre(metresPerMinute), nil
}
