package dashboard

import (
	"errors"
	"strings"
	"unicode/utf8"

	"wetside/chem/ledger"
)

// sentenceOf is what a person reads of an error: the ledger's own two sentences, or a sentence
// made of it.
func (f figures) sentenceOf(err error) string {
	if problem := (ledger.Problem{}); errors.As(err, &problem) {
		return ledger.TellProblem(err, f.local)
	}
	text := f.local(err.Error())
	first, size := utf8.DecodeRuneInString(text)
	text = strings.ToUpper(string(first)) + text[size:]
	return strings.TrimSuffix(text, ".") + "."
}

// lines are sentences of the ledger, each on a line of its own.
func (f figures) lines(told []ledger.Told) string {
	var b strings.Builder
	for _, t := range told {
		b.WriteString(t.By(f.local) + "\n")
	}
	return strings.TrimSuffix(b.String(), "\n")
}
