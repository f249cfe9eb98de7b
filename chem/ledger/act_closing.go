package ledger

import (
	"slices"
	"strings"

	"wetside/sensors/quantity/phrase"
)

// ClosingList is one of the lists of what must be done before work goes on; each place writes its own.
type ClosingList string

// The closing lists of a place.
const (
	AfterSetUp    ClosingList = "after set-up"
	AfterTakeDown ClosingList = "after take-down"
)

// ClosingLists lists both in the order of an evening.
func ClosingLists() []ClosingList { return []ClosingList{AfterSetUp, AfterTakeDown} }

func (c ClosingList) Said() phrase.Sentence { return phrase.Plain(string(c)) }

// The bounds of a list that is signed in one press: longer ones are signed without being read.
const (
	mostClosingLines   = 15
	longestClosingLine = 120 // bytes
)

// validLines says whether the lines can be a list of the place.
func (c ClosingList) validLines(lines []string) error {
	if err := oneOf(phrase.Say("list"), c, ClosingLists()...); err != nil {
		return err
	}
	if len(lines) > mostClosingLines {
		return Problem{ErrForm, phrase.Say("A closing list of %d lines is too long to be read", len(lines)),
			phrase.Say("Write at most %d lines", mostClosingLines)}
	}
	for _, line := range lines {
		if strings.TrimSpace(line) == "" || len(line) > longestClosingLine {
			return Problem{ErrForm, phrase.Say("A line of the closing list is empty or too long: %q", line),
				phrase.Say("Write one thing a line, in up to %d letters", longestClosingLine)}
		}
	}
	return nil
}

// ClosingListWritten is what the place wants done at the end of a set-up or a take-down. The last
// one that was written counts; one without lines brings the usual lines back.
type ClosingListWritten struct {
	List  ClosingList `json:"list"`
	Lines []string    `json:"lines,omitempty"`
}

func (ClosingListWritten) Kind() string { return "closing list written" }

func (ClosingListWritten) about() []string { return nil }

func (a ClosingListWritten) Sentence() phrase.Sentence {
	if len(a.Lines) == 0 {
		return phrase.Say("closing list %s: back to the usual lines", a.List)
	}
	return phrase.Say("closing list %s written: %s", a.List, strings.Join(a.Lines, "; "))
}

func (a ClosingListWritten) validate() error { return a.List.validLines(a.Lines) }

func (a ClosingListWritten) check(*state, Entry) error { return nil }

func (a ClosingListWritten) apply(s *state, _ Entry) {
	c := s.closing[a.List]
	c.lines = slices.Clone(a.Lines)
	s.closing[a.List] = c
}

// ClosingListSigned says that somebody has done what is on a list.
type ClosingListSigned struct {
	List  ClosingList `json:"list"`
	Lines []string    `json:"lines"` // as they were read
}

func (ClosingListSigned) Kind() string { return "closing list signed" }

func (ClosingListSigned) about() []string { return nil }

func (a ClosingListSigned) Sentence() phrase.Sentence {
	return phrase.Say("done %s: %s", a.List, strings.Join(a.Lines, "; "))
}

func (a ClosingListSigned) validate() error {
	if len(a.Lines) == 0 {
		return Problem{ErrForm, phrase.Say("There is nothing on the list that is signed"),
			phrase.Say("Open the page again and sign what it shows")}
	}
	return a.List.validLines(a.Lines)
}

func (a ClosingListSigned) check(*state, Entry) error { return nil }

func (a ClosingListSigned) apply(s *state, e Entry) {
	c := s.closing[a.List]
	c.signed, c.session = true, s.session(e)
	s.closing[a.List] = c
}

// closing is what is known of one list.
type closing struct {
	lines   []string // of the place; empty for the usual ones
	signed  bool
	session string // in which the list was signed last
}

// Closing is what the place wants done on a list: its own lines, else the usual ones.
func (l *Ledger) Closing(list ClosingList) []string {
	if lines := l.now.closing[list].lines; len(lines) > 0 {
		return slices.Clone(lines)
	}
	return list.usual()
}

// ClosingSigned says whether a list was signed in a session.
func (l *Ledger) ClosingSigned(list ClosingList, session string) bool {
	c := l.now.closing[list]
	return c.signed && c.session == session
}

// usual is common practice in shared darkrooms.
func (c ClosingList) usual() []string {
	if c == AfterSetUp {
		return []string{"Pitchers and funnels rinsed and back in their places", "Concentrate closed and back on its shelf", "Cupboard locked",
			"Gloves, goggles and apron where the class finds them", "Way to the eyewash free"}
	}
	return []string{"Trays and tongs rinsed, trays turned over to dry", "Storage bottles closed, labelled and back on their shelf",
		"Paper and film closed up; enlargers and safelights off", "Water off; sink and floor dry", "Fan on until the room is aired, then off",
		"Chemicals locked up"}
}
