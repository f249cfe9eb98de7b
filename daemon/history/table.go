package history

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// Form is how a table is written out.
type Form string

// The forms of a table: comma-separated values with a heading, or one JSON object a line.
const (
	CSV       Form = "csv"
	JSONLines Form = "jsonl"
)

// table writes rows as they come. The zero Form is CSV.
type table struct {
	names []string
	csv   *csv.Writer
	lines *bufio.Writer
}

func newTable(out io.Writer, form Form, names ...string) *table {
	t := &table{names: names}
	if form == JSONLines {
		t.lines = bufio.NewWriter(out)
		return t
	}
	t.csv = csv.NewWriter(out)
	_ = t.csv.Write(names) // an error stays with the writer and comes with the end
	return t
}

// row writes one row; its cells are text, numbers, JSON or nil for nothing.
func (t *table) row(cells ...any) error {
	if t.csv == nil {
		return t.object(cells)
	}
	texts := make([]string, len(cells))
	for i, cell := range cells {
		switch c := cell.(type) {
		case nil:
		case string:
			texts[i] = harmless(c)
		case json.RawMessage:
			texts[i] = harmless(string(c))
		default:
			texts[i] = fmt.Sprint(c)
		}
	}
	return t.csv.Write(texts)
}

// object writes a row as one JSON object, its keys in the order of the names.
func (t *table) object(cells []any) error {
	line := []byte{'{'}
	for i, cell := range cells {
		if n, ok := cell.(json.Number); ok && !plainNumber(n) {
			cell = string(n) // JSON has no sign for what is no number
		}
		value, err := json.Marshal(cell)
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

// harmless keeps a spreadsheet from taking text for a formula. The wide signs are
// those that some spreadsheets take for the narrow ones.
func harmless(text string) string {
	first, _ := utf8.DecodeRuneInString(text)
	if strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + text
	}
	return text
}
