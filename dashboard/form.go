package dashboard

import (
	"errors"
	"net/url"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wetside/dashboard/words"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// actAcknowledge is the act of having seen to an alarm.
const actAcknowledge = "acknowledge"

// Lengths that a field may have, in characters.
const (
	longestName = 60
	longestText = 200
)

// mostParts bounds what is taken for a mixture.
const mostParts = 1000

// typed is all that a person typed into a form, kept as it was to be shown again.
type typed struct {
	Act, Bath, Alarm, Token, Version        string
	Batch, What, Concentrate, Water, Volume string
	Who, Where, Done                        string
	// More is everything that came, for the forms that are made of questions.
	More url.Values
}

// problem is what is wrong with a form: the field, and one sentence.
type problem struct{ Field, Sentence string }

func readTyped(v url.Values) typed {
	return typed{Act: v.Get("act"), Bath: v.Get("bath"), Alarm: v.Get("alarm"), Token: v.Get("token"), Version: v.Get("version"),
		Batch: v.Get("batch"), What: v.Get("what"), Concentrate: v.Get("concentrate"), Water: v.Get("water"), Volume: v.Get("volume"),
		Who: v.Get("who"), Where: v.Get("where"), Done: v.Get("done"), More: v}
}

// wheres are the places where the content of a tray may go.
func wheres() []string { return []string{"back to storage", "to waste", "discarded"} }

func (f figures) wheres() []choice {
	var out []choice
	for _, place := range wheres() {
		out = append(out, choice{Value: place, Text: f.words.Say("where." + strings.ReplaceAll(place, " ", "-"))})
	}
	return out
}

// formReader turns what was typed into an act, and keeps the first problem.
type formReader struct {
	words   words.Words
	volume  quantity.Unit // taken for a volume without a unit
	now     time.Time
	zone    *time.Location
	problem *problem
	// own begins the keys of what the fields of this form are called, where it is not "field.".
	own string
}

// reader reads a form in the units and the zone of the place.
func (f figures) reader() *formReader {
	return &formReader{words: f.words, volume: f.unit(volumeDimension), now: f.now.Wall, zone: f.zone}
}

// calling gives the reader the words of a form that calls its fields otherwise than "field.".
func (f *formReader) calling(own string) *formReader {
	f.own = own
	return f
}

func readFill(f *formReader, t typed) rules.FillTray {
	act := rules.FillTray{Bath: t.Bath, Batch: f.text("batch", t.Batch, longestName, true), What: f.text("what", t.What, longestText, true)}
	act.Concentrate, act.Water = readParts(f, t.Concentrate, t.Water)
	act.Volume = readMillilitres(f, t.Volume)
	return act
}

func (f *formReader) fail(field, key string, args ...any) {
	if f.problem == nil {
		f.problem = &problem{field, f.words.Say(key, args...)}
	}
}

// label is what a field is called in its form.
func (f *formReader) label(field string) string {
	if f.own != "" && f.words.Knows(f.own+field) {
		return f.words.Say(f.own + field)
	}
	return f.words.Say("field." + field)
}

// text tidies a line of text in any script: inner blanks become single ones.
func (f *formReader) text(field, raw string, most int, needed bool) string {
	text := strings.Join(strings.Fields(raw), " ")
	name := f.label(field)
	switch {
	case text == "" && needed:
		f.fail(field, "form.empty", name)
	case !utf8.ValidString(text) || strings.ContainsFunc(text, unshowable):
		f.fail(field, "form.unshowable", name)
	case utf8.RuneCountInString(text) > most:
		f.fail(field, "form.long", name, utf8.RuneCountInString(text), most)
	}
	return text
}

// unshowable are control signs and the signs that turn the direction of a text;
// the joiners of emoji and of several scripts are fine.
func unshowable(r rune) bool {
	const joiner, nonJoiner = '\u200d', '\u200c'
	return !unicode.IsGraphic(r) && r != joiner && r != nonJoiner && !unicode.In(r, unicode.Variation_Selector)
}

// readParts reads a mixture: both numbers or neither.
func readParts(f *formReader, concentrate, water string) (c, w float64) {
	if strings.TrimSpace(concentrate) == "" && strings.TrimSpace(water) == "" {
		return 0, 0
	}
	c = readNumber(f, "concentrate", concentrate)
	w = readNumber(f, "water", water)
	if f.problem == nil && c == 0 {
		f.fail("concentrate", "form.no-concentrate")
	}
	return c, w
}

func readNumber(f *formReader, field, text string) float64 {
	if strings.TrimSpace(text) == "" {
		f.fail(field, "form.both-parts")
		return 0
	}
	v, err := quantity.Number(text)
	if err != nil || v < 0 || v > mostParts {
		f.unread(field, err, "form.part", f.words.Say("field."+field), clip(text), mostParts)
		return 0
	}
	return v + 0 // a zero without a sign
}

// unread notes that something typed could not be read: with both readings where there are two, else
// in the words of the form.
func (f *formReader) unread(field string, err error, key string, args ...any) {
	if two := (*quantity.AmbiguousNumberError)(nil); errors.As(err, &two) && f.problem == nil {
		f.problem = &problem{field, two.Error()}
	}
	f.fail(field, key, args...)
}

// readMillilitres reads a volume; one without a unit is in the place's own.
func readMillilitres(f *formReader, text string) quantity.Millilitre {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0
	}
	if quantity.Bare(text) {
		text += " " + f.volume.Symbol()
	}
	v, err := quantity.ParseMillilitre(text)
	if err != nil || v <= 0 {
		f.unread("volume", err, "form.volume", clip(text))
		return 0
	}
	return v
}

func readWhere(f *formReader, place string) string {
	for _, known := range wheres() {
		if place == known {
			return place
		}
	}
	f.fail("where", "form.where")
	return ""
}

// clip shortens what is repeated in a sentence.
func clip(text string) string {
	const most = 30
	runes := []rune(strings.ToValidUTF8(text, "?"))
	if len(runes) <= most {
		return string(runes)
	}
	return string(runes[:most]) + "…"
}
