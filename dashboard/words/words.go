// Package words holds the words of the pages in en.txt, by keys.
package words

import (
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strings"
)

//go:embed en.txt
var english string

// Words says things. It is made once and never changes.
type Words struct{ texts map[string]text }

// text is what stands behind a key, and what it is for exactly one where that differs.
type text struct{ many, one string }

// English are the words of the pages. The file is part of the program and checked by tests.
func English() Words {
	w := Words{map[string]text{}}
	for line := range strings.Lines(english) {
		key, said, found := strings.Cut(strings.TrimSpace(line), " = ")
		if !found || strings.HasPrefix(key, "#") {
			continue
		}
		key, one := strings.CutSuffix(key, "[one]")
		t := w.texts[key]
		if one {
			t.one = said
		} else {
			t.many = said
		}
		w.texts[key] = t
	}
	return w
}

// Say gives the text of a key, with %s, %d and the like filled from args; the first whole
// number among them chooses between one and many. An unknown key is said as it is, which no
// page should come to.
func (w Words) Say(key string, args ...any) string {
	said, known := w.text(key, args)
	if !known || len(args) == 0 {
		return said
	}
	return fmt.Sprintf(said, args...)
}

func (w Words) text(key string, args []any) (said string, known bool) {
	t, known := w.texts[key]
	switch {
	case !known:
		return key, false
	case t.one != "" && isOne(args):
		return t.one, true
	}
	return t.many, true
}

// Number is a number with the digits in which a place writes it.
type Number struct {
	Value float64
	Text  string
}

// String gives the digits.
func (n Number) String() string { return n.Text }

// isOne says whether the first number among args is one.
func isOne(args []any) bool {
	for _, arg := range args {
		switch n := arg.(type) {
		case int:
			return n == 1
		case Number:
			return n.Value == 1
		}
	}
	return false
}

// Knows says whether a key has a text.
func (w Words) Knows(key string) bool {
	_, known := w.text(key, nil)
	return known
}

// Keys lists all keys in order.
func (w Words) Keys() []string { return slices.Sorted(maps.Keys(w.texts)) }
