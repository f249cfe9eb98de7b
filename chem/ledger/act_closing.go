package ledger

import (
	"slices"
	"strings"

	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// ClosingListWritten is what the place wants done before somebody leaves the room. The last one
// that was written counts; one without lines brings the usual lines back.
type ClosingListWritten struct {
	Lines []string `json:"lines"`
}

// The bounds of a list that is signed in one press: longer ones are signed without being read.
const (
	MostClosingLines   = 15
	LongestClosingLine = 120 // bytes
)

// Kind is "closing list written".
func (ClosingListWritten) Kind() string { return "closing list written" }

func (ClosingListWritten) least() access.Role { return access.Volunteer }

func (ClosingListWritten) about() []string { return nil }

// Sentence says what was done.
func (a ClosingListWritten) Sentence() phrase.Sentence {
	if len(a.Lines) == 0 {
		return phrase.Say("closing list: back to the usual lines")
	}
	return phrase.Say("closing list written: %s", strings.Join(a.Lines, "; "))
}

// Validate checks the entry on its own.
func (a ClosingListWritten) Validate() error {
	if len(a.Lines) > MostClosingLines {
		return Problem{ErrForm, phrase.Say("A closing list of %d lines is too long to be read", len(a.Lines)), phrase.Say("Write at most %d lines", MostClosingLines)}
	}
	for _, line := range a.Lines {
		if strings.TrimSpace(line) == "" || len(line) > LongestClosingLine {
			return Problem{ErrForm, phrase.Say("A line of the closing list is empty or too long: %q", line),
				phrase.Say("Write one thing a line, in up to %d letters", LongestClosingLine)}
		}
	}
	return nil
}

func (a ClosingListWritten) touches() []string { return nil }

func (a ClosingListWritten) check(*state, Entry) error { return nil }

func (a ClosingListWritten) apply(s *state, _ Entry) { s.closing = slices.Clone(a.Lines) }

// ClosingList is what the place wants done before somebody leaves: its own list, else the usual one.
func (l *Ledger) ClosingList() []string {
	if len(l.now.closing) > 0 {
		return slices.Clone(l.now.closing)
	}
	return usualClosingList()
}

// usualClosingList is common practice in shared darkrooms.
func usualClosingList() []string {
	return []string{
		"Pitchers, funnels and tongs rinsed and back in their places",
		"Trays rinsed and turned over to dry",
		"Concentrate and storage bottles closed and back on their shelf",
		"Paper and film closed up; enlargers and safelights off",
		"Water off; floor and sink dry",
		"Fan left on until the room is aired, then off",
		"Chemicals locked up",
	}
}
