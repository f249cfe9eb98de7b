package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Table is one file of comma-separated values.
type Table struct {
	File  string
	Names []string
	Rows  [][]string
}

// Write writes the table with its heading.
func (t Table) Write(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(t.Names); err != nil {
		return phrase.Errorf("writing %s: %w", t.File, err)
	}
	if err := out.WriteAll(t.Rows); err != nil {
		return phrase.Errorf("writing %s: %w", t.File, err)
	}
	return nil
}

// Tables are all tables of a pack, the totals last.
func Tables(d Data) []Table {
	tables := []Table{d.rooms(), d.sessions(), d.minutes(), d.airStates(), d.coverage(), d.gaps(), d.averages(), d.statements(), d.gasMinutes(), d.alarms(), d.aside(), d.chemistry(), d.silver(),
		d.settings(), d.changes(), d.corrections(), d.devices(), d.checks(), d.lastChecks(), d.hands(), d.found(), d.duties(), d.dutiesDone(), d.late(), d.people(), d.clock(), d.notMeasured()}
	totals := Table{File: "totals.csv", Names: []string{"total", "value", "unit", "from", "how"}}
	for _, t := range Totals(d) {
		totals.Rows = append(totals.Rows, []string{t.Name.String(), t.Value(), t.Unit, t.File, t.How.String()})
	}
	return append(tables, totals)
}

// stamps are a time in UTC and as the place's own with its offset.
func (d Data) stamps(t time.Time) []string {
	if t.IsZero() {
		return []string{"", ""}
	}
	const form = "2006-01-02T15:04:05.000Z07:00"
	return []string{t.UTC().Format(form), t.In(d.zone()).Format(form)}
}

func (d Data) zone() *time.Location {
	if d.Zone == nil {
		return time.UTC
	}
	return d.Zone
}

// row joins cells and pairs of cells.
func row(parts ...any) []string {
	var cells []string
	for _, p := range parts {
		switch p := p.(type) {
		case string:
			cells = append(cells, phrase.Cell(p))
		case phrase.Sentence:
			cells = append(cells, phrase.Cell(p.String()))
		case []string:
			cells = append(cells, p...)
		case time.Duration:
			cells = append(cells, strconv.FormatFloat(p.Seconds(), 'f', -1, 64))
		case *float64:
			cells = append(cells, figure(p))
		case float64:
			cells = append(cells, figure(&p))
		case bool:
			cells = append(cells, map[bool]string{true: "yes", false: "no"}[p])
		default:
			cells = append(cells, fmt.Sprint(p))
		}
	}
	return cells
}

// figure writes a number exactly, and nothing for one that is not known.
func figure(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// reference is the number of a record, empty for none.
func reference(number uint64) string {
	if number == 0 {
		return ""
	}
	return strconv.FormatUint(number, 10)
}
