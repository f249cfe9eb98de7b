package report_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/locale"
	"wetside/dashboard/report"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func f(v float64) *float64 { return &v }

func evening(day int) time.Time { return time.Date(2026, 9, 1+day, 16, 30, 0, 0, time.UTC) }

// term is an invented term of a room.
func term(sessions int) report.Data {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		panic(err)
	}
	d := report.Data{From: time.Date(2026, 8, 31, 22, 0, 0, 0, time.UTC), To: time.Date(2026, 12, 20, 23, 0, 0, 0, time.UTC), Zone: zone,
		Made: time.Date(2026, 12, 21, 9, 0, 0, 0, time.UTC), Version: "test", Simulated: true,
		Book: report.Book{Checkpoint: "812:" + strings.Repeat("5f", 32), Holds: true, Records: 640},
		Rooms: []report.Room{{ID: "darkroom", Name: "Darkroom", Volume: 30,
			Required: phrase.Say("%.1f air changes an hour, decision of the place", 7.3), Changes: f(7.3),
			Derivation: phrase.Say("not commissioned")}},
		NotMeasured: []phrase.Sentence{phrase.Say("No gas was measured: nothing here says what anybody breathed.")},
		Settings:    []report.Setting{{Name: "rooms darkroom volume_m3", Value: "30", Since: evening(0), Record: 4}},
		Corrections: []report.Correction{{Channel: "developer-tray", Name: "Developer tray", From: evening(0), Slope: 1, Offset: -0.3,
			Known: evening(0)}},
		People: []report.Person{{Name: "Ada Example", Role: phrase.Say("instructor"), Records: 12, First: evening(0), Last: evening(80)}},
	}
	for i := range sessions {
		d.Sessions = append(d.Sessions, session(i))
		for n, name := range []string{"Developer tray", "Exhaust duct"} {
			missing := time.Duration(i%3*n) * 97 * time.Second
			d.Coverage = append(d.Coverage, report.Coverage{Session: i + 1, Room: "darkroom",
				Channel: strings.ToLower(strings.ReplaceAll(name, " ", "-")), Name: name,
				Required: 3 * time.Hour, Valid: 3*time.Hour - missing, Missing: missing, Longest: missing})
			if missing > 0 {
				d.Gaps = append(d.Gaps, report.Gap{Session: i + 1, Channel: "exhaust-duct", From: evening(i).Add(time.Hour),
					To: evening(i).Add(time.Hour + missing), Cause: phrase.Say("port lost")})
			}
		}
	}
	d.AirStates = []report.AirState{
		{Room: "darkroom", Session: 4, State: phrase.Say("moving"), Verdict: "proven", From: evening(3), To: evening(3).Add(time.Hour)},
		{Room: "darkroom", Session: 4, State: phrase.Say("readings disagree"), Verdict: "not proven", From: evening(3).Add(time.Hour),
			To: evening(3).Add(64 * time.Minute), Cause: "Exhaust duct reads 271 m³/h, but Fan switch is off."},
		{Room: "darkroom", Session: 4, State: phrase.Say("stopped"), Verdict: "not proven", From: evening(3).Add(64 * time.Minute),
			Stopped: true, Cause: "No air moves."},
	}
	d.LastChecks = []report.LastCheck{{Channel: "exhaust-duct", Name: "Exhaust duct", Kind: "duct velocity", At: evening(1),
		Method: phrase.Say("reference comparison"), Verdict: phrase.Say("within what is allowed"),
		Instrument: "vane anemometer 7", Certificate: "K-77", Next: evening(90), Record: 61},
		{Channel: "developer-tray", Name: "Developer tray", Kind: "bath temperature", Verdict: phrase.Say("never checked")}}
	d.Averages = []report.Average{
		{Session: 1, Channel: "acid", Name: "Room acid", Agent: "acetic acid", Limit: phrase.Say("an invented limit of 10 ppm over 15 min"),
			Value: 10, Unit: "ppm", Minutes: 15, Low: f(1.2), High: f(1.4), Known: 98, Text: phrase.Say("between 1.2 and 1.4 ppm"),
			Verdict: phrase.Say("within the limit")},
		{Session: 2, Channel: "acid", Name: "Room acid", Agent: "acetic acid", Limit: phrase.Say("an invented limit of 10 ppm over 15 min"),
			Value: 10, Unit: "ppm", Minutes: 15, Text: phrase.Say("no data"), Verdict: phrase.Say("can't tell")},
	}
	d.Alarms = []report.Alarm{
		{Room: "darkroom", ID: "air", Text: phrase.Say("The air does not move."), Cause: "0.1 m/s, stopped below 25 m³/h", Urgent: true,
			Raised: evening(3).Add(time.Hour), Answered: evening(3).Add(time.Hour + 95*time.Second), By: "Ada Example",
			Done: "Timer turned on again", Cleared: evening(3).Add(64 * time.Minute), Record: 90},
		{Room: "darkroom", ID: "line:duct", Text: phrase.Say("The duct probe is silent."), Cause: "unplugged",
			Raised: evening(5).Add(time.Hour), Record: 120},
		{Room: "darkroom", ID: "air", Text: phrase.Say("The air does not move."), Cause: "no reading", Raised: evening(6).Add(time.Hour),
			Dropped: true, Cleared: evening(6).Add(2 * time.Hour), Record: 130},
	}
	d.Chemistry = []report.Entry{
		{Record: 31, Happened: evening(0), Entered: evening(0), Kind: "batch mixed", Counts: "batch mixed", Person: "Ida",
			What: phrase.Plain("Paper developer 1+9"), Volume: f(2000)},
		{Record: 32, Happened: evening(0), Entered: evening(1), Kind: "batch mixed", Person: "Ida", What: phrase.Plain("typed wrongly"),
			Volume: f(500), CorrectedBy: 33},
		{Record: 33, Happened: evening(0), Entered: evening(1), Kind: "correction", Counts: "batch mixed", Person: "Ida",
			What: phrase.Plain("it was 1500 mL"), Volume: f(1500)},
		{Record: 34, Happened: evening(2), Entered: evening(2), Kind: "discarded", Counts: "discarded", Person: "Ida",
			What: phrase.Plain("Fixer, exhausted"), Volume: f(1950)},
	}
	d.Silver = []report.Silver{{Record: 35, Sampled: evening(2), Of: "waste drum", Figure: "<0.2 mg/L", Line: ledger.UnderLine,
		Method: phrase.Say("laboratory"), Reference: "paper 7", Person: "Ida"}}
	d.Late = []report.Late{{Record: 32, Kind: "batch mixed", Happened: evening(0), Written: evening(1), Person: "Ida",
		Reason: "forgotten"}, {Record: 33, Corrects: 32, Kind: "correction", Written: evening(1), Person: "Ida", Reason: "typed wrongly"}}
	d.Duties = []report.Duty{{Name: "Eyewash activation", Owner: "Technician", Every: phrase.Say("7 days"), Due: evening(60),
		Overdue: true, Done: []report.DutyDone{{At: evening(20), Person: "Ida", Evidence: "ran 3 min, clear", Record: 70}}, Last: evening(20)}}
	return d
}

