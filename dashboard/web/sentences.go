package web

import (
	"errors"
	"strings"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Figure and Sign make figures a [phrase.Place].
func (f Figures) Figure(q quantity.Figure) string { return f.Units.Figure(q) }

// Sign puts the decimal sign of the place into a number.
func (f Figures) Sign(number string) string { return f.Units.Sign(number) }

// Text gives a sentence as the place reads it.
func (f Figures) Text(s phrase.Sentence) string { return s.By(f) }

// InUnits is a sentence that has been told, in the place of the one that it was.
func (f Figures) InUnits(s phrase.Sentence) phrase.Sentence { return phrase.Plain(f.Text(s)) }

// ErrorText is what a person reads of an error: the ledger's own two sentences, or a sentence
// made of it.
func (f Figures) ErrorText(err error) string {
	if problem := (ledger.Problem{}); errors.As(err, &problem) {
		return problem.By(f)
	}
	return SentenceCase(phrase.Error(err, f))
}

// ErrorText is the same where there are no figures at hand.
func (s *Kit) ErrorText(err error) string { return s.Figures(s.View.Now()).ErrorText(err) }

// Word gives the words of a state as the place reads them.
func (f Figures) Word(state phrase.Spoken) string { return f.Text(state.Said()) }

// Texts gives sentences as the place reads them.
func (f Figures) Texts(all []phrase.Sentence) []string {
	told := make([]string, len(all))
	for i, s := range all {
		told[i] = f.Text(s)
	}
	return told
}

// Lines are sentences, each on a line of its own.
func (f Figures) Lines(all []phrase.Sentence) string { return strings.Join(f.Texts(all), "\n") }
