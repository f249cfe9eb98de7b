// Package phrase makes sentences that every place can tell in its own language and units.
// A sentence keeps its English form and its parts; the form is its key in a catalogue of
// another language. Made in English and in the inside units, it reads so by itself.
package phrase

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Teller tells as one place does.
type Teller interface {
	// Sprintf is [fmt.Sprintf], with the form that the place's language has for an English one.
	Sprintf(form string, parts ...any) string
	// Quantities gives a text with the quantities in it, told in the inside units, as the place reads them.
	Quantities(text string) string
	// Date writes a time by a layout of package time, its day and month in the place's language.
	Date(t time.Time, layout string) string
}

// Quantity is a part of a sentence that tells quantities in the inside units and holds nothing
// that a person wrote.
type Quantity string

// Rounded is a part that tells a number in fewer digits than it has, in a way of its own.
type Rounded struct {
	Text  string
	Value float64
}

// Between these two signs, which nobody types, stands behind a rounded number of a [Measured]
// sentence what it was, so that a place rounds it but once. They are for [Teller.Quantities] alone.
const (
	ExactFrom = "\u2063"
	ExactTo   = "\u2064"
)

// Date is a part that tells a time, in the zone that it has.
type Date struct {
	At     time.Time
	Layout string
}

// Spoken is a part with words of its own, such as a state that is also a key of records.
type Spoken interface{ Said() Sentence }

// Sentence is what a person reads. The zero value says nothing. Two sentences are compared by
// their [Sentence.String].
type Sentence struct {
	form     string
	parts    []any
	measured bool
}

// Say makes a sentence as [fmt.Sprintf] does. Parts may be sentences, errors, [Spoken], a [Date],
// a [Rounded] number and a [Quantity]: each is told as its place tells it. A name in it stays as it was written, also one like
// "500 mL bottle".
func Say(form string, parts ...any) Sentence { return Sentence{form: form, parts: parts} }

// Measured makes a sentence all of which is in the inside units: a place tells every quantity
// in it anew, but for what is quoted.
func Measured(form string, parts ...any) Sentence { return Sentence{form, parts, true} }

// Plain is what somebody wrote, or what was read back from the record book: told everywhere as it is.
func Plain(text string) Sentence {
	if text == "" {
		return Sentence{}
	}
	return Say("%s", text)
}

// Join puts sentences in a row.
func Join(between string, all ...Sentence) Sentence {
	if len(all) == 0 {
		return Sentence{}
	}
	parts := make([]any, len(all))
	for i, s := range all {
		parts[i] = s
	}
	return Say(strings.Join(slices.Repeat([]string{"%s"}, len(all)), strings.ReplaceAll(between, "%", "%%")), parts...)
}

// IsZero says that a sentence says nothing.
func (s Sentence) IsZero() bool { return s.form == "" }

// String tells it in English and in the inside units.
func (s Sentence) String() string { return s.By(InEnglish(func(text string) string { return text })) }

// By tells it as a place does.
func (s Sentence) By(t Teller) string {
	if s.IsZero() {
		return ""
	}
	inner, within := t.(words)
	if s.measured && !within {
		inner = words{t}
	}
	parts := make([]any, len(s.parts))
	for i, part := range s.parts {
		if s.measured || within {
			parts[i] = tellPart(exactly(part), inner)
		} else {
			parts[i] = tellPart(part, t)
		}
	}
	text := t.Sprintf(s.form, parts...)
	if s.measured && !within {
		return withoutExact.ReplaceAllString(t.Quantities(text), "")
	}
	return text
}

var withoutExact = regexp.MustCompile(ExactFrom + "[^" + ExactTo + "]*" + ExactTo)

// exactly has a number tell what it is behind what it is rounded to.
func exactly(part any) any {
	if v, is := part.(float64); is {
		return exact(v)
	}
	return part
}

// exact is a number that writes behind its digits what they leave out.
type exact float64

// Format writes it as package fmt does.
func (e exact) Format(f fmt.State, verb rune) {
	writeExact(f, fmt.Sprintf(fmt.FormatString(f, verb), float64(e)), float64(e))
}

func writeExact(w io.Writer, text string, value float64) {
	if told, err := strconv.ParseFloat(text, 64); err == nil && told != value {
		text += ExactFrom + strconv.FormatFloat(value, 'g', -1, 64) + ExactTo
	}
	_, _ = io.WriteString(w, text) // what is wrong with a writer of fmt is for fmt
}

// Format writes it with what it was behind it, where it stands in a [Measured] sentence.
func (r roundedExact) Format(f fmt.State, _ rune) { writeExact(f, r.Text, r.Value) }

type roundedExact Rounded

func tellPart(part any, t Teller) any {
	switch part := part.(type) {
	case Quantity:
		return t.Quantities(string(part))
	case Rounded:
		if _, within := t.(words); within {
			return roundedExact(part)
		}
		return part.Text
	case Date:
		return t.Date(part.At, part.Layout)
	case Sentence:
		return part.By(t)
	case Spoken:
		return part.Said().By(t)
	case error:
		return Error(part, t)
	}
	return part
}

// MarshalText tells it in English, as it goes into records.
func (s Sentence) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads a sentence back as the words that it was told in.
func (s *Sentence) UnmarshalText(text []byte) error {
	*s = Plain(string(text))
	return nil
}

// InEnglish is a [Teller] of English forms that writes quantities by a function of its own.
type InEnglish func(text string) string

// Sprintf is [fmt.Sprintf].
func (InEnglish) Sprintf(form string, parts ...any) string { return fmt.Sprintf(form, parts...) }

// Quantities writes them by the function.
func (e InEnglish) Quantities(text string) string { return e(text) }

// Date writes it with English names.
func (InEnglish) Date(t time.Time, layout string) string { return t.Format(layout) }

// words tells in the language of a place and in the inside units: what stands in a measured
// sentence is converted once, with all of it.
type words struct{ Teller }

func (words) Quantities(text string) string { return text }

// Err makes an error of a sentence, such as one with a name in it that stays as it was written.
func (s Sentence) Err() error { return &failure{Sentence: s} }

// failure is an error that is told as a sentence.
type failure struct {
	Sentence
	causes []error
}

// Errorf makes an error that is told as a [Measured] sentence. As with [fmt.Errorf], a part
// at a %w is its cause.
func Errorf(form string, parts ...any) error {
	f := &failure{Sentence: Measured(strings.ReplaceAll(form, "%w", "%v"), parts...)}
	if strings.Contains(form, "%w") {
		for _, part := range parts {
			if err, is := part.(error); is {
				f.causes = append(f.causes, err)
			}
		}
	}
	return f
}

// Error tells it in English and in the inside units.
func (f *failure) Error() string { return f.String() }

// Unwrap gives its causes.
func (f *failure) Unwrap() []error { return f.causes }

// Error tells an error as a place does; one that was not made here is told as it is, with
// its quantities in the units of the place.
func Error(err error, t Teller) string {
	var told interface{ By(Teller) string }
	if errors.As(err, &told) && told.(error).Error() == err.Error() {
		return told.By(t)
	}
	if many, is := err.(interface{ Unwrap() []error }); is {
		told := make([]string, 0, len(many.Unwrap()))
		for _, one := range many.Unwrap() {
			told = append(told, Error(one, t))
		}
		if err.Error() == errors.Join(many.Unwrap()...).Error() {
			return strings.Join(told, "\n")
		}
	}
	return t.Quantities(err.Error())
}

// Capital makes the first letter of a text a capital.
func Capital(text string) string {
	_, first := utf8.DecodeRuneInString(text)
	return strings.ToUpper(text[:first]) + text[first:]
}