func session(i int) report.Session {
	s := report.Session{Number: i + 1, Room: "darkroom", Title: "Evening class", Leader: "Ada Example", People: 8, Begun: evening(i),
		Ended:     evening(i).Add(3 * time.Hour),
		Uncovered: 2*time.Hour + time.Duration(i)*time.Second, Unproven: time.Duration(i%4) * 61 * time.Second,
		TrayUnproven: time.Duration(i%4) * 183 * time.Second,
		FlowKnown:    2 * time.Hour, FlowProven: 2*time.Hour + 30*time.Minute, Required: f(7.3), Record: uint64(40 + i)}
	if i%7 != 5 {
		s.Lowest, s.Typical = f(6.5+float64(i%5)/3), f(8+float64(i%3)/7)
	}
	return s
}

// written is the text of every table.
func written(t require.TestingT, d report.Data) map[string]string {
	all := map[string]string{}
	for _, table := range report.Tables(d) {
		var out bytes.Buffer
		require.NoError(t, table.Write(&out))
		all[table.File] = out.String()
	}
	return all
}

// read reads a table back as rows by the names of its columns.
func read(t require.TestingT, d report.Data, file string) []map[string]string {
	for _, table := range report.Tables(d) {
		if table.File != file {
			continue
		}
		var out bytes.Buffer
		require.NoError(t, table.Write(&out))
		all, err := csv.NewReader(&out).ReadAll()
		require.NoError(t, err)
		var rows []map[string]string
		for _, cells := range all[1:] {
			row := map[string]string{}
			for i, name := range all[0] {
				row[name] = cells[i]
			}
			rows = append(rows, row)
		}
		return rows
	}
	require.Fail(t, "no table", file)
	return nil
}

