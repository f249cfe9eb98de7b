package report

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/cells"
	"wetside/sensors/quantity/phrase"
)

// Table is one file of comma-separated values. Its rows are made while they are written: those
// of ten years would fill the memory.
type Table struct {
	File  string
	Names []string
	rows  func(*rows)
}

// tableOf is a table with what row writes of each of a list; blanks part the names of its columns.
func tableOf[T any](file, names string, list []T, row func(*rows, T)) Table {
	return Table{file, strings.Fields(names), func(out *rows) {
		for _, x := range list {
			row(out, x)
		}
	}}
}

// Write writes the table with its heading.
func (t Table) Write(w io.Writer) error {
	out := &rows{to: w}
	for _, name := range t.Names {
		out.text = out.text.Plain(name)
	}
	out.end()
	t.rows(out)
	if out.flush(); out.err != nil {
		return phrase.Errorf("writing %s: %w", t.File, out.err)
	}
	return nil
}

// tables writes a pack as rows, in the units used inside.
type tables struct{ Data }

// Tables are all tables of a pack, the totals last.
func Tables(pack Data) []Table {
	d := tables{pack}
	totals := tableOf("totals.csv", "total value unit from how", Totals(pack), func(out *rows, t Total) {
		out.row(t.Name, t.Value(), t.Unit, t.File, t.How)
	})
	return slices.Concat(d.ofAir(), d.ofWork(), d.ofProbes(), d.ofPlace(), []Table{totals})
}

// stamps are a time in UTC and as the place's own with its offset: two cells.
type stamps struct{ utc, local time.Time }

func (d tables) stamps(t time.Time) stamps { return stamps{t.UTC(), t.In(d.zone())} }

func (d Data) zone() *time.Location {
	if d.Zone == nil {
		return time.UTC
	}
	return d.Zone
}

type rows struct {
	to   io.Writer
	text cells.Row
	err  error
}

// row writes one row.
func (o *rows) row(parts ...any) {
	for _, p := range parts {
		switch p := p.(type) {
		case string:
			o.text = o.text.Text(p)
		case phrase.Sentence:
			o.text = o.text.Text(p.String())
		case stamps:
			o.stamps(p)
		case time.Duration:
			o.text = o.text.Figure(seconds(p))
		case *float64:
			o.figure(p)
		case float64:
			o.figure(&p)
		case int:
			o.text = o.text.Whole(int64(p))
		case bool:
			o.text = o.text.Plain(map[bool]string{true: "yes", false: "no"}[p])
		default:
			o.err = phrase.Errorf("a cell of a row is of a kind that no table writes")
		}
	}
	o.end()
}

func (o *rows) stamps(s stamps) {
	if s.utc.IsZero() {
		o.text = o.text.Empty(2)
		return
	}
	o.text = o.text.Moment(s.utc).Moment(s.local)
}

// figure writes nothing for a number that is not known.
func (o *rows) figure(v *float64) {
	if v == nil {
		o.text = o.text.Empty(1)
		return
	}
	o.text = o.text.Figure(sane(*v))
}

// seconds are those of a time to the microsecond: thousands of them still add up to the millisecond.
func seconds(t time.Duration) float64 { return float64(t.Round(time.Microsecond).Microseconds()) / 1e6 }

// digits is how many of a worked-out figure are written: more than any probe tells, and enough to work out every total again.
const digits = 7

// sane is a figure without the noise of its last binary places, as in 7.315200000000001.
func sane(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	places := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	if places < 0 || places > 22 { // a power of ten that is exact, so that the division is rounded once
		return v
	}
	scale := math.Pow10(places)
	return math.Round(v*scale) / scale
}

// held is how much text of rows is written at once.
const held = 64 << 10

func (o *rows) end() {
	if o.text = o.text.End(); len(o.text) > held {
		o.flush()
	}
}

func (o *rows) flush() {
	if o.err == nil {
		_, o.err = o.to.Write(o.text)
	}
	o.text = o.text[:0]
}

// reference is the number of a record, empty for none.
func reference(number uint64) string {
	if number == 0 {
		return ""
	}
	return strconv.FormatUint(number, 10)
}
