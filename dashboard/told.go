package dashboard

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

// Sprintf, Quantities and Date make figures a [phrase.Teller]: the units of this place.
func (f figures) Sprintf(form string, parts ...any) string { return fmt.Sprintf(form, parts...) }

// Quantities gives a text with the quantities in it as the place reads them.
func (f figures) Quantities(text string) string { return f.local(text) }

// Date writes a time by a layout of package time.
func (f figures) Date(t time.Time, layout string) string { return t.Format(layout) }

// tell gives a sentence as the place reads it.
func (f figures) tell(s phrase.Sentence) string { return s.By(f) }

// told is a sentence that has been told, in the place of the one that it was.
func (f figures) told(s phrase.Sentence) phrase.Sentence { return phrase.Plain(f.tell(s)) }

// sentenceOf is what a person reads of an error: the ledger's own two sentences, or a sentence
// made of it.
func (f figures) sentenceOf(err error) string {
	if problem := (ledger.Problem{}); errors.As(err, &problem) {
		return problem.By(f)
	}
	return sentenceCase(phrase.Error(err, f))
}

// sentenceOf is the same where there are no figures at hand.
func (s *kit) sentenceOf(err error) string { return s.figures(s.View.Now()).sentenceOf(err) }

// word gives the words of a state as the place reads them.
func (f figures) word(state phrase.Spoken) string { return f.tell(state.Said()) }

// tellAll gives sentences as the place reads them.
func (f figures) tellAll(all []phrase.Sentence) []string {
	told := make([]string, len(all))
	for i, s := range all {
		told[i] = f.tell(s)
	}
	return told
}

// lines are sentences, each on a line of its own.
func (f figures) lines(all []phrase.Sentence) string { return strings.Join(f.tellAll(all), "\n") }
