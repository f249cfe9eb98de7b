package history

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"

	"wetside/sensors/quantity/phrase"
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
}

type cellKind uint8

const (
	nothing  cellKind = iota
	words             // text of people, or a name
	number            // as JSON writes one, or NaN or Inf
	truth             // true or false
	document          // JSON
)

func wordsCell(text string) cell { return cell{words, text} }

func numberCell[T int64 | uint64](n T) cell { return cell{number, fmt.Sprint(n)} }

// table writes rows as they come. The zero Form is CSV.
type table struct {
	names []string
	texts []string // of the row at hand
	csv   *csv.Writer
	lines *bufio.Writer
}

func newTable(out io.Writer, form Form, names ...string) *table {
	t := &table{names: names, texts: make([]string, len(names))}
	if form == JSONLines {
		t.lines = bufio.NewWriter(out)
		return t
	}
	t.csv = csv.NewWriter(out)
	_ = t.csv.Write(names) // an error stays with the writer and comes with the end
	return t
}

// row writes one row, a cell for each name.
func (t *table) row(cells []cell) error {
	if t.csv == nil {
		return t.object(cells)
	}
	for i, c := range cells {
		t.texts[i] = c.text
		if c.kind == words || c.kind == document {
			t.texts[i] = phrase.Cell(c.text)
		}
	}
	return t.csv.Write(t.texts)
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

// value is a cell as JSON has it.
func (c cell) value() any {
	switch {
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
	var err error
	if t.csv != nil {
		t.csv.Flush()
		err = t.csv.Error()
	} else {
		err = t.lines.Flush()
	}
	if err != nil {
		return fmt.Errorf("writing the table: %w", err)
	}
	return nil
}
