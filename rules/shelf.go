package rules

import (
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

// mixUncertainty is the relative plus-or-minus of a strength that was worked out
// from poured volumes: 2 %, the reading of a graduate (common practice).
const mixUncertainty = 0.02

// Known is what the book of the shelf knows of the content of a tray, for the
// developing time. What is not known is left out.
type Known struct {
	// Made is the true strength and Aim what was meant, both as a share of the
	// concentrate or of the stock made from powder; zero when not known.
	Made, Aim chem.Strength
	// Spread is the relative plus-or-minus of Made by the graduates; zero when nobody said which.
	Spread float64
	// Use of the bath by area; its Slowing is the setting of the bath.
	Use chem.BathUse
	// Emergence of the image, now and when the bath was fresh.
	Emergence chem.Emergence
	// ClearingFresh and ClearingNow are the clearing time of a fixer when it was fresh and at
	// its last test, in the same film; zero when nobody has taken them.
	ClearingFresh, ClearingNow time.Duration
	// Limit is what binds the use of it.
	Limit Limit
}

// Limit is what binds the use of a bath, as its book said within the last minute.
// The zero Limit says that nothing is known.
type Limit struct {
	Verdict ledger.Verdict
	Tested  ledger.Tested
	// Name is of the limit, such as "life in an open tray", and Due when it runs out;
	// zero when that is no matter of the calendar. Words say how far it has run.
	Name, Words phrase.Sentence
	Due         time.Time
	// Mix is set where it is how the bath was mixed, which may be put right.
	Mix bool
	// Left is what the bath still carries by the smallest published capacities, of each
	// paper; empty when none is known.
	Left []ledger.Left
}

// VerdictAt is whether the bath may be used at a moment, empty when that is not known. A
// life that has run out since the verdict was given leaves no leave to pour.
func (l Limit) VerdictAt(now time.Time) ledger.Verdict {
	if l.Verdict == ledger.Pour && !l.Due.IsZero() && !now.Before(l.Due) {
		return ledger.TestFirst
	}
	return l.Verdict
}

// Trays is what the book of the shelf says of the trays of a room, by bath.
type Trays struct {
	// Filled are the contents of those that are not empty.
	Filled map[string]Portion
	// LastFill is the record that filled a tray last, also after it was emptied.
	LastFill map[string]uint64
	// SignedOff says that the session of the room has ended in that book, or that it has none.
	SignedOff bool
}

// portion is what stands in a bath: what the shelf says, else the entry of an older book
// that nobody has filled the tray after.
func (b *Board) portion(bath string) (Portion, bool) {
	if p, ok := b.Shelf.Filled[bath]; ok {
		return p, true
	}
	p, ok := b.Portions[bath]
	return p, ok && p.Record > b.Shelf.LastFill[bath]
}

// strength is how strong the bath is beside what its times are for. A table
// that does not say its dilution is taken to be for the one that was meant.
func (b Bath) strength(k Known) chem.BathStrength {
	nominal := b.Nominal
	if !nominal.Known() && k.Aim > 0 && k.Aim <= 1 {
		nominal = chem.Parts{Concentrate: 1, Water: 1/float64(k.Aim) - 1}
	}
	return chem.BathStrength{Nominal: nominal, Made: k.Made, Uncertainty: max(mixUncertainty, k.Spread), Published: b.Published}
}

// use is how tired the bath is, slowed as the place has set.
func (b Bath) use(k Known) chem.BathUse {
	k.Use.Slowing = b.Slowing
	return k.Use
}
