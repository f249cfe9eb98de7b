// Package dated keeps rows of which each holds from a day on, until a later version of it
// takes its place: what is asked of the air, and limits for what is breathed.
package dated

import "time"

// Term is when a row holds, and what set it.
type Term struct {
	Effective time.Time `json:"effective,omitzero"` // in force from here on; zero: always was
	Until     time.Time `json:"until,omitzero"`     // another row takes its place from here on; zero: none does
	// Record is the number of the entry in the book that set the row; zero for one of the configuration.
	Record uint64 `json:"record,omitempty"`
}

// Holds says whether a moment lies within the term.
func (t Term) Holds(at time.Time) bool { return !t.Effective.After(at) && !t.Over(at) }

// Over says whether the term has ended at a moment.
func (t Term) Over(at time.Time) bool { return !t.Until.IsZero() && !t.Until.After(at) }

// When is the term itself, of a row that has it among its fields.
func (t *Term) When() *Term { return t }

// Row is a row of a table: its term, and whether another row is a version of it.
type Row[R any] interface {
	*R
	When() *Term
	SameAs(R) bool
}

// Amend puts a row in the place of its earlier versions from when it is in force on; one that is
// off ends them, and stays among the rows to end what is put before it later. A version
// that is to come takes its turn then. The rows passed in are not changed.
func Amend[R any, P Row[R]](rows []R, row R) []R {
	var out []R
	own := P(&row).When()
	from := own.Effective
	for _, r := range rows {
		if P(&r).SameAs(row) {
			t := P(&r).When()
			switch {
			case t.Effective.After(from):
				if own.Until.IsZero() || t.Effective.Before(own.Until) {
					own.Until = t.Effective
				}
			case t.Until.IsZero() || t.Until.After(from):
				if !t.Effective.Before(from) {
					continue // it would never hold
				}
				t.Until = from
			}
		}
		out = append(out, r)
	}
	return append(out, row)
}
