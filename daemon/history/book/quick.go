package book

import (
	"encoding/json"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// quick reads the records that a book mostly holds: without an escaped sign in a
// name, and neither late nor a correction. It walks over the text once and takes it
// only if it is canonical; ok is false for every other, good or bad.
func quick(text string) (r Record, ok bool) {
	c := cursor{text, utf8.ValidString(text)}
	r.Number = c.count(`{"number":`)
	r.Kind = c.name(`,"kind":"`)
	at := c.name(`,"at":"`)
	r.OffsetSeconds = int(c.integer(`,"offset_seconds":`))
	r.Mono = time.Duration(c.integer(`,"mono_ms":`)) * time.Millisecond
	r.Boot, r.Clock = c.name(`,"boot":"`), c.name(`,"clock":"`)
	r.Person, r.Role, r.Room = c.some(`,"person":"`), c.some(`,"role":"`), c.some(`,"room":"`)
	r.Content = c.last(`,"content":`)
	if !c.ok || !canonicalTime(at, &r.At) || r.Mono/time.Millisecond*time.Millisecond != r.Mono {
		return Record{}, false
	}
	return r, true
}

// canonicalTime reads a time that is written as timeForm says, digit by digit.
func canonicalTime(text string, t *time.Time) bool {
	if len(text) != len(timeForm) {
		return false
	}
	for i := range len(text) {
		isDigit := '0' <= text[i] && text[i] <= '9'
		if wantsDigit := '0' <= timeForm[i] && timeForm[i] <= '9'; wantsDigit != isDigit || !isDigit && text[i] != timeForm[i] {
			return false
		}
	}
	part := func(from, to int) (n int) {
		for _, digit := range []byte(text[from:to]) {
			n = 10*n + int(digit-'0')
		}
		return n
	}
	month, day, hour, minute, second := part(5, 7), part(8, 10), part(11, 13), part(14, 16), part(17, 19)
	*t = time.Date(part(0, 4), time.Month(month), day, hour, minute, second, part(20, 23)*int(time.Millisecond), time.UTC)
	return t.Month() == time.Month(month) && t.Day() == day && hour < 24 && minute < 60 && second < 60
}

// cursor walks over a text; once something is not as expected it stays not ok.
type cursor struct {
	rest string
	ok   bool
}

// skip passes over what must come next.
func (c *cursor) skip(literal string) {
	rest, found := strings.CutPrefix(c.rest, literal)
	c.rest, c.ok = rest, c.ok && found
}

// digits passes over a whole number as JSON writes it.
func (c *cursor) digits(after string) string {
	c.skip(after)
	n := strings.IndexByte(c.rest, ',')
	if !c.ok || n < 0 {
		c.ok = false
		return ""
	}
	text := c.rest[:n]
	c.rest = c.rest[n:]
	return text
}

func (c *cursor) count(after string) uint64 {
	text := c.digits(after)
	n, err := strconv.ParseUint(text, 10, 64)
	c.ok = c.ok && err == nil && (text == "0" || text[0] != '0')
	return n
}

func (c *cursor) integer(after string) int64 {
	text := c.digits(after)
	n, err := strconv.ParseInt(text, 10, 64)
	const most = int64(1) << 50 // of milliseconds, so that it is a duration
	c.ok = c.ok && err == nil && strconv.FormatInt(n, 10) == text && -most < n && n < most
	return n
}

// name passes over a text without any sign that JSON writes in another way.
func (c *cursor) name(after string) string {
	c.skip(after)
	text, rest, closed := strings.Cut(c.rest, `"`)
	c.rest, c.ok = rest, c.ok && closed && plain(text)
	return text
}

// plain says whether JSON writes a text as it is.
func plain(text string) bool {
	for i := range len(text) {
		if text[i] < ' ' || text[i] == '\\' || text[i] >= utf8.RuneSelf {
			return !strings.ContainsFunc(text[i:], escapes)
		}
	}
	return true
}

// escapes says whether JSON writes a sign in another way.
func escapes(sign rune) bool {
	return sign < ' ' || sign == '\\' || sign == '\u2028' || sign == '\u2029'
}

// some is a name that is left out where it is empty.
func (c *cursor) some(after string) string {
	if !strings.HasPrefix(c.rest, after) {
		return ""
	}
	text := c.name(after)
	c.ok = c.ok && text != ""
	return text
}

// last is the JSON that ends the object.
func (c *cursor) last(after string) json.RawMessage {
	c.skip(after)
	text, found := strings.CutSuffix(c.rest, "}")
	if !c.ok || !found {
		c.ok = false
		return nil
	}
	c.ok = compact(text)
	return json.RawMessage(text)
}
