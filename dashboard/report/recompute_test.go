package report_test

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
)

// stranger recomputes totals by the recipes that a pack prints, from its tables alone: a
// recipe that does not say what to do, or that leads to another figure, is a fault of the pack.
type stranger struct {
	*testing.T
	rows []map[string]string
	how  string
}

// match gives the parts of the recipe, nil where its form is another.
func (s stranger) match(form string) []string {
	return regexp.MustCompile(`^` + form + `$`).FindStringSubmatch(s.how)
}

// column gives the numbers of a column, of the rows that are wanted; empty cells are none.
func (s stranger) column(name string, wanted func(map[string]string) bool) (list []float64) {
	for _, row := range s.rows {
		text, known := row[name]
		require.True(s, known, "%q names a column that there is not: %s", s.how, name)
		if text == "" || wanted != nil && !wanted(row) {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(s, err)
		list = append(list, v)
	}
	return list
}

func (s stranger) count(wanted func(map[string]string) bool) (n float64) {
	for _, row := range s.rows {
		if wanted(row) {
			n++
		}
	}
	return n
}

func total(list []float64) (sum float64) {
	for _, v := range list {
		sum += v
	}
	return sum
}

func middle(list []float64) float64 {
	slices.Sort(list)
	return (list[(len(list)-1)/2] + list[len(list)/2]) / 2
}

// counted follows the recipes that count rows.
func (s stranger) counted() (float64, bool) {
	if s.match(`the number of rows`) != nil {
		return float64(len(s.rows)), true
	}
	if m := s.match(`the number of rows whose (\w+) is (.+)`); m != nil {
		return s.count(func(r map[string]string) bool { return r[m[1]] == m[2] }), true
	}
	if m := s.match(`the number of rows whose (\w+) begins with (.+)`); m != nil {
		return s.count(func(r map[string]string) bool { return strings.HasPrefix(r[m[1]], m[2]) }), true
	}
	if m := s.match(`the number of rows (with|without) (\w+)`); m != nil {
		return s.count(func(r map[string]string) bool { return (r[m[2]] != "") == (m[1] == "with") }), true
	}
	if m := s.match(`the number of rows without (\w+) whose (\w+) is (\w+)`); m != nil {
		return s.count(func(r map[string]string) bool { return r[m[1]] == "" && r[m[2]] == m[3] }), true
	}
	return 0, false
}

// summed follows the recipes that add up.
func (s stranger) summed() (float64, bool) {
	number := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(s, err)
		return v
	}
	if m := s.match(`the sum of (\w+), divided by (\d+)`); m != nil {
		return total(s.column(m[1], nil)) / number(m[2]), true
	}
	if m := s.match(`the sum of (\w+) where (\w+) is (.+), divided by (\d+)`); m != nil {
		return total(s.column(m[1], func(r map[string]string) bool { return r[m[2]] == m[3] })) / number(m[4]), true
	}
	if m := s.match(`the sum of (\w+) less the sum of (\w+), divided by (\d+)`); m != nil {
		return (total(s.column(m[1], nil)) - total(s.column(m[2], nil))) / number(m[3]), true
	}
	if m := s.match(`the sum of (\w+) divided by the sum of (\w+), times 100`); m != nil {
		return 100 * total(s.column(m[1], nil)) / total(s.column(m[2], nil)), true
	}
	if m := s.match(`the sum of (\w+) less (\w+) where that is above zero, at most (\w+), divided by (\d+)`); m != nil {
		sum := 0.0
		for _, r := range s.rows {
			sum += min(max(number(r[m[1]])-number(r[m[2]]), 0), number(r[m[3]]))
		}
		return sum / number(m[4]), true
	}
	return 0, false
}

// picked follows the recipes that take one value of a column.
func (s stranger) picked() (float64, bool) {
	divided := 1.0
	if strings.Contains(s.how, ", divided by 60") {
		divided = 60
	}
	if m := s.match(`the (smallest|largest) (\w+)(?:, divided by 60)?(?:;.*)?`); m != nil {
		if m[1] == "smallest" {
			return slices.Min(s.column(m[2], nil)) / divided, true
		}
		return slices.Max(s.column(m[2], nil)) / divided, true
	}
	if m := s.match(`the median of (\w+)(?: where there is one, divided by 60)?(?:;.*)?`); m != nil {
		return middle(s.column(m[1], nil)) / divided, true
	}
	return 0, false
}

func TestAStrangerComputesEveryTotalAgainByItsRecipe(t *testing.T) {
	d, seen := term(40), 0
	for _, row := range read(t, d, "totals.csv") {
		s := stranger{t, read(t, d, row["from"]), row["how"]}
		value, known := s.counted()
		if !known {
			value, known = s.summed()
		}
		if !known {
			value, known = s.picked()
		}
		require.True(t, known, "nobody can follow the recipe of %q: %s", row["total"], s.how)
		want, err := strconv.ParseFloat(row["value"], 64)
		require.NoError(t, err, "%s has a value in this invented term", row["total"])
		require.InDelta(t, want, value, 0.001, "%s: %s", row["total"], s.how)
		seen++
	}
	require.GreaterOrEqual(t, seen, 20)
}

// Figures are worked out in binary and read in decimal: what is written has the digits that mean something.
func TestNoTableHasNoiseInItsFigures(t *testing.T) {
	d := term(3)
	d.Rooms[0].Changes = f(0.508 * 14.4)
	d.Sessions[0].Lowest, d.Sessions[0].Required = f(8.908005604207945), f(1.1*1.1)
	d.Coverage = append(d.Coverage, report.Coverage{Session: 1, Required: 78227037902, Valid: 77506087667})
	require.Equal(t, "7.3152", read(t, d, "rooms.csv")[0]["required_air_changes_per_hour"])
	for _, table := range report.Tables(d) {
		for _, row := range read(t, d, table.File) {
			for name, cell := range row {
				require.NotRegexp(t, `^-?\d+\.\d{8,}$`, cell, "%s: %s", table.File, name)
			}
		}
	}
}
