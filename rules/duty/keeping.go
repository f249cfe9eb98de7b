package duty

import "time"

// Keeping says how long samples of some quantities are kept at least, and which duty
// sets it. What no Keeping speaks of is kept for ever; so is every record of the book.
type Keeping struct {
	// Quantities are named as a configuration names them.
	Quantities []string
	For        Interval
	// Why says what asks for it, with its source.
	Why string
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
