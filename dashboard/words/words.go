// Package words holds every word that the pages say, in one file that a person
// can read from top to bottom. Another language is another file of the same keys.
package words

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed en.txt
var english string

// Words says things in one language. It is made by [English] and never changes.
type Words struct {
	texts map[string]string
}

// English are the words of the English pages.
func English() Words { return parse(english) }

// parse reads lines of "key = text"; blank lines and lines that begin with # are
// left out. The file is part of the program and checked by a test.
func parse(file string) Words {
	w := Words{texts: map[string]string{}}
	for line := range strings.Lines(file) {
		key, text, found := strings.Cut(strings.TrimSpace(line), " = ")
		if found && !strings.HasPrefix(key, "#") {
			w.texts[key] = text
		}
	}
	return w
}

// Say gives the text of a key, with %s, %d and the like filled from args. An
// unknown key is said as it is, which no page should come to.
func (w Words) Say(key string, args ...any) string {
	text, known := w.texts[key]
	switch {
	case !known:
		return key
	case len(args) == 0:
		return text
	default:
		return fmt.Sprintf(text, args...)
	}
}

// Knows says whether a key has a text.
func (w Words) Knows(key string) bool {
	_, known := w.texts[key]
	return known
}

// Keys lists all keys in order.
func (w Words) Keys() []string {
	keys := make([]string, 0, len(w.texts))
	for k := range w.texts {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
