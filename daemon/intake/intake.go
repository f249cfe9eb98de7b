// Package intake reads past readings from comma-separated values: what another logger
// wrote, or what wetside itself has exported. Columns are found by their names, in
// any order; others are left alone. Every mistake is named with its line.
package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors"
)

// Reading is one value of a file.
type Reading struct {
	Line    int
	Channel sensors.ChannelID
	// Unit is what the file calls the unit; empty when it says nothing.
	Unit   string
	At     time.Time
	Value  float64
	Grade  sensors.Grade
	Reason sensors.Reason
}

// Options say what a file leaves out.
type Options struct {
	// Channel and Unit are used where the file has no column for them.
	Channel sensors.ChannelID
	Unit    string
	// Zone is that of times without an offset.
	Zone *time.Location
}

// Read gives the readings of a file in its order and ends after the first error. The
// heading must name a column "time" or "utc" and one "value" or "raw"; "channel",
// "unit", "grade" and "reason" are read where they are there. Cells are separated by
// commas, or by semicolons or tabs, where a decimal sign may be a comma too.
func Read(in io.Reader, o Options) iter.Seq2[Reading, error] {
	return func(yield func(Reading, error) bool) {
		f, err := open(in, o)
		if err != nil {
			yield(Reading{}, err)
			return
		}
		for {
			r, err := f.next()
			if errors.Is(err, io.EOF) || !yield(r, err) || err != nil {
				return
			}
		}
	}
}

type file struct {
	Options
	csv     *csv.Reader
	comma   bool // the decimal sign may be a comma
	columns map[string]int
}

// mark is the byte order mark with which some programs begin a file.
const mark = "\ufeff"

func open(in io.Reader, o Options) (*file, error) {
	buffered := bufio.NewReaderSize(&lines{in: in}, 1<<16)
	heading, err := buffered.ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading the heading: %w", err)
	}
	heading = strings.TrimRight(strings.TrimPrefix(heading, mark), "\r\n")
	switch {
	case strings.TrimSpace(heading) == "":
		return nil, errors.New("line 1 is empty: the first line must name the columns")
	case strings.ContainsRune(heading, 0):
		return nil, errors.New("the file is not UTF-8 text: save it as comma-separated values in UTF-8")
	case strings.ContainsRune(heading, '\r'):
		return nil, errors.New("its lines end with a carriage return alone: save it as comma-separated values with line feeds")
	}
	f := &file{Options: o, columns: map[string]int{}}
	separator := ","
	for _, other := range []string{";", "\t"} {
		if strings.Contains(heading, other) {
			separator, f.comma = other, true
		}
	}
	names := strings.Split(heading, separator)
	for i, name := range names {
		name = strings.ToLower(strings.Trim(strings.TrimSpace(name), `"`))
		if _, twice := f.columns[name]; !twice {
			f.columns[name] = i
		}
	}
	for _, wanted := range [][2]string{{"time", "utc"}, {"value", "raw"}} {
		if f.column(wanted[:]...) < 0 {
			return nil, fmt.Errorf("line 1: there is no column %q or %q among %q: the first line must name the columns", wanted[0], wanted[1], names)
		}
	}
	if f.column("channel") < 0 && o.Channel == "" {
		return nil, errors.New("line 1: there is no column \"channel\": say which channel the values belong to")
	}
	f.csv = csv.NewReader(buffered)
	f.csv.Comma = rune(separator[0])
	f.csv.FieldsPerRecord, f.csv.ReuseRecord = -1, true
	return f, nil
}

// column finds the first column with one of the names; -1 when there is none.
func (f *file) column(names ...string) int {
	for _, n := range names {
		if at, ok := f.columns[n]; ok {
			return at
		}
	}
	return -1
}

func (f *file) next() (Reading, error) {
	cells, err := f.csv.Read()
	if slip, ok := errors.AsType[*csv.ParseError](err); ok {
		return Reading{}, fmt.Errorf("line %d: %w", slip.Line+1, slip.Err)
	}
	if err != nil {
		return Reading{}, err
	}
	line, _ := f.csv.FieldPos(0)
	r, err := f.reading(cells)
	r.Line = line + 1 // the heading was taken off before
	if err != nil {
		return r, fmt.Errorf("line %d: %w", r.Line, err)
	}
	return r, nil
}

