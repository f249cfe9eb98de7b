// Package cells writes the rows of tables of comma-separated values (RFC 4180) to the byte as
// encoding/csv does, several times as fast: a report of ten years has millions of rows.
package cells

import (
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wetside/sensors/quantity/phrase"
)

// Row is the text of rows. Each cell is added at its end; [Row.End] ends a row.
type Row []byte

// Text adds a text that somebody wrote or reads; a spreadsheet won't take it for a formula.
func (r Row) Text(text string) Row { return r.Plain(phrase.Cell(text)) }

// Plain adds a text as it is.
func (r Row) Plain(text string) Row {
	if !quoted(text) {
		return append(append(r, text...), ',')
	}
	r = append(r, '"')
	for i := range len(text) { // JSON has so many quotation marks that to look for each takes longer
		if text[i] == '"' {
			r = append(r, '"')
		}
		r = append(r, text[i])
	}
	return append(r, '"', ',')
}

// quoted says whether a text stands between quotation marks.
func quoted(text string) bool {
	if text == "" {
		return false
	}
	if text == `\.` || strings.ContainsAny(text, ",\"\r\n") {
		return true
	}
	first, _ := utf8.DecodeRuneInString(text)
	return unicode.IsSpace(first)
}

// Empty adds cells in which nothing is known.
func (r Row) Empty(n int) Row {
	for range n {
		r = append(r, ',')
	}
	return r
}

// Whole adds a whole number.
func (r Row) Whole(n int64) Row { return append(strconv.AppendInt(r, n, 10), ',') }

// Figure adds a number exactly.
func (r Row) Figure(v float64) Row {
	if whole := int64(v); float64(whole) == v && whole != 0 && -1e15 < v && v < 1e15 {
		return r.Whole(whole)
	}
	return append(strconv.AppendFloat(r, v, 'f', -1, 64), ',')
}

// Moment adds a time to the millisecond with the offset of its zone.
func (r Row) Moment(t time.Time) Row {
	year, month, day := t.Date()
	_, offset := t.Zone()
	if year < 0 || year > 9999 {
		return append(t.AppendFormat(r, "2006-01-02T15:04:05.000Z07:00"), ',')
	}
	hour, minute, second := t.Clock()
	r = append(pair(pair(r, year/100), year%100), '-')
	r = append(pair(r, int(month)), '-')
	r = append(pair(r, day), 'T')
	r = append(pair(r, hour), ':')
	r = append(pair(r, minute), ':')
	milli := t.Nanosecond() / int(time.Millisecond)
	r = pair(append(pair(r, second), '.', byte('0'+milli/100)), milli%100)
	if offset == 0 {
		return append(r, 'Z', ',')
	}
	sign := byte('+')
	if offset /= 60; offset < 0 {
		sign, offset = '-', -offset
	}
	return append(pair(append(pair(append(r, sign), offset/60), ':'), offset%60), ',')
}

// pair adds two digits.
func pair(r Row, n int) Row { return append(r, byte('0'+n/10), byte('0'+n%10)) }

// End ends the row.
func (r Row) End() Row {
	if n := len(r); n > 0 && r[n-1] == ',' {
		r[n-1] = '\n'
		return r
	}
	return append(r, '\n')
}
