package rules

import (
	"slices"
	"time"

	"wetside/rules/dated"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// Amendment is what every change of a row says: whose row it is, and from when on it
// holds. It takes the place of the earlier versions of the row; the rows of the
// configuration stay what all others are put upon.
type Amendment struct {
	Source  string `json:"source,omitempty"` // obligatory, but for a row that is taken off
	Edition string `json:"edition,omitempty"`
	// Effective is from when on it holds; zero is from its entry on.
	Effective time.Time `json:"effective,omitzero"`
	// Off takes the row off, for a reason.
	Off bool   `json:"off,omitempty"`
	Why string `json:"why,omitempty"`
}

// term is from when on the row holds, by its record.
func (a Amendment) term(record uint64, at time.Time) dated.Term {
	if !a.Effective.IsZero() {
		at = a.Effective
	}
	return dated.Term{Effective: at, Record: record}
}

// farthest is how many years from now a row may come into force (wetside's own rule).
const farthest = 20

func (a Amendment) check(now time.Time) error {
	for _, word := range []struct {
		what   phrase.Sentence
		text   string
		needed bool
	}{{phrase.Say("source"), a.Source, !a.Off}, {phrase.Say("edition"), a.Edition, false}, {phrase.Say("reason"), a.Why, a.Off}} {
		if err := checkWord(word.what, word.text, word.needed); err != nil {
			return err
		}
	}
	if a.Effective.After(now.AddDate(farthest, 0, 0)) || !a.Effective.IsZero() && a.Effective.Before(time.Date(1900, 1, 1, 0, 0, 0, 0,
		time.UTC)) {
		return phrase.Errorf("the start date is not plausible: check the year")
	}
	return nil
}

// Since is the day from which on it holds; zero from its entry on.
func (a Amendment) Since() (at time.Time, within time.Duration) { return a.Effective, wholeDay }

// since says from which day on, where that is not its entry.
func (a Amendment) since(zone *time.Location) phrase.Sentence {
	if a.Effective.IsZero() {
		return phrase.Sentence{}
	}
	return phrase.Say(" from %s on", a.Effective.In(zone).Format(time.DateOnly))
}

// entered is a change of a row that is on record.
type entered[A any] struct {
	record uint64
	at     time.Time
	act    A
}

func enteredWith[A any](entries []entered[A], d Done, act A) []entered[A] {
	return append(slices.Clone(entries), entered[A]{d.Record, d.At, act})
}

// backdatable is an act that says from when on it holds, and how exactly.
type backdatable interface {
	Since() (at time.Time, within time.Duration)
}

// wholeDay is how exact a date is.
const wholeDay = 24 * time.Hour

// DatedKinds lists the kinds of record that may hold from a moment before they were entered.
func DatedKinds() []string {
	kinds := slices.DeleteFunc(acts(), func(k record.Kind) bool {
		empty, err := k.Decode([]byte("{}"))
		_, says := empty.(backdatable)
		return err != nil || !says
	})
	return record.Names(kinds, func(record.Kind) bool { return true })
}

// Backdated is from when on a record of one of the [DatedKinds] says it holds, and whether
// that lies before its entry.
func Backdated(r record.Record) (since time.Time, late bool) {
	act, err := DecodeAct(r.Kind, r.Content)
	if err != nil {
		return time.Time{}, false
	}
	d, says := act.(backdatable)
	if !says {
		return time.Time{}, false
	}
	since, within := d.Since()
	return since, !since.IsZero() && r.At.Sub(since) > within
}
