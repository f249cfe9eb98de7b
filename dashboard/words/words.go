// Package words holds every word that a person reads: the words of the pages in en.txt, by
// keys, and a list of the sentences that are made elsewhere in told.txt, which have their
// English form as their key. Another language is two more files of the same keys.
package words

import (
	_ "embed"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

//go:embed en.txt
var english string

// Words says things in one language. It is made once and never changes.
type Words struct {
	language language.Tag
	texts    map[string]text
}

// text is what stands behind a key: for each plural form of the language its own text, where
// it has one, and the text for all others.
type text map[plural.Form]string

// English are the words of the English pages.
func English() Words { return In(language.English, english, "") }

// In gives the words of a language, from a file of keys and one of sentences. The files are
// part of the program and checked by tests.
func In(tag language.Tag, pages, told string) Words {
	w := Words{tag, map[string]text{}}
	for line := range strings.Lines(pages) {
		if key, said, found := strings.Cut(strings.TrimSpace(line), " = "); found && !strings.HasPrefix(key, "#") {
			w.set(key, said)
		}
	}
	form := ""
	for line := range strings.Lines(told) {
		line = strings.ReplaceAll(strings.TrimSpace(line), `\n`, "\n")
		if english, is := strings.CutPrefix(line, "> "); is {
			form = english
		} else if which, said, found := strings.Cut(line, "= "); found && !strings.HasPrefix(line, "#") {
			w.set(form+strings.TrimSpace(which), said)
		}
	}
	return w
}

// set keeps a text under its key, which may end with a plural form of CLDR, as in "sheets[one]".
func (w Words) set(key, said string) {
	form := plural.Other
	if at := strings.LastIndexByte(key, '['); at >= 0 {
		if own, is := forms()[key[at:]]; is {
			key, form = key[:at], own
		}
	}
	if w.texts[key] == nil {
		w.texts[key] = text{}
	}
	w.texts[key][form] = said
}

func forms() map[string]plural.Form {
	return map[string]plural.Form{"[zero]": plural.Zero, "[one]": plural.One, "[two]": plural.Two, "[few]": plural.Few, "[many]": plural.Many}
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

// Sprintf tells a sentence that was made elsewhere, by its English form. A form that the
// language has no words for is told in English.
func (w Words) Sprintf(form string, parts ...any) string {
	said, _ := w.text(form, parts)
	return fmt.Sprintf(said, parts...)
}

func (w Words) text(key string, args []any) (said string, known bool) {
	texts, known := w.texts[key]
	if !known {
		return key, false
	}
	if len(texts) > 1 {
		if own, has := texts[w.plural(args)]; has {
			return own, true
		}
	}
	if said, known = texts[plural.Other]; !known {
		return key, false
	}
	return said, true
}

// Number is a number with the digits in which a place writes it.
type Number struct {
	Value float64
	Text  string
}

// String gives the digits.
func (n Number) String() string { return n.Text }

// plural is the form that the language has for the first number among args.
func (w Words) plural(args []any) plural.Form {
	for _, arg := range args {
		switch n := arg.(type) {
		case int:
			return plural.Cardinal.MatchPlural(w.language, n, 0, 0, 0, 0)
		case Number:
			whole, fraction, _ := strings.Cut(strconv.FormatFloat(math.Abs(n.Value), 'f', -1, 64), ".")
			i, _ := strconv.Atoi(whole)
			f, _ := strconv.Atoi(fraction) // none is 0
			return plural.Cardinal.MatchPlural(w.language, i, len(fraction), len(fraction), f, f)
		}
	}
	return plural.Other
}

// Date writes a time by a layout of package time, its day and month by their names here.
func (w Words) Date(t time.Time, layout string) string {
	text := t.Format(layout)
	if strings.Contains(layout, "Mon") {
		text = strings.Replace(text, t.Format("Mon"), w.Say("date."+t.Format("Mon")), 1)
	}
	if strings.Contains(layout, "Jan") {
		text = strings.Replace(text, t.Format("Jan"), w.Say("date."+t.Format("Jan")), 1)
	}
	return text
}

// Empty says that there are no words at all, as in the zero value.
func (w Words) Empty() bool { return len(w.texts) == 0 }

// Language is the tag of BCP 47, as HTML wants it.
func (w Words) Language() string { return w.language.String() }

// Knows says whether a key has a text.
func (w Words) Knows(key string) bool {
	_, known := w.text(key, nil)
	return known
}

// Keys lists all keys in order.
func (w Words) Keys() []string { return slices.Sorted(maps.Keys(w.texts)) }