func TestTheTotalsCanBeComputedAgainFromTheTables(t *testing.T) {
	d := term(40)
	totals := map[string]string{}
	for _, row := range read(t, d, "totals.csv") {
		totals[row["total"]] = row["value"]
	}
	number := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err, text)
		return v
	}
	sum := func(file, column string) (sum float64) {
		for _, row := range read(t, d, file) {
			if row[column] != "" {
				sum += number(row[column])
			}
		}
		return sum
	}
	uncovered, unproven := sum("sessions.csv", "uncovered_s"), sum("sessions.csv", "unproven_s")
	require.Equal(t, strconv.Itoa(len(read(t, d, "sessions.csv"))), totals["sessions"])
	require.InDelta(t, uncovered/60, number(totals["trays uncovered"]), 0.001)
	require.InDelta(t, (uncovered-unproven)/60, number(totals["trays uncovered and flow proven"]), 0.001)
	require.InDelta(t, unproven/60, number(totals["trays uncovered without proven flow"]), 0.001)
	unknown := 0.0
	for _, row := range read(t, d, "sessions.csv") {
		unknown += min(max(number(row["uncovered_s"])-number(row["flow_known_s"]), 0), number(row["unproven_s"]))
	}
	require.InDelta(t, unknown/60, number(totals["trays uncovered, airflow unknown"]), 0.001)
	require.InDelta(t, sum("sessions.csv", "flow_proven_s")/60, number(totals["flow proven in sessions"]), 0.001)
	require.InDelta(t, 100*sum("coverage.csv", "valid_s")/sum("coverage.csv", "required_s"),
		number(totals["readings valid in sessions, over all channels"]), 0.001)
	require.InDelta(t, 95.0/60, number(totals["time to acknowledge, median"]), 0.001)
	require.Equal(t, "1", totals["alarms never acknowledged"])
	require.Equal(t, "1", totals["alarms unanswered when the room was left"])
	require.Equal(t, "2", totals["batches mixed"], "a corrected entry does not count, its replacement does")
	require.Equal(t, "3.500", totals["volume mixed"])
	require.Equal(t, "1.950", totals["volume discarded"])
	require.Equal(t, []string{"1", "0", "0"}, []string{totals["silver results"], totals["silver results at or above the US federal limit"],
		totals["silver results inconclusive against that limit"]})
	d.Silver = append(d.Silver, report.Silver{Line: ledger.ReachesLine},
		report.Silver{Line: ledger.LineUnknown}, report.Silver{Line: ledger.LineUnknown})
	for _, row := range read(t, d, "totals.csv") {
		totals[row["total"]] = row["value"]
	}
	lines := map[string]int{}
	for _, row := range read(t, d, "silver.csv") {
		lines[strings.SplitN(row["us_federal_line"], " ", 2)[0]]++
	}
	require.Equal(t, []string{"4", strconv.Itoa(lines["at"]), strconv.Itoa(lines["cannot"])},
		[]string{totals["silver results"], totals["silver results at or above the US federal limit"],
			totals["silver results inconclusive against that limit"]})
	require.Equal(t, []string{"1", "1"}, []string{totals["late entries"], totals["corrections"]})
	require.Equal(t, "1", totals["duties overdue at the end"])
	require.Equal(t, sum("gaps.csv", "missing_s"), sum("coverage.csv", "missing_s"), "the gaps explain all that is missing")
}