func (f *file) reading(cells []string) (r Reading, err error) {
	cell := func(names ...string) string {
		if at := f.column(names...); at >= 0 && at < len(cells) {
			return strings.TrimSpace(cells[at])
		}
		return ""
	}
	r = Reading{Channel: f.Channel, Unit: f.Unit, Reason: sensors.Reason(strings.Clone(cell("reason")))}
	if text := cell("channel"); text != "" {
		r.Channel = sensors.ChannelID(strings.Clone(text))
	}
	if text := cell("unit"); text != "" {
		r.Unit = strings.Clone(text)
	}
	if r.Channel == "" {
		return r, errors.New("it names no channel")
	}
	when := cell("utc", "time")
	if day := cell("date"); day != "" && !strings.Contains(when, "-") { // the time of day in a column of its own
		when = day + " " + when
	}
	if r.At, err = f.moment(when); err != nil {
		return r, err
	}
	if r.Value, err = f.number(cell("raw", "value")); err != nil {
		return r, err
	}
	r.Grade, err = grade(cell("grade"))
	return r, err
}

func (f *file) number(text string) (float64, error) {
	plain := text
	if f.comma {
		plain = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(plain, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%q is not a value: expected a number such as 20.5, and a missing value as no line at all", text)
	}
	return v, nil
}

// grade reads a grade; a file that says nothing means good values.
func grade(text string) (sensors.Grade, error) {
	if text == "" {
		return sensors.Good, nil
	}
	grades := []sensors.Grade{sensors.Missing, sensors.Suspect, sensors.Good}
	at := slices.IndexFunc(grades, func(g sensors.Grade) bool { return g.String() == strings.ToLower(text) })
	if at < 0 {
		return 0, fmt.Errorf("%q is not a grade: expected good, suspect or missing", text)
	}
	return grades[at], nil
}

// longestLine is far beyond a line of readings, in bytes. A file without line ends would
// otherwise be held in memory as a whole.
const longestLine = 1 << 16

// lines passes a text on and ends with an error once a line is too long.
type lines struct {
	in      io.Reader
	pending int // bytes since the last line end
}

// Read implements [io.Reader].
func (l *lines) Read(into []byte) (int, error) {
	n, err := l.in.Read(into)
	rest := into[:n]
	for {
		end := bytes.IndexByte(rest, '\n')
		if end < 0 {
			l.pending += len(rest)
			break
		}
		if l.pending+end > longestLine {
			l.pending += end
			break
		}
		l.pending, rest = 0, rest[end+1:]
	}
	if l.pending > longestLine {
		return 0, fmt.Errorf("a line is longer than %d bytes: expected a file of readings, one a line", longestLine)
	}
	return n, err
}

// moment reads a time with its offset, or one of the zone that the clock showed once
// and once only.
func (f *file) moment(text string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339, text)
	if err == nil {
		return checked(text, t)
	}
	for _, form := range []string{"2006-01-02 15:04:05.999999999", "2006-01-02T15:04:05.999999999", "2006-01-02 15:04", "2006-01-02T15:04"} {
		t, err := time.ParseInLocation(form, text, f.Zone)
		if err != nil {
			continue
		}
		wall := t.Format(time.DateTime)
		if read, _ := time.Parse(form, text); read.Format(time.DateTime) != wall {
			return t, fmt.Errorf("no clock in %s ever showed %s: the hour was left out for daylight saving", f.Zone, text)
		}
		for _, other := range []time.Duration{-time.Hour, time.Hour} {
			if t.Add(other).Format(time.DateTime) == wall {
				return t, fmt.Errorf("the clocks in %s showed %s twice: write the time with its offset, such as 2026-10-25T02:30:00+01:00", f.Zone,
					text)
			}
		}
		return checked(text, t)
	}
	return t, fmt.Errorf("%q is not a time: expected one such as 2026-09-01T18:00:00Z or 2026-09-01 18:00:00", text)
}

// checked refuses a year that the history can't hold.
func checked(text string, t time.Time) (time.Time, error) {
	if year := t.UTC().Year(); year < 1 || year > 9999 {
		return t, fmt.Errorf("%q lies outside the years 1 to 9999", text)
	}
	return t.UTC().Truncate(time.Millisecond), nil
}
