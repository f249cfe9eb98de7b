// Package screentest says what a test of a screen against a paper showed: whether the
// light of a screen leaves a mark on paper that lies where it is handled. It is pure.
//
// The test is the published one for darkroom lamps with the screen in the place of the
// lamp: Kodak publication K-4, "How Safe Is Your Safelight?", test for black-and-white
// papers. Paper is given a light grey under the enlarger, because exposed paper marks
// sooner than fresh paper, and gets the light in steps that add up to 1, 3 and 7 minutes,
// on one sheet before the enlarger's exposure and on another after it. No screen is ever
// called harmless: a test says up to which time nothing was seen.
package screentest

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// Kind is the kind of record of a test; its content is a [Note].
const Kind = "screen tested"

// Declared is the kind of record of a test.
func Declared() record.Kind {
	return record.Kind{Name: Kind, Decode: record.JSON[Note], Recalled: record.Never, Least: access.Volunteer, Judges: record.Screens}
}

// Part is one pull of the card that covers the sheet: for how long the light falls
// before more of the sheet is covered.
type Part struct {
	Light time.Duration
	// Sum is the light that the strip covered after this part has had.
	Sum time.Duration
}

// Parts are the steps of a sheet, in order. The fourth strip is covered all the time.
func Parts() []Part {
	return []Part{{time.Minute, time.Minute}, {2 * time.Minute, 3 * time.Minute}, {4 * time.Minute, 7 * time.Minute}}
}

// Marked is the lowest strip of a sheet that differs from the covered one: the light
// it had. Zero means that no strip differs.
type Marked time.Duration

// Unmarked means that no strip differs from the covered one.
const Unmarked Marked = 0

// ParseMarked reads what a person found on a sheet: "none", or the minutes of the
// lowest strip that differs, 1, 3 or 7.
func ParseMarked(text string) (Marked, error) {
	text = strings.TrimSpace(text)
	if text == "none" {
		return Unmarked, nil
	}
	for _, p := range Parts() {
		if text == fmt.Sprintf("%.0f", p.Sum.Minutes()) {
			return Marked(p.Sum), nil
		}
	}
	return 0, phrase.Errorf("%q is no strip of the sheet: expected none, 1, 3 or 7", text)
}

// String writes a finding as [ParseMarked] reads it.
func (m Marked) String() string {
	if m == Unmarked {
		return "none"
	}
	return fmt.Sprintf("%.0f", time.Duration(m).Minutes())
}

// MarshalText keeps a finding in words.
func (m Marked) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads a finding back.
func (m *Marked) UnmarshalText(text []byte) (err error) {
	*m, err = ParseMarked(string(text))
	return err
}

// Clear is the longest light of a strip that still looks like the covered one; zero
// when even the first strip differs.
func (m Marked) Clear() time.Duration {
	var clear time.Duration
	for _, p := range Parts() {
		if m != Unmarked && p.Sum >= time.Duration(m) {
			break
		}
		clear = p.Sum
	}
	return clear
}

// Note is what the book keeps of a test beside who and when.
type Note struct {
	Screen     string `json:"screen"`
	Brightness string `json:"brightness"` // as set and said by a person, such as "10 %"
	Paper      string `json:"paper"`
	Place      string `json:"place"` // where the paper lay, as near as paper ever comes
	// Before and After are what was seen on the sheet that had the screen's light
	// before, and on the one that had it after the enlarger's exposure.
	Before Marked `json:"before"`
	After  Marked `json:"after"`
}

// Test is one test that was made.
type Test struct {
	Note
	At     time.Time
	By     string
	Record uint64
}

// Clear is how long paper may lie in the screen's light by this test, before and after
// its exposure together: the shorter of both, as the light adds up. Zero: not at all.
func (n Note) Clear() time.Duration { return min(n.Before.Clear(), n.After.Clear()) }

// Complete is nil when everything is said that a test must say.
func (n Note) Complete() error {
	for _, said := range []struct {
		what phrase.Sentence
		text string
	}{{phrase.Say("screen"), n.Screen}, {phrase.Say("brightness"), n.Brightness}, {phrase.Say("paper"), n.Paper},
		{phrase.Say("place of the paper"), n.Place}} {
		if strings.TrimSpace(said.text) == "" {
			return phrase.Errorf("the %s is missing: a test is valid for one screen, one brightness, one paper and one place", said.what)
		}
	}
	return nil
}

// Of gives the newest test of a screen for each paper, the newest first. A screen is
// known by its name, whatever the letters' case.
func Of(screen string, tests []Test) []Test {
	newest := map[string]Test{}
	for _, t := range tests {
		if paper := strings.ToLower(t.Paper); strings.EqualFold(t.Screen, screen) && !t.At.Before(newest[paper].At) {
			newest[paper] = t
		}
	}
	list := make([]Test, 0, len(newest))
	for _, t := range newest {
		list = append(list, t)
	}
	slices.SortFunc(list, func(a, b Test) int {
		if order := b.At.Compare(a.At); order != 0 {
			return order
		}
		return strings.Compare(a.Paper, b.Paper)
	})
	return list
}