func TestValuesThatAreNotKnownAreNoZeros(t *testing.T) {
	for _, row := range read(t, report.Data{}, "totals.csv") {
		if strings.Contains(row["total"], "air changes") || strings.Contains(row["total"], "acknowledge,") || strings.Contains(row["total"],
			"readings valid") {
			require.Empty(t, row["value"], row["total"])
		}
	}
	require.Nil(t, report.Median(nil))
	require.InDelta(t, 2.5, *report.Median([]float64{4, 1, 2, 3}), 1e-12)
	require.Contains(t, page(t, report.Data{}), "No session was held in this period.")
}

func pdf(t require.TestingT, d report.Data) []byte {
	var out bytes.Buffer
	require.NoError(t, report.WritePDF(&out, report.Compose(d), d.Made))
	return out.Bytes()
}

func TestThePDFHasThePaperOfItsPlaceAndAnOutline(t *testing.T) {
	d := term(6)
	// ISO 216: 210 x 297 mm. US letter: 8.5 x 11 in. A point is 1/72 in.
	for paper, want := range map[string]struct {
		by  locale.Units
		box string
	}{"A4": {locale.Units{}, "[0 0 595.28 841.89]"}, "letter": {locale.Units{Letter: true}, "[0 0 612.00 792.00]"}} {
		d.By = want.by
		data := string(pdf(t, d))
		require.Contains(t, data, "/MediaBox "+want.box, paper)
		require.NotContains(t, strings.ReplaceAll(data, "/MediaBox "+want.box, ""), "/MediaBox", "every page is %s", paper)
		require.Contains(t, data, "/PageMode /UseOutlines", paper)
		sections := len(report.Compose(d).Sections)
		require.Equal(t, sections+sections-2, strings.Count(data, "/Dest ["), "each section is in the outline, and all but two in the list")
		for _, info := range []string{"/Title (", "/Subject (", "/Producer (", "/CreationDate (", "/Lang (en)"} {
			require.Contains(t, data, info, paper)
		}
	}
}

// pagesOf counts the pages that a PDF says it has.
func pagesOf(t require.TestingT, data []byte) int {
	require.True(t, bytes.HasPrefix(data, []byte("%PDF-1.")))
	require.True(t, bytes.HasSuffix(bytes.TrimSpace(data), []byte("%%EOF")))
	m := regexp.MustCompile(`/Count (\d+)`).FindSubmatch(data)
	require.NotNil(t, m)
	n, err := strconv.Atoi(string(m[1]))
	require.NoError(t, err)
	return n
}

func page(t require.TestingT, d report.Data) string {
	var out bytes.Buffer
	require.NoError(t, report.WriteHTML(&out, report.Compose(d)))
	return out.String()
}

func TestThePDFIsWholeAndTheSameEachTime(t *testing.T) {
	first := pdf(t, term(40))
	require.Equal(t, first, pdf(t, term(40)))
	require.Greater(t, pagesOf(t, first), 3)
	require.Equal(t, 5, pagesOf(t, pdf(t, report.Data{Zone: time.UTC})), "a time without anything is told on few pages")
	require.Greater(t, pagesOf(t, pdf(t, term(10_000))), 10, "thirty years end as well")
	require.Contains(t, page(t, term(10_000)), "9700 more rows are in the table sessions.csv.")
}

func TestTheTimesWithoutProvenAirAndTheLastChecksAreInTheReport(t *testing.T) {
	text := page(t, term(5))
	require.Contains(t, text, "Exhaust duct reads 271 m³/h, but Fan switch is off.")
	require.Contains(t, text, "not known: wetside stopped")
	require.Contains(t, text, "K-77")
	require.Contains(t, text, "never checked")
	require.Len(t, read(t, term(5), "air-states.csv"), 3, "the table has the proven times too")
	require.NotContains(t, page(t, report.Data{}), "readings disagree")
}

