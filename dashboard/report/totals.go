package report

import (
	"slices"
	"strconv"
	"time"

	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

// Total is one figure of the first page, with the recipe by which a stranger
// computes it again from one table.
type Total struct {
	Name phrase.Sentence
	// Figure is nil when nothing was there to count from.
	Figure *float64
	Unit   string
	File   string // the table it comes from
	How    phrase.Sentence
}

// Value is the figure as it stands in the table of totals, rounded to a thousandth;
// empty when it is not known.
func (t Total) Value() string {
	if t.Figure == nil {
		return ""
	}
	return strconv.FormatFloat(*t.Figure, 'f', decimals(*t.Figure), 64)
}

func decimals(v float64) int {
	if v == float64(int64(v)) {
		return 0
	}
	return 3
}

// Totals computes every total of a pack.
func Totals(d Data) []Total {
	return slices.Concat(sessionTotals(d), coverageTotals(d), alarmTotals(d), bookTotals(d))
}

func sessionTotals(d Data) []Total {
	var uncovered, unproven, unknown, proven time.Duration
	var lowest, typical []float64
	for _, s := range d.Sessions {
		uncovered, unproven, unknown, proven = uncovered+s.Uncovered, unproven+s.Unproven, unknown+s.Unknown(), proven+s.FlowProven
		if s.Lowest != nil {
			lowest = append(lowest, *s.Lowest)
		}
		if s.Typical != nil {
			typical = append(typical, *s.Typical)
		}
	}
	const file = "sessions.csv"
	return []Total{
		count(len(d.Sessions), phrase.Say("sessions"), file, phrase.Say("the number of rows")),
		{phrase.Say("trays uncovered"), minutes(uncovered), "min", file, phrase.Say("the sum of uncovered_s, divided by 60")},
		{phrase.Say("trays uncovered and flow proven"), minutes(uncovered - unproven), "min", file,
			phrase.Say("the sum of uncovered_s less the sum of unproven_s, divided by 60")},
		{phrase.Say("trays uncovered without proven flow"), minutes(unproven), "min", file, phrase.Say("the sum of unproven_s, divided by 60")},
		{phrase.Say("trays uncovered, airflow unknown"), minutes(unknown), "min", file,
			phrase.Say("the sum of uncovered_s less flow_known_s where that is above zero, at most unproven_s, divided by 60")},
		{phrase.Say("flow proven in sessions"), minutes(proven), "min", file, phrase.Say("the sum of flow_proven_s, divided by 60")},
		{phrase.Say("lowest air changes"), atEnd(lowest, slices.Min), "/h", file,
			phrase.Say("the smallest lowest_air_changes_per_hour; " +
				"in each session the smallest mean_air_changes_per_hour of its minutes in air.csv")},
		{phrase.Say("typical air changes"), Median(typical), "/h", file,
			phrase.Say("the median of typical_air_changes_per_hour; in each session the median of mean_air_changes_per_hour of its minutes in " +
				"air.csv. The median is the middle value, or the mean of the middle two")},
	}
}

func coverageTotals(d Data) []Total {
	var required, valid, longest time.Duration
	for _, c := range d.Coverage {
		required, valid, longest = required+c.Required, valid+c.Valid, max(longest, c.Longest)
	}
	var share, gap *float64
	if required > 0 {
		share, gap = new(100*float64(valid)/float64(required)), minutes(longest)
	}
	const file = "coverage.csv"
	return []Total{
		{phrase.Say("readings valid in sessions, over all channels"), share, "%", file,
			phrase.Say("the sum of valid_s divided by the sum of required_s, times 100")},
		{phrase.Say("longest gap of any channel in a session"), gap, "min", file, phrase.Say("the largest longest_gap_s, divided by 60")},
		count(len(d.Gaps), phrase.Say("gaps in sessions"), "gaps.csv", phrase.Say("the number of rows")),
	}
}

func alarmTotals(d Data) []Total {
	unanswered, dropped := 0, 0
	var waited []float64
	for _, a := range d.Alarms {
		switch {
		case !a.Answered.IsZero():
			waited = append(waited, a.Answered.Sub(a.Raised).Minutes())
		case a.Dropped:
			dropped++
		default:
			unanswered++
		}
	}
	const file = "alarms.csv"
	return []Total{
		count(len(d.Alarms), phrase.Say("alarms"), file, phrase.Say("the number of rows")),
		{phrase.Say("time to acknowledge, median"), Median(waited), "min", file,
			phrase.Say("the median of waited_s where there is one, divided by 60")},
		{phrase.Say("time to acknowledge, longest"), atEnd(waited, slices.Max), "min", file, phrase.Say("the largest waited_s, divided by 60")},
		count(unanswered, phrase.Say("alarms never acknowledged"), file,
			phrase.Say("the number of rows without waited_s whose left_before_answer is no")),
		count(dropped, phrase.Say("alarms unanswered when the room was left"), file,
			phrase.Say("the number of rows without waited_s whose left_before_answer is yes")),
		count(len(d.Aside), phrase.Say("alarms snoozed or switched off"), "alarms-aside.csv", phrase.Say("the number of rows")),
	}
}

func bookTotals(d Data) []Total {
	kinds := map[string]int{}
	volumes := map[string]float64{}
	for _, e := range d.Chemistry {
		kinds[e.Counts]++
		if e.Volume != nil {
			volumes[e.Counts] += *e.Volume
		}
	}
	corrections := howMany(d.Late, func(l Late) bool { return l.Corrects != 0 })
	overdue := howMany(d.Duties, func(u Duty) bool { return u.Overdue })
	onLine := func(line ledger.SilverLine) int {
		return howMany(d.Silver, func(s Silver) bool { return s.Line == line })
	}
	const file, silver = "chemistry.csv", "silver.csv"
	litres := func(kind string) *float64 { return new(volumes[kind] / 1000) }
	rows := func(kind string) phrase.Sentence { return phrase.Say("the number of rows whose counts_as is %s", kind) }
	sum := func(kind string) phrase.Sentence {
		return phrase.Say("the sum of volume_ml where counts_as is %s, divided by 1000", kind)
	}
	batchMixed, testDone, discarded := ledger.BatchMixed{}.Kind(), ledger.TestDone{}.Kind(), ledger.Discarded{}.Kind()
	wasteAdded, wasteCollected := ledger.WasteAdded{}.Kind(), ledger.WasteCollected{}.Kind()
	return []Total{
		count(kinds[batchMixed], phrase.Say("batches mixed"), file, rows(batchMixed)),
		{phrase.Say("volume mixed"), litres(batchMixed), "L", file, sum(batchMixed)},
		count(kinds[testDone], phrase.Say("tests of baths and prints"), file, rows(testDone)),
		{phrase.Say("volume discarded"), litres(discarded), "L", file, sum(discarded)},
		{phrase.Say("other waste added"), litres(wasteAdded), "L", file, sum(wasteAdded)},
		count(kinds[wasteCollected], phrase.Say("waste containers collected"), file, rows(wasteCollected)),
		count(len(d.Silver), phrase.Say("silver results"), silver, phrase.Say("the number of rows")),
		count(onLine(ledger.ReachesLine), phrase.Say("silver results at or above the US federal limit"), silver,
			phrase.Say("the number of rows whose us_federal_line begins with at or above")),
		count(onLine(ledger.LineUnknown), phrase.Say("silver results inconclusive against that limit"), silver,
			phrase.Say("the number of rows whose us_federal_line begins with cannot")),
		count(len(d.Late)-corrections, phrase.Say("late entries"), "late-and-corrected.csv", phrase.Say("the number of rows without corrects")),
		count(corrections, phrase.Say("corrections"), "late-and-corrected.csv", phrase.Say("the number of rows with corrects")),
		count(len(d.People), phrase.Say("people (once per role)"), "people.csv", phrase.Say("the number of rows")),
		count(overdue, phrase.Say("duties overdue at the end"), "duties.csv", phrase.Say("the number of rows whose overdue is yes")),
	}
}

func howMany[Row any](rows []Row, counts func(Row) bool) (n int) {
	for _, r := range rows {
		if counts(r) {
			n++
		}
	}
	return n
}

func count(n int, name phrase.Sentence, file string, how phrase.Sentence) Total {
	return Total{name, new(float64(n)), "", file, how}
}

func minutes(d time.Duration) *float64 { return new(d.Minutes()) }

// Median is the middle value, or the mean of the middle two; nil of nothing.
func Median(values []float64) *float64 {
	if len(values) == 0 {
		return nil
	}
	sorted := slices.Sorted(slices.Values(values))
	return new((sorted[(len(sorted)-1)/2] + sorted[len(sorted)/2]) / 2)
}

// atEnd is the least or the most of values; nil of nothing.
func atEnd(values []float64, end func([]float64) float64) *float64 {
	if len(values) == 0 {
		return nil
	}
	return new(end(values))
}
