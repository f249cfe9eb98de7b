package web

import (
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wetside/sensors/quantity"
)

// VolumeDimension is that of what is poured.
const VolumeDimension = quantity.LiquidVolume

// Form is one form with what was typed into it, if it comes back.
type Form struct {
	Typed
	// Wrong is the field to look at, and Open is set when the form comes back.
	Wrong string
	Open  bool
}

// Form is an empty form for an act, or the attempt at that act as it was typed.
func (f Figures) Form(act string, a Attempt) Form {
	out := Form{Typed: Typed{Act: act, Token: NewToken()}}
	if a.Problem != nil && a.Typed.Act == act {
		out.Typed, out.Wrong, out.Open = a.Typed, a.Problem.Field, true
	}
	return out
}

// Day reads a day of the past as its noon; an empty one, and today, mean now.
func (f *FormReader) Day() time.Time {
	text := f.Get(OnField())
	if text == "" || text == f.Now.In(f.Zone).Format(time.DateOnly) {
		return time.Time{}
	}
	t, err := time.ParseInLocation(time.DateOnly, text, f.Zone)
	if err != nil || t.After(f.Now) || f.Now.Sub(t) > 5*366*24*time.Hour {
		f.Unread(OnField(), err, "is not a past day: write it like 2026-01-15, or leave it empty for today.")
		return time.Time{}
	}
	return t.Add(12 * time.Hour)
}

// Lengths that a field may have, in characters.
const (
	LongestName = 60
	longestText = 200
)

// Typed is all that a person typed into a form, kept as it was to be shown again.
type Typed struct {
	Act, Alarm, Token, Who, Done string
	// More is everything that came, for the forms that are made of questions.
	More url.Values
}

// Problem is what is wrong with a form: the field, and one sentence.
type Problem struct{ Field, Sentence string }

func readTyped(v url.Values) Typed {
	return Typed{Act: v.Get("act"), Alarm: v.Get("alarm"), Token: v.Get("token"), Who: v.Get("who"), Done: v.Get("done"), More: v}
}

// FormReader turns what was typed into an act, and keeps the first problem.
type FormReader struct {
	Now     time.Time
	Zone    *time.Location
	Problem *Problem
	values  url.Values
}

// Reader reads what came of a form in the zone of the place.
func (f Figures) Reader(values url.Values) *FormReader {
	return &FormReader{Now: f.Now.Wall, Zone: f.Zone, values: values}
}

// Get is what was typed into a field, without blanks around.
func (f *FormReader) Get(field Field) string { return strings.TrimSpace(f.values.Get(field.Name)) }

// Fail keeps the first problem of a form: the field, and a sentence.
func (f *FormReader) Fail(field, form string, args ...any) {
	if f.Problem == nil {
		f.Problem = &Problem{field, fmt.Sprintf(form, args...)}
	}
}

// Missing notes that nothing was typed into a field that must be filled in.
func (f *FormReader) Missing(field Field) { f.Fail(field.Name, "Please fill in: %s", field.Label) }

// Unchosen notes that none of the answers to a question was chosen.
func (f *FormReader) Unchosen(field Field) { f.Fail(field.Name, "%s: choose one.", field.Label) }

// Who reads the name of whoever enters something.
func (f *FormReader) Who() string { return f.Name(WhoField(), true) }

// Name reads a short text, such as the name of a person.
func (f *FormReader) Name(field Field, needed bool) string { return f.text(field, LongestName, needed) }

// Line reads a text of one line.
func (f *FormReader) Line(field Field, needed bool) string { return f.text(field, longestText, needed) }

// text tidies a line of text in any script: inner blanks become single ones.
func (f *FormReader) text(field Field, most int, needed bool) string {
	text := strings.Join(strings.Fields(f.Get(field)), " ")
	switch {
	case text == "" && needed:
		f.Missing(field)
	case !utf8.ValidString(text) || strings.ContainsFunc(text, Unshowable):
		f.Fail(field.Name, "%s: some characters can't be displayed. Please type the text again.", field.Label)
	case utf8.RuneCountInString(text) > most:
		f.Fail(field.Name, "%s: %d characters are too many, please use at most %d.", field.Label, utf8.RuneCountInString(text), most)
	}
	return text
}

// Unshowable are control signs and the signs that turn the direction of a text;
// the joiners of emoji and of several scripts are fine.
func Unshowable(r rune) bool {
	const joiner, nonJoiner = '\u200d', '\u200c'
	return !unicode.IsGraphic(r) && r != joiner && r != nonJoiner && !unicode.In(r, unicode.Variation_Selector)
}

// Unread notes that what was typed into a field could not be read: with both readings of a number that has
// two, else with what it is not.
func (f *FormReader) Unread(field Field, err error, not string, args ...any) {
	if f.Get(field) == "" {
		f.Missing(field)
		return
	}
	if two := (*quantity.AmbiguousNumberError)(nil); errors.As(err, &two) && f.Problem == nil {
		f.Problem = &Problem{field.Name, two.Error()}
	}
	f.Fail(field.Name, "%s: %q %s", field.Label, Clip(f.Get(field)), fmt.Sprintf(not, args...))
}

// Clip shortens what is repeated in a sentence.
func Clip(text string) string {
	const most = 30
	runes := []rune(strings.ToValidUTF8(text, "?"))
	if len(runes) <= most {
		return string(runes)
	}
	return string(runes[:most]) + "…"
}
