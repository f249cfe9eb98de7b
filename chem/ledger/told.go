package ledger

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Inside is a part of a sentence that tells quantities in the inside units and holds nothing
// that a person wrote.
type Inside string

// Told is a sentence whose quantities can be written anew in the units of a place. A name in
// it stays as it was written, also one like "500 mL bottle".
type Told struct {
	form  string
	parts []any
}

// tell makes a sentence as [fmt.Sprintf] does; parts may be sentences of their own.
func tell(form string, parts ...any) Told { return Told{form, parts} }

// String tells it in the inside units.
func (t Told) String() string { return t.By(func(s string) string { return s }) }

// By tells it as a place writes what is in the inside units.
func (t Told) By(local func(string) string) string {
	parts := slices.Clone(t.parts)
	for i, part := range parts {
		switch part := part.(type) {
		case Inside:
			parts[i] = local(string(part))
		case Told:
			parts[i] = part.By(local)
		case error:
			parts[i] = TellProblem(part, local)
		}
	}
	return fmt.Sprintf(t.form, parts...)
}

// measured is a problem that tells quantities.
type measured struct {
	Problem
	wrong, do Told
}

func (m measured) Unwrap() error { return m.Problem }

func wrongMeasure(sort error, wrong Told, do string) error {
	return wrongMeasures(sort, wrong, tell("%s", do))
}

func wrongMeasures(sort error, wrong, do Told) error {
	return measured{Problem{sort, wrong.String(), do.String()}, wrong, do}
}

// TellProblem gives the sentences of a [Problem] behind an error as a place writes what is in the inside units.
func TellProblem(err error, local func(string) string) string {
	var m measured
	if errors.As(err, &m) {
		return Problem{m.Sort, m.wrong.By(local), m.do.By(local)}.Error()
	}
	var p Problem
	if errors.As(err, &p) {
		return p.Error()
	}
	return err.Error()
}

// joined puts sentences in a row, or says what holds when there are none.
func joined(all []Told, otherwise string) Told {
	if len(all) == 0 {
		return tell("%s", otherwise)
	}
	parts := make([]any, len(all))
	for i, t := range all {
		parts[i] = t
	}
	return tell(strings.TrimSuffix(strings.Repeat("%s; ", len(all)), "; "), parts...)
}
