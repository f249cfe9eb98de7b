package config

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// section is one table of the file. Reading a key marks it as known; what is
// left over at the end is a typing mistake.
type section struct {
	doc    *document
	path   string
	values map[string]any
	known  *[]string
}

// open begins to read a table; [document.found] complains of what nothing read of it.
func (d *document) open(path string, values map[string]any) section {
	s := section{d, path, values, &[]string{}}
	d.opened = append(d.opened, s)
	return s
}

func (d *document) root() section { return d.open("", d.values) }

func (s section) at(key string) string { return join(s.path, key) }

func (s section) get(key string) (any, bool) {
	*s.known = append(*s.known, key)
	v, ok := s.values[key]
	return v, ok
}

func (s section) complain(key, format string, args ...any) {
	s.doc.complain(s.at(key), format, args...)
}

// close complains of every key that nothing read.
func (s section) close() {
	for key, value := range s.values {
		if slices.Contains(*s.known, key) {
			continue
		}
		allowed := slices.Sorted(slices.Values(*s.known))
		s.complain(key, "unknown key; allowed here: %s", strings.Join(slices.Compact(allowed), ", "))
		if list, is := value.([]any); is && len(list) > 0 {
			value = list[0]
		}
		if _, is := value.(map[string]any); is {
			s.doc.astray = append(s.doc.astray, s.doc.problems[len(s.doc.problems)-1])
		}
	}
}

// table opens a table below this one; ok is false when there is none.
func (s section) table(key string) (section, bool) {
	v, present := s.get(key)
	values, ok := v.(map[string]any)
	if present && !ok {
		s.complain(key, "expected a table, written as [%s]", withoutIndexes(s.at(key)))
	}
	return s.doc.open(s.at(key), values), ok
}

// below reads a table below this one, where there is one.
func below[T any](s section, key string, read func(section) T) (out T) {
	if table, given := s.table(key); given {
		out = read(table)
	}
	return out
}

// tables opens each member of a list of tables.
func (s section) tables(key string) []section {
	v, present := s.get(key)
	members, ok := v.([]any)
	if present && !ok {
		s.complain(key, "expected a list of tables, each written as [[%s]]", withoutIndexes(s.at(key)))
	}
	var list []section
	for i, m := range members {
		values, ok := m.(map[string]any)
		if !ok {
			s.complain(key, "expected a list of tables, each written as [[%s]]", withoutIndexes(s.at(key)))
			continue
		}
		list = append(list, s.doc.open(fmt.Sprintf("%s[%d]", s.at(key), i), values))
	}
	return list
}

// text reads a string; required ones must be there and not be blank.
func (s section) text(key string, required bool) string {
	v, present := s.get(key)
	t, ok := v.(string)
	switch {
	case present && !ok:
		s.complain(key, "expected a text in quotation marks, found %s", typeName(v))
	case required && strings.TrimSpace(t) == "":
		s.complain(key, "is missing: write %s = \"...\"", key)
	}
	return strings.TrimSpace(t)
}

func (s section) texts(key string) []string {
	v, present := s.get(key)
	members, ok := v.([]any)
	if present && !ok {
		s.complain(key, "expected a list such as [\"...\", \"...\"], found %s", typeName(v))
	}
	var list []string
	for _, m := range members {
		t, ok := m.(string)
		if !ok {
			s.complain(key, "expected texts in quotation marks, found %s", typeName(m))
			continue
		}
		list = append(list, t)
	}
	return list
}

// number reads a number within [low, high], or gives the usual one.
func (s section) number(key string, usual, low, high float64) float64 {
	v, present := s.get(key)
	if !present {
		return usual
	}
	var n float64
	switch t := v.(type) {
	case int64:
		n = float64(t)
	case float64:
		n = t
	default:
		s.complain(key, "expected a number, found %s", typeName(v))
		return usual
	}
	if !(n >= low && n <= high) {
		s.complain(key, "%g is out of range: expected %g to %g", n, low, high)
		return usual
	}
	return n
}