func TestMeasuredSilverStandsInTheReportAndInATable(t *testing.T) {
	d := term(3)
	require.Equal(t, []map[string]string{{"record": "35", "sampled": evening(2).Format(time.DateOnly), "of": "waste drum",
		"silver": "<0.2 mg/L", "us_federal_line": "under 5.0 mg/L",
		"method": "laboratory", "reference": "paper 7", "person": "Ida"}}, read(t, d, "silver.csv"))
	require.Contains(t, page(t, d), "under 5.0 mg/L")
	d.Silver = nil
	require.Contains(t, page(t, d), "No silver result was recorded in this period.")
}

func TestNamesOfEveryScriptComeThrough(t *testing.T) {
	d := term(1)
	names := []string{"Ждана", "Ελένη", "שלום", "مرحبا", "山田", "ขวัญ", "👩🏽‍🔬", "Zoë", "a\u202eb", "=1+1", "<script>alert(1)</script>",
		strings.Repeat("x", 5000), "\xff\xfe"}
	for _, n := range names {
		d.People = append(d.People, report.Person{Name: n, Records: 1})
	}
	require.NotEmpty(t, pagesOf(t, pdf(t, d)))
	html := page(t, d)
	for _, n := range names[:8] {
		require.Contains(t, html, n)
	}
	require.NotContains(t, html, "<script>")
	rows := read(t, d, "people.csv")
	require.Equal(t, "山田", rows[5]["person"])
	require.Equal(t, "'=1+1", rows[10]["person"])
}

// FuzzNames hands any names over: a PDF and a page come of them.
func FuzzNames(f *testing.F) {
	for _, name := range []string{"Zoë", "山田", "a\u202eb", "\xff\xfe", "\x00", strings.Repeat("x", 3000), "{n}", "<b>", "\u0301\u0301"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		d := term(1)
		d.Sessions[0].Title, d.Rooms[0].Name = name, name
		pagesOf(t, pdf(t, d))
		_ = page(t, d)
	})
}

// disk keeps files in memory and is full after so many bytes.
type disk struct {
	mu    sync.Mutex
	files map[string]*bytes.Buffer
	free  int
}

type open struct {
	*disk
	name string
}

func (o open) Write(b []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.free -= len(b); o.free < 0 {
		return 0, errors.New("no space left on device")
	}
	return o.files[o.name].Write(b)
}

func (open) Close() error { return nil }

func (d *disk) create(name string) (io.WriteCloser, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.files[name] = &bytes.Buffer{}
	return open{d, name}, nil
}

func TestAPackHasItsChecksums(t *testing.T) {
	d := &disk{files: map[string]*bytes.Buffer{}, free: 50 << 20}
	require.NoError(t, report.WriteFiles(report.Files(term(3)), d.create))
	lines := strings.Split(strings.TrimSpace(d.files["SHA256SUMS"].String()), "\n")
	require.Len(t, lines, len(d.files)-1, "every file but the list itself")
	for _, line := range lines {
		sum, name, found := strings.Cut(line, "  ")
		require.True(t, found)
		require.Equal(t, fmt.Sprintf("%x", sha256.Sum256(d.files[name].Bytes())), sum)
	}
}

func TestADiskThatFillsUpIsToldWithTheFile(t *testing.T) {
	d := &disk{files: map[string]*bytes.Buffer{}, free: 60 << 10}
	err := report.WriteFiles(report.Files(term(30)), d.create)
	require.ErrorContains(t, err, "no space left")
	require.NotContains(t, d.files, "SHA256SUMS", "half a pack has no list that says it is whole")
}

func ExampleMedian() {
	fmt.Println(*report.Median([]float64{7.2, 6.4, 9.9}))
	// Output: 7.2
}

