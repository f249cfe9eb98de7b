package history

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"wetside/sensors/quantity/cells"
)

// Form is how a table is written out.
type Form string

// The forms of a table: comma-separated values with a heading, or one JSON object a line.
const (
	CSV       Form = "csv"
	JSONLines Form = "jsonl"
)

// cell is one value of a row. The zero cell is nothing.
type cell struct {
	kind cellKind
	text string
	at   time.Time // of a moment, in place of the text
}

type cellKind uint8

const (
	nothing  cellKind = iota
	words             // text of people, or a name
	number            // as JSON writes one, or NaN or Inf
	truth             // true or false
	document          // JSON
)

func wordsCell(text string) cell { return cell{kind: words, text: text} }

// stamp is a time to the millisecond with its offset.
func stamp(t time.Time) cell { return cell{kind: words, at: t} }

func numberCell(n int64) cell { return cell{kind: number, text: strconv.FormatInt(n, 10)} }

// table writes rows as they come. The zero Form is CSV.
type table struct {
	names []string
	lines *bufio.Writer
	row   cells.Row // of the row at hand; nil for JSON
}

func newTable(out io.Writer, form Form, names ...string) *table {
	t := &table{names: names, lines: bufio.NewWriterSize(out, 64<<10)}
	if form != JSONLines {
		t.row = make(cells.Row, 0, 1<<10)
		for _, name := range names {
			t.row = t.row.Plain(name)
		}
		_, _ = t.lines.Write(t.row.End()) // an error stays with the writer and comes with the end
	}
	return t
}

func (t *table) write(list []cell) error {
	if t.row == nil {
		return t.object(list)
	}
	t.row = t.row[:0]
	for i := range list {
		t.row = list[i].add(t.row)
	}
	_, err := t.lines.Write(t.row.End())
	return err
}

// add adds the cell to a row of comma-separated values.
func (c *cell) add(row cells.Row) cells.Row {
	switch {
	case !c.at.IsZero():
		return row.Moment(c.at)
	case c.kind == words || c.kind == document:
		return row.Text(c.text)
	}
	return row.Plain(c.text)
}

// object writes a row as one JSON object, its keys in the order of the names.
func (t *table) object(cells []cell) error {
	line := []byte{'{'}
	for i, c := range cells {
		value, err := json.Marshal(c.value())
		if err != nil {
			return err
		}
		line = fmt.Appendf(line, "%q:", t.names[i])
		line = append(append(line, value...), ',')
	}
	line[len(line)-1] = '}'
	_, err := t.lines.Write(append(line, '\n'))
	return err
}

func (c cell) value() any {
	switch {
	case !c.at.IsZero():
		return c.at.Format("2006-01-02T15:04:05.000Z07:00")
	case c.kind == nothing:
		return nil
	case c.kind == words || c.kind == number && !plainNumber(json.Number(c.text)):
		return c.text // JSON has no sign for what is no number
	}
	return json.RawMessage(c.text)
}

func plainNumber(n json.Number) bool {
	v, err := n.Float64()
	return err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

// end writes what is still held back, and gives the first error of all.
func (t *table) end() error {
	if err := t.lines.Flush(); err != nil {
		return fmt.Errorf("writing the table: %w", err)
	}
	return nil
}