// whole reads a whole number within [low, high], or gives the usual one.
func (s section) whole(key string, usual, low, high int) int {
	n := s.number(key, float64(usual), float64(low), float64(high))
	if n != float64(int(n)) {
		s.complain(key, "%g is not a whole number", n)
		return usual
	}
	return int(n)
}

// yes reads true or false; absent is false.
func (s section) yes(key string) bool {
	v, present := s.get(key)
	b, ok := v.(bool)
	if present && !ok {
		s.complain(key, "expected true or false, found %s", typeName(v))
	}
	return b
}

// duration reads a time such as "10s" within [low, high], or gives the usual one.
func (s section) duration(key string, usual, low, high time.Duration) time.Duration {
	t := s.text(key, false)
	if t == "" {
		return usual
	}
	d, err := time.ParseDuration(strings.ReplaceAll(t, " ", ""))
	if err != nil || d < low || d > high {
		s.complain(key, "%q is not usable: expected a time from %s to %s, such as \"10s\" or \"5m\"", t, low, high)
		return usual
	}
	return d
}

// measure reads a number with its unit, such as "30 m3"; absent gives ok = false.
func (s section) measure(key string, d quantity.Dimension, required bool) (float64, bool) {
	t := s.text(key, required)
	if t == "" {
		return 0, false
	}
	v, _, err := quantity.Parse(d, t)
	if err != nil {
		s.complain(key, "%s", err)
		return 0, false
	}
	return v, true
}

// moreThanZero reads a measure that must be above zero when given.
func (s section) moreThanZero(key string, d quantity.Dimension, required bool) (float64, bool) {
	v, ok := s.measure(key, d, required)
	if ok && !(v > 0) {
		s.complain(key, "expected a %s of more than zero", d)
		return 0, false
	}
	return v, ok
}

// date reads a TOML date or date-time; absent gives the zero time.
func (s section) date(key string, zone *time.Location) time.Time {
	v, present := s.get(key)
	if !present {
		return time.Time{}
	}
	if t, ok := asTime(v, zone); ok {
		return t
	}
	s.complain(key, "expected a date such as 2026-09-01, without quotation marks")
	return time.Time{}
}

// choose reads a word with a parser that knows the allowed ones; absent gives the usual word.
func choose[W ~string](s section, key string, usual W, read func(string) (W, error)) W {
	t := s.text(key, usual == "")
	if t == "" {
		return usual
	}
	w, err := read(t)
	if err != nil {
		s.complain(key, "%s", err)
		return usual
	}
	return w
}

// oneOf reads a word that is one of some.
func oneOf[W ~string](what string, words []W) func(string) (W, error) {
	return func(text string) (W, error) {
		if slices.Contains(words, W(text)) {
			return W(text), nil
		}
		return "", fmt.Errorf("unknown %s %q: expected one of %s", what, text, phrase.Listed(words))
	}
}

// readOwn reads a file of the place's own that a key names, beside the configuration, or in its
// stead what the program carries.
func readOwn[T any](s section, key string, carried []byte, parse func([]byte) (T, error)) (own T) {
	data := carried
	if name := s.text(key, false); name != "" {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(s.doc.file), name)
		}
		var err error
		if data, err = os.ReadFile(name); err != nil {
			s.complain(key, "the file can't be read: %s", err)
			return own
		}
	}
	own, err := parse(data)
	if err != nil {
		s.complain(key, "%s", err)
	}
	return own
}

// typeName says what a person wrote, in words.
func typeName(v any) string {
	switch v.(type) {
	case string:
		return "a text"
	case int64, float64:
		return "a number"
	case bool:
		return "true or false"
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	case time.Time, toml.LocalDate, toml.LocalDateTime, toml.LocalTime:
		return "a date or time"
	}
	return fmt.Sprintf("%T", v)
}

func asTime(v any, zone *time.Location) (time.Time, bool) {
	switch t := v.(type) {
	case time.Time:
		return t, true
	case toml.LocalDate:
		return t.AsTime(zone), true
	case toml.LocalDateTime:
		return t.AsTime(zone), true
	}
	return time.Time{}, false
}