func TestARowThatWasAddedToTheSettingsStandsAsOneChange(t *testing.T) {
	d := report.Data{Zone: time.UTC, Changes: []report.Change{
		{At: evening(1), Record: 9, Name: "rooms / wet / required / 2 / kind", Now: "air changes"},
		{At: evening(1), Record: 9, Name: "rooms / wet / required / 2 / value", Now: "8"},
		{At: evening(1), Record: 9, Name: "rooms / wet / required / 1 / value", Was: "6", Now: "7"},
		{At: evening(2), Record: 10, Name: "rooms / wet / required / 2 / until", Now: "2027-01-01"},
	}}
	text := page(t, d)
	for _, cell := range []string{">kind air changes; value 8<", ">until 2027-01-01<", ">Wet required ventilation 1: value<"} {
		require.Contains(t, text, cell)
	}
	require.Len(t, read(t, d, "settings-changed.csv"), 4)
}

// What people read is told as the place reads it; the tables of values are never changed.
func TestADocumentIsToldAsThePlaceReadsIt(t *testing.T) {
	d := term(4)
	plain := written(t, d)
	d.By = locale.Units{DecimalComma: true}
	page, err := report.Fragment(report.Compose(d))
	require.NoError(t, err)
	require.Contains(t, string(page), "7,3 air changes an hour")
	require.Contains(t, string(page), "min 7,3", "also in the drawing")
	require.Contains(t, string(page), ">−0,3<")
	require.Contains(t, string(page), "the tables of values keep")
	require.Equal(t, plain, written(t, d))
}

func TestWhatPeopleWroteIsNotRetoldAndWhatIsToldIsRoundedOnce(t *testing.T) {
	fahrenheit, err := quantity.ParseUnit("F")
	require.NoError(t, err)
	d := term(4)
	d.By = locale.Units{Temperature: fahrenheit}
	d.Alarms[0].Cause, d.Alarms[0].Done = "unused", "The tray stood at 20 °C, by hand"
	d.Alarms[1].Cause = "the tray stands at 20 °C" // read back from the record
	d.Duties[0].Done[0].Evidence = "water of 38 °C for 15 min"
	d.NotMeasured = []phrase.Sentence{phrase.Say("Below %s nothing was measured.", quantity.Celsius(55./3).To(0.1))}
	text := page(t, d)
	for _, want := range []string{"The tray stood at 20 °C, by hand", "water of 38 °C for 15 min", "the tray stands at 20 °C",
		"Below 65.0 °F nothing was measured."} {
		require.Contains(t, text, want)
	}
}

