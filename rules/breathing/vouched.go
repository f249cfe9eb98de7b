package breathing

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// Vouched is a statement that nobody who is in a room during its classes is exposed to the
// gases of the room in the rest of the day. An average over 8 h divides by 8 h however long
// the class was (29 CFR 1910.1000(d)(1)(i)), so the rest has to be known: it counts as zero
// only where somebody has documented that there was no exposure (common practice; EN 689 and
// the OSHA Technical Manual, from memory). The zero Vouched is none.
type Vouched struct {
	By     string    `json:"by"`
	On     time.Time `json:"on"`
	Record uint64    `json:"record"`
	// Effective is from when on the statement covers classes.
	Effective time.Time `json:"effective"`
	// Off withdraws the statements before it.
	Off bool `json:"off,omitempty"`
	// Why is what the statement rests on, or why it was withdrawn.
	Why string `json:"why"`
}

// VouchedAt is the statement that covers a class that began at a moment: the one entered
// last among those in force then.
func VouchedAt(entries []Vouched, begun time.Time) Vouched {
	var found Vouched
	for _, v := range entries {
		if !v.Effective.After(begun) {
			found = v
		}
	}
	return found
}

// Holds says whether anybody vouches.
func (v Vouched) Holds() bool { return v.By != "" && !v.Off }

// Said names the statement.
func (v Vouched) Said() phrase.Sentence {
	return phrase.Say("statement of %s on %s that nobody was exposed outside the class", v.By, v.On.Format(time.DateOnly))
}

// before is a tape with a window without exposure before it.
func (v Vouched) before(t Tape, window time.Duration) (Tape, error) {
	var whole Tape
	if err := whole.Unexposed(window, v.By); err != nil {
		return Tape{}, err
	}
	whole.spans, whole.length = append(whole.spans, t.spans...), whole.length+t.length
	return whole, nil
}
