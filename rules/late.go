package rules

import (
	"slices"
	"time"

	"wetside/rules/record"
)

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
