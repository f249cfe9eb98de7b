package report_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem/ledger"
	"wetside/dashboard/locale"
	"wetside/dashboard/report"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// chemistry gives the grids of the section about chemicals by the heading of their first column.
func chemistry(t require.TestingT, d report.Data) map[string]report.Grid {
	grids := map[string]report.Grid{}
	for _, s := range report.Compose(d).Sections {
		if s.Heading != "Batches, tests, discards and waste" {
			continue
		}
		for _, b := range s.Blocks {
			if g, is := b.(report.Grid); is && len(g.Columns) > 0 {
				grids[g.Columns[0].Title] = g
			}
		}
	}
	require.NotEmpty(t, grids)
	return grids
}

// An evening has twenty entries: the report counts them by day, names each batch, and says what the tests showed.
func TestChemistryIsReadByDayByBatchAndByWhatTestsShowed(t *testing.T) {
	d := term(8)
	test := ledger.TestDone{}.Kind()
	for i := range 4 {
		seen := map[bool]string{true: "clear", false: "cloudy"}[i < 3]
		d.Chemistry = append(d.Chemistry, report.Entry{Record: uint64(36 + i), Happened: evening(2).Add(time.Duration(i) * time.Hour),
			Kind: test, Counts: test, Person: "Ada", What: phrase.Plain("first fixer, " + seen)})
	}
	grids := chemistry(t, d)
	require.Equal(t, [][]string{
		{"1 Sep 2026", "Batch mixed\u00a0×\u00a02, corrected since\u00a0×\u00a01", "3.50 L", "", "Ida", "31 to 33"},
		{"3 Sep 2026", "Discarded\u00a0×\u00a01, test done\u00a0×\u00a04", "", "1.95 L", "Ida, Ada", "34 to 39"},
		{"Together", "8 entries", "3.50 L", "1.95 L", "", ""}}, grids["Day"].Rows)
	require.Len(t, grids["Record"].Rows, 3, "what was corrected stays with its first value")
	require.Contains(t, grids["Record"].Rows[1][2], "(corrected by record 33)")
	tests := grids["Test"].Rows
	require.Len(t, tests, 2)
	require.Equal(t, []string{"3", "1"}, []string{tests[0][1], tests[1][1]})
	require.Contains(t, tests[1][0], "cloudy", "a test that failed has a row of its own")
}

// 3.5 L are 118.35 US fluid ounces of 29.5735 mL (NIST Handbook 44, appendix C, from memory), 1.95 L 65.94.
func TestChemistryIsInTheUnitsOfThePlace(t *testing.T) {
	d := term(8)
	ounces, err := quantity.ParseUnit("floz")
	require.NoError(t, err)
	d.By = locale.Units{Volume: ounces}
	rows := chemistry(t, d)["Day"].Rows
	require.Equal(t, []string{"118.3 US fl oz", "65.9 US fl oz"}, rows[len(rows)-1][2:4])
	text := page(t, d)
	for _, name := range []string{"Volume mixed", "Volume discarded"} {
		require.Regexp(t, name+`[^0-9]*(118\.3|65\.9) US fl oz`, text)
	}
	require.NotRegexp(t, `[0-9] L\b`, text)
	require.NotRegexp(t, `not known</td>\s*<td[^>]*>min<`, page(t, evenings([3]time.Duration{})), "a unit of nothing")
}

// 30 m³ are 1059.4 ft³ of 0.0283168 m³ (NIST Handbook 44, appendix C, from memory).
func TestTheVolumeOfARoomIsInTheUnitsOfThePlace(t *testing.T) {
	d := term(8)
	require.Contains(t, page(t, d), ">30 m³<")
	feet, err := quantity.ParseUnit("cfm")
	require.NoError(t, err)
	d.By = locale.Units{Flow: feet}
	require.Contains(t, page(t, d), ">1059 ft³<")
	require.NotContains(t, page(t, d), ">30 m³<")
}

// However the entries fall, the rows add up to the totals and to the number of entries; over many years they are months.
func TestTheDaysOfChemistryAddUpToTheTotals(t *testing.T) {
	kinds := []string{ledger.BatchMixed{}.Kind(), ledger.Discarded{}.Kind(), ledger.TestDone{}.Kind(), ""}
	rapid.Check(t, func(t *rapid.T) {
		d := term(8)
		d.Chemistry = nil
		for i := range rapid.IntRange(1, 900).Draw(t, "entries") {
			e := report.Entry{Record: uint64(i + 1), Happened: evening(rapid.IntRange(0, 600).Draw(t, "day")), Person: "Ida",
				Counts: rapid.SampledFrom(kinds).Draw(t, "kind"), Volume: f(float64(rapid.IntRange(0, 3000).Draw(t, "mL")))}
			e.Kind, e.What = e.Counts, phrase.Plain("as it was written")
			d.Chemistry = append(d.Chemistry, e)
		}
		grids := chemistry(t, d)
		g := grids["Day"]
		if len(g.Rows) == 0 {
			g = grids["Month"]
		}
		entries := 0
		for _, row := range g.Rows[:len(g.Rows)-1] {
			for _, part := range strings.Split(row[1], ", ") {
				n, err := strconv.Atoi(part[strings.LastIndex(part, "\u00a0")+len("\u00a0"):])
				require.NoError(t, err)
				entries += n
			}
		}
		require.Equal(t, len(d.Chemistry), entries)
		require.LessOrEqual(t, len(g.Rows), 300)
		last := g.Rows[len(g.Rows)-1]
		for name, cell := range map[string]string{"volume mixed": last[2], "volume discarded": last[3]} {
			for _, total := range report.Totals(d) {
				if total.Name.String() == name && *total.Figure > 0 {
					require.Equal(t, fmt.Sprintf("%.2f L", *total.Figure), cell)
				}
			}
		}
	})
}

// The words of a report are those of the pages: the inside names of the entries, such as lot, are nobody's.
func TestNoEntryGoesByItsInsideName(t *testing.T) {
	d := report.Data{Zone: time.UTC}
	for i, kind := range ledger.KindNames() {
		d.Chemistry = append(d.Chemistry, report.Entry{Record: uint64(i + 1), Happened: evening(1), Kind: kind, Counts: kind,
			What: phrase.Plain("as it was written")})
	}
	text := chemistry(t, d)["Day"].Rows[0][1]
	require.Contains(t, text, "delivery recorded")
	for _, row := range read(t, d, "chemistry.csv") {
		text += " " + row["kind"] + " " + row["counts_as"]
	}
	for _, inside := range []string{"lot ", "portion", "container", "promoted", "assumptions"} {
		require.NotContains(t, strings.ToLower(text), inside)
	}
}
