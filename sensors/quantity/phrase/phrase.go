// Package phrase makes sentences that every place reads in its own units. A sentence keeps its
// parts: a quantity stays a quantity until the place that reads the sentence is known. Read by
// itself, a sentence is in the inside units, as records hold it.
package phrase

import (
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"wetside/sensors/quantity"
)

// Place writes figures as people of one place read them.
type Place interface {
	// Figure writes a quantity in the units of the place.
	Figure(f quantity.Figure) string
	// Sign puts the signs of the place into a number that is written with a point and a hyphen.
	Sign(number string) string
}

// Inside writes figures in the inside units and with a point.
type Inside struct{}

// Figure is the quantity in its inside unit.
func (Inside) Figure(f quantity.Figure) string { return f.String() }

func (Inside) Sign(number string) string { return number }

// Spoken is a part with words of its own, such as a state that is also a key of records.
type Spoken interface{ Said() Sentence }

// Sentence is what a person reads. The zero value says nothing. Two sentences are compared by
// their [Sentence.String].
type Sentence struct {
	form  string
	parts []any
}

// Say makes a sentence as [fmt.Sprintf] does. A [quantity.Figure] is written in the units of the
// place, a number with its decimal sign; sentences, errors and [Spoken] parts as their own parts
// say. A text stays as it was written, also a name like "500 mL bottle".
func Say(form string, parts ...any) Sentence { return Sentence{form: form, parts: parts} }

// Plain is what somebody wrote, or what was read back from the record book: the same everywhere.
func Plain(text string) Sentence {
	if strings.Contains(text, "%") {
		return Say("%s", text)
	}
	return Sentence{form: text}
}

// Join puts sentences, or other parts, in a row.
func Join[T any](between string, all ...T) Sentence {
	if len(all) == 0 {
		return Sentence{}
	}
	parts := make([]any, len(all))
	for i, s := range all {
		parts[i] = s
	}
	return Say(strings.Join(slices.Repeat([]string{"%s"}, len(all)), strings.ReplaceAll(between, "%", "%%")), parts...)
}

// Said is the sentence itself.
func (s Sentence) Said() Sentence { return s }

// IsZero says that a sentence says nothing.
func (s Sentence) IsZero() bool { return s.form == "" }

// String gives the sentence in the inside units.
func (s Sentence) String() string { return s.By(Inside{}) }

// By gives the sentence as people of a place read it.
func (s Sentence) By(p Place) string {
	switch {
	case len(s.parts) == 0 && !strings.Contains(s.form, "%"):
		return s.form
	case len(s.parts) == 1 && s.form == "%s":
		if text, plain := s.parts[0].(string); plain {
			return text
		}
	}
	parts := make([]any, len(s.parts))
	for i, part := range s.parts {
		parts[i] = written(part, p)
	}
	return fmt.Sprintf(s.form, parts...)
}

func written(part any, p Place) any {
	switch part := part.(type) {
	case quantity.Figure:
		return p.Figure(part)
	case quantity.Decimal:
		return p.Sign(string(part))
	case Sentence:
		return part.By(p)
	case Spoken:
		return part.Said().By(p)
	case error:
		return Error(part, p)
	case fmt.Stringer:
		return part
	}
	switch v := reflect.ValueOf(part); v.Kind() {
	case reflect.Float64, reflect.Int:
		return signed{part, p}
	}
	return part
}

// signed is a number that is written with the signs of a place.
type signed struct {
	value any
	place Place
}

// Format writes the number as package fmt does.
func (s signed) Format(f fmt.State, verb rune) {
	_, _ = io.WriteString(f, s.place.Sign(fmt.Sprintf(fmt.FormatString(f, verb), s.value))) // what is wrong with a writer of fmt is for fmt
}

// MarshalText gives the sentence in the inside units, as it goes into records.
func (s Sentence) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads a sentence back as it was written.
func (s *Sentence) UnmarshalText(text []byte) error {
	*s = Plain(string(text))
	return nil
}

// MarshalBinary gives the same for a file that a program keeps.
func (s Sentence) MarshalBinary() ([]byte, error) { return s.MarshalText() }

// UnmarshalBinary is [Sentence.UnmarshalText].
func (s *Sentence) UnmarshalBinary(text []byte) error { return s.UnmarshalText(text) }

// Err makes an error of a sentence, such as one with a name in it that stays as it was written.
func (s Sentence) Err() error { return &failure{Sentence: s} }

type failure struct {
	Sentence
	causes []error
}

// Errorf makes an error of a sentence. As with [fmt.Errorf], a part at a %w is its cause.
func Errorf(form string, parts ...any) error {
	f := &failure{Sentence: Say(strings.ReplaceAll(form, "%w", "%v"), parts...)}
	if strings.Contains(form, "%w") {
		for _, part := range parts {
			if err, is := part.(error); is {
				f.causes = append(f.causes, err)
			}
		}
	}
	return f
}

// Error is the sentence in the inside units.
func (f *failure) Error() string { return f.String() }

func (f *failure) Unwrap() []error { return f.causes }

// Error gives an error as people of a place read it; one that was not made of a sentence as it is.
func Error(err error, p Place) string {
	var sentence interface{ By(Place) string }
	if own, is := err.(interface{ By(Place) string }); is {
		return own.By(p)
	}
	if errors.As(err, &sentence) && sentence.(error).Error() == err.Error() {
		return sentence.By(p)
	}
	if many, is := err.(interface{ Unwrap() []error }); is {
		lines := make([]string, 0, len(many.Unwrap()))
		for _, one := range many.Unwrap() {
			lines = append(lines, Error(one, p))
		}
		if err.Error() == errors.Join(many.Unwrap()...).Error() {
			return strings.Join(lines, "\n")
		}
	}
	return err.Error()
}

// Listed writes what may be chosen from: "a, b, c".
func Listed[T any](choices []T) string {
	words := make([]string, len(choices))
	for i, c := range choices {
		words[i] = fmt.Sprint(c)
	}
	return strings.Join(words, ", ")
}

// Capital makes the first letter of a text a capital.
func Capital(text string) string {
	_, first := utf8.DecodeRuneInString(text)
	return strings.ToUpper(text[:first]) + text[first:]
}

// Cell is a text in a cell of a table: a spreadsheet must not take the text for a formula.
// The wide signs are those that some spreadsheets take for the narrow ones.
func Cell(text string) string {
	first, _ := utf8.DecodeRuneInString(text)
	if strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + text
	}
	return text
}

var (
	beforeUnit = regexp.MustCompile(`(\d) (°|%|s\b|h\b|min\b|g\b|L\b|mL\b|K\b|Pa\b|mg/L|m³|m/s|cfm|ppm|fl oz|parts?\b|` +
		`(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b)`)
	beforeMinutes = regexp.MustCompile(`(\d\x{a0}h) (\d+\x{a0}min)`)
)

// Together keeps a number and its unit on one line, hours with their minutes, and a day with its month.
func Together(text string) string {
	return beforeMinutes.ReplaceAllString(beforeUnit.ReplaceAllString(text, "$1\u00a0$2"), "$1\u00a0$2")
}