// The settings are told in words: what belongs to what by its name, with its unit, and with four digits.
// A traverse is one row.
func TestSettingsAreToldInWords(t *testing.T) {
	d := report.Data{Zone: time.UTC, Settings: []report.Setting{{Name: "zone", Value: "UTC"}},
		Rooms: []report.Room{{ID: "wet", Name: "Wet side", Channels: []report.Channel{
			{ID: "dev-1", Name: "Developer tray", Measures: "bath temperature", Unit: "°C", Low: quantity.Celsius(-5).To(0),
				High: quantity.Celsius(60).To(0), Silence: 15 * time.Second},
			{ID: "fan-1", Name: "Fan switch", Measures: "fan switch", Silence: time.Minute}},
			Baths: []report.Bath{{ID: "dev", Name: "Developer", Channel: "Developer tray", Range: phrase.Say("18 °C to 24 °C")},
				{ID: "wash", Name: "Wash"}}}},
		Changes: []report.Change{
			{At: evening(1), Record: 9, Name: "rooms / wet / duct factor", Was: "0.9", Now: "0.8714689265536724"},
			{At: evening(1), Record: 9, Name: "rooms / wet / commissioned / flow m3 per h", Was: "270", Now: "261.67896008076184"},
			{At: evening(1), Record: 9, Name: "rooms / wet / commissioned / date", Was: "2026-09-01T00:00:00Z", Now: "2026-10-08T18:07:00Z"},
			{At: evening(1), Record: 9, Name: "rooms / wet / commissioned / instrument", Was: "", Now: "hot-wire 12"},
			{At: evening(1), Record: 9, Name: "rooms / wet / commissioned / record", Was: "", Now: "9"},
			{At: evening(1), Record: 9, Name: "rooms / wet / commissioned / uncertainty percent", Was: "5", Now: "4.242640687119285"},
			{At: evening(1), Record: 9, Name: "rooms / wet / commissioned / next", Was: "2027-09-01T00:00:00Z", Now: ""},
			{At: evening(1), Record: 9, Name: "rooms / wet / channels / dev-1 / silence s", Was: "15", Now: "30", By: "Ida", Why: "slow probe"},
			{At: evening(1), Record: 9, Name: "zone", Was: "Local", Now: "Europe/Vienna"},
		}}
	cells := map[string][]string{}
	for _, section := range report.Compose(d).Sections {
		if section.Heading != "Settings and their changes" {
			continue
		}
		for _, b := range section.Blocks {
			if g, is := b.(report.Grid); is {
				for _, row := range g.Rows {
					cells[g.Columns[0].Title] = append(cells[g.Columns[0].Title], strings.Join(row, "|"))
				}
			}
		}
	}
	require.Equal(t, map[string][]string{
		"Changed": {"2 Sep 2026 16:30 UTC|Room: duct factor|0.9|0.8715|9|configuration file", "2 Sep 2026 16:30 UTC|Commissioned|" +
			"270 m³/h, 1 Sep 2026, ± 5 %, next by 1 Sep 2027|262 m³/h, 8 Oct 2026, hot-wire 12, ± 4.2 %|9|configuration file",
			"2 Sep 2026 16:30 UTC|Developer tray: silence (s)|15|30|9|Ida, slow probe",
			"2 Sep 2026 16:30 UTC|Site: zone|Local|Europe/Vienna|9|configuration file"},
		"Channel": {"Developer tray|bath temperature|-5 °C to 60 °C|15 s", "Fan switch|fan switch|on or off|60 s"},
		"Bath":    {"Developer|18 °C to 24 °C|Developer tray", "Wash|not set|none"},
	}, cells)
}

func TestAShareIsNeverRoundedUpToAllOfIt(t *testing.T) {
	d := term(1)
	d.Coverage[1].Valid, d.Coverage[1].Missing = 3*time.Hour-100*time.Millisecond, 100*time.Millisecond
	var page bytes.Buffer
	require.NoError(t, report.WriteHTML(&page, report.Compose(d)))
	require.Contains(t, page.String(), "99.99\u00a0%")
	require.NotContains(t, page.String(), "100.0\u00a0%")
}

// Whoever divides by the length of a session would otherwise divide by a length that it does not have.
func TestASessionThatRunsHasNoEndInTheTable(t *testing.T) {
	d := term(2)
	d.Sessions[1].Running, d.Sessions[1].AsOf = true, d.Sessions[1].Begun.Add(time.Hour)
	rows := read(t, d, "sessions.csv")
	require.NotEmpty(t, rows[0]["ended_utc"])
	require.Equal(t, "no", rows[0]["running"])
	require.Empty(t, rows[1]["ended_utc"]+rows[1]["ended_local"])
	require.Equal(t, "yes", rows[1]["running"])
	require.NotEmpty(t, rows[1]["counted_until_utc"])
}

func TestAnAverageThatIsTooWideToTellNamesNoSession(t *testing.T) {
	d := term(1)
	cant := phrase.Say("can't tell")
	for i := range d.Averages {
		d.Averages[i].Text, d.Averages[i].Verdict, d.Averages[i].Wide = cant, cant, true
	}
	gases := report.Compose(d).Sections[7]
	require.Equal(t, []string{"An invented limit of 10 ppm over 15 min", "Room acid", "can't tell", "–", "can't tell: 2"},
		gases.Blocks[0].(report.Grid).Rows[0])
}
