// Package duty says how the dated tasks of a place stand: what is to be done how
// often, by whom, and what is overdue. The place sets the intervals; this package
// knows none of its own. It is pure: the time comes in as a value.
package duty

import (
	"strconv"
	"strings"
	"time"

	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// Duty is a task that comes again.
type Duty struct {
	ID    string   `json:"id"`
	Name  string   `json:"name"`
	Every Interval `json:"every"`
	// Owner is who sees to it: a person or an office.
	Owner string `json:"owner"`
	// Room is empty for a duty of the whole place.
	Room string `json:"room,omitempty"`
	// Why says what asks for it, with its source.
	Why string `json:"why"`
}

// Interval is a time by the calendar: so many months, then so many days. The zero
// Interval is none.
type Interval struct{ Months, Days int }

// ParseInterval reads an interval such as "7 days", "2 weeks", "14 months" or "1 year".
func ParseInterval(text string) (Interval, error) {
	number, unit, _ := strings.Cut(strings.TrimSpace(text), " ")
	n, err := strconv.Atoi(number)
	var i Interval
	switch unit := strings.TrimSuffix(strings.TrimSpace(unit), "s"); {
	case err != nil || n < 1 || n > 1200:
	case unit == "day":
		i.Days = n
	case unit == "week":
		i.Days = 7 * n
	case unit == "month":
		i.Months = n
	case unit == "year":
		i.Months = 12 * n
	}
	if i == (Interval{}) || i.Months > 1200 {
		return Interval{}, phrase.Errorf("%q is not an interval: expected a whole number of days, weeks, months or years, such as \"7 "+
			"days\" or \"14 months\"", text)
	}
	return i, nil
}

// String writes the interval as [ParseInterval] reads it.
func (i Interval) String() string { return i.Said().String() }

// MarshalText is [Interval.String], for the record book.
func (i Interval) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// UnmarshalText is [ParseInterval].
func (i *Interval) UnmarshalText(text []byte) (err error) {
	*i, err = ParseInterval(string(text))
	return err
}

func (i Interval) Said() phrase.Sentence {
	switch {
	case i.Months == 12:
		return phrase.Say("1 year")
	case i.Months != 0 && i.Months%12 == 0:
		return phrase.Say("%d years", i.Months/12)
	case i.Months == 1:
		return phrase.Say("1 month")
	case i.Months != 0:
		return phrase.Say("%d months", i.Months)
	case i.Days == 1:
		return phrase.Say("1 day")
	}
	return phrase.Say("%d days", i.Days)
}

// After is the end of the day on which the interval after t is over, in the zone of
// t. A month that has no such day ends on its last.
func (i Interval) After(t time.Time) time.Time {
	y, m, d := t.Date()
	last := time.Date(y, m+time.Month(i.Months)+1, 0, 0, 0, 0, 0, t.Location()).Day()
	return time.Date(y, m+time.Month(i.Months), min(d, last)+i.Days+1, 0, 0, 0, 0, t.Location())
}

// Kind is the kind of record of a duty that was done; its content is a [Note].
const Kind = "duty done"

// Declared is the kind of record of a duty that was done.
func Declared() record.Kind {
	return record.Kind{Name: Kind, Decode: record.JSON[Note], Recalled: record.Never, Least: access.Volunteer, Judges: record.Duties}
}

// Note is what the book keeps of a duty that was done, beside who and when.
type Note struct {
	Duty     string `json:"duty"`
	Evidence string `json:"evidence"`
}

// Done is one time that a duty was done.
type Done struct {
	Duty string
	At   time.Time
	By   string
	// Evidence says what was found or done, in a person's words.
	Evidence string
	Record   uint64
}

// Standing is how a duty stands at a moment.
type Standing struct {
	Duty
	// Last is when it was done last, nil when that was never recorded.
	Last *Done
	// Due is the end of the day by which it is to be done; zero when it was never done
	// and so is due at once.
	Due time.Time
	// Overdue is set when that day has gone by, or when it was never done.
	Overdue bool
}

// Stand says how duties stand at a moment, from everything that was done, in any
// order; what was done after the moment does not count. Days are those of the zone of now.
func Stand(duties []Duty, done []Done, now time.Time) []Standing {
	list := make([]Standing, len(duties))
	for i, d := range duties {
		s := Standing{Duty: d}
		for n := range done {
			if x := &done[n]; x.Duty == d.ID && !x.At.After(now) && (s.Last == nil || x.At.After(s.Last.At)) {
				s.Last = x
			}
		}
		s.Overdue = true
		if s.Last != nil {
			s.Due = d.Every.After(s.Last.At.In(now.Location()))
			s.Overdue = !now.Before(s.Due)
		}
		list[i] = s
	}
	return list
}

// Overdue counts the duties that are overdue.
func Overdue(list []Standing) int {
	n := 0
	for _, s := range list {
		if s.Overdue {
			n++
		}
	}
	return n
}

// Keeping says how long samples of some quantities are kept at least, and which duty
// sets it. What no Keeping speaks of is kept for ever; so is every record of the book.
type Keeping struct {
	// Quantities are named as a configuration names them.
	Quantities []string `json:"quantities"`
	For        Interval `json:"for"`
	// Why says what asks for it, with its source.
	Why string `json:"why"`
}

// KeptUntil gives the first UTC day that must still be kept at a moment; what is older
// may be deleted.
func (k Keeping) KeptUntil(now time.Time) time.Time {
	// Months differ in length, so the way back begins some days too early.
	y, m, d := now.UTC().Date()
	day := time.Date(y, m-time.Month(k.For.Months), d-k.For.Days-7, 0, 0, 0, 0, time.UTC)
	for !k.For.After(day).After(now) {
		day = day.AddDate(0, 0, 1)
	}
	return day
}

// ExposureUS is how long a record of breathing exposure is kept at least where the
// limits of the United States are used. Source: 29 CFR 1910.1020(d)(1)(ii), as given by
// the University of Iowa, records.fo.uiowa.edu/records/employee-exposure-records. A
// value below what a sensor detects is such a record too: OSHA, letter of interpretation
// of 1 April 1999. Whether readings of a fixed probe are, they leave open.
func ExposureUS() Interval { return Interval{Months: 30 * 12} }
