package report

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Compose lays a pack out as a document.
func Compose(d Data) Document {
	doc := Document{Title: "Report on the darkroom's record", Subtitle: d.subtitle(), Sections: []Section{
		{"In short", d.short()},
		{"What was not measured", d.unmeasured()},
		{"Rooms", d.roomBlocks()},
		{"Sessions and their air", d.sessionBlocks()},
		{"Coverage of the readings", d.coverageBlocks()},
		{"Gases against the limits in force then", d.averageBlocks()},
		{"Alarms and what was done", d.alarmBlocks()},
		{"Probes and their checks", d.probeBlocks()},
		{"Corrections of probes", d.correctionBlocks()},
		{"Settings and their changes", d.settingBlocks()},
		{"Batches, tests, discards and waste", d.chemistryBlocks()},
		{"Duties", d.dutyBlocks()},
		{"Late entries and corrections", d.lateBlocks()},
		{"People", d.peopleBlocks()},
		{"Clock and program", d.clockBlocks()},
		{"How each total is computed", d.recipeBlocks()},
	}}
	if d.Simulated {
		doc.Banner = "Simulated: every figure here is invented."
	}
	if d.Tell != nil {
		doc.tell(d.Tell)
	}
	return doc
}

func (d Data) subtitle() []string {
	var names []string
	for _, r := range d.Rooms {
		names = append(names, r.Name)
	}
	lines := []string{fmt.Sprintf("%s, from %s up to %s", strings.Join(names, ", "), d.day(d.From), d.day(d.To.Add(-time.Millisecond)))}
	if len(names) == 0 {
		lines[0] = fmt.Sprintf("From %s up to %s", d.day(d.From), d.day(d.To.Add(-time.Millisecond)))
	}
	return append(lines, fmt.Sprintf("Made %s by wetside %s. Local times are of the zone %s; the tables beside this document give UTC as well.%s",
		d.moment(d.Made), d.Version, d.zoneName(), d.units()))
}

// units says how figures are written where they are not written as in the tables.
func (d Data) units() string {
	if d.Tell == nil {
		return ""
	}
	return " Figures in sentences are in the units of the place and with its decimal sign; the tables of values keep °C, m³/h, Pa, mL and a point."
}

// zoneName names the place's zone.
func (d Data) zoneName() string {
	if name := d.zone().String(); name != "Local" {
		return name
	}
	return "that this computer was set to"
}

// short is the first page: the totals, and what the record says of itself.
func (d Data) short() []Block {
	g := Grid{Narrow: true, Columns: []Column{{"", 6, false}, {"", 2, true}, {"", 1, false}}}
	for _, t := range Totals(d) {
		value := t.Value()
		if value == "" {
			value = "not known"
		} else if t.Figure != nil && decimals(*t.Figure) > 0 {
			value = strconv.FormatFloat(*t.Figure, 'f', 2, 64)
		}
		g.Rows = append(g.Rows, []string{sentenceCase(t.Name), value, t.Unit})
	}
	book := fmt.Sprintf("The record book was verified: each of its records rests on the one before, up to the checkpoint %s. %d records were written in this time.", d.Book.Checkpoint, d.Book.Records)
	if !d.Book.Holds {
		book = fmt.Sprintf("The record book does not hold: %s. What was recorded from there on proves nothing until that is explained.", d.Book.Problem)
	}
	return []Block{g, Text(book), Text("Air flow is evidence of a control. It is no measurement of anybody's breathing exposure, and this report is no judgement of it: " +
		"local codes, the safety data sheets and licensed practice come first.")}
}

func (d Data) unmeasured() []Block {
	if len(d.NotMeasured) == 0 {
		return []Block{Text("Nothing is known to be missing beyond the gaps that are listed with each session.")}
	}
	var blocks []Block
	for _, s := range d.NotMeasured {
		blocks = append(blocks, Text(s))
	}
	return blocks
}

func (d Data) recipeBlocks() []Block {
	g := Grid{Columns: []Column{{"Total", 3, false}, {"Table", 2, false}, {"How", 6, false}}}
	for _, t := range Totals(d) {
		g.Rows = append(g.Rows, []string{sentenceCase(t.Name), t.File, sentenceCase(t.How)})
	}
	return []Block{
		Text("Each total comes from one table of comma-separated values that lies beside this document, and can be computed again from it alone. Durations are in seconds. " +
			"An empty cell is a value that nobody knows; it counts as no value, never as zero. A single quotation mark before a sign such as = was added so that a spreadsheet takes the text for text. " +
			"The file SHA256SUMS holds the SHA-256 of every file; sha256sum -c SHA256SUMS checks them."),
		Text("Uncovered time, and the part of it without proven flow, is counted once a second while a session runs; a flow that is not known is not proven. " +
			"A reading is valid when it is good and the next one comes within the longest silence that the channel's settings allow; a longer silence is missing as a whole. " +
			"A session over midnight counts as a whole to the day on which it began. Air changes are the flow by the duct and the room's volume in the settings of that day; a velocity pressure is taken with the density of air at 20 °C."),
		g,
	}
}

// day is a local date.
func (d Data) day(t time.Time) string { return t.In(d.zone()).Format("Mon 2 Jan 2006") }

// moment is a local time with its offset.
func (d Data) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(d.zone()).Format("2 Jan 2006 15:04 -07:00")
}

// clockTime is a local time of the day.
func (d Data) clockTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(d.zone()).Format("15:04")
}

func inMinutes(t time.Duration) string { return strconv.FormatFloat(t.Minutes(), 'f', 0, 64) }

// tenth writes a figure to a tenth, a dash for what is not known.
func tenth(v *float64) string {
	if v == nil {
		return "–"
	}
	return strconv.FormatFloat(*v, 'f', 1, 64)
}

// sentenceCase makes the first letter a capital.
func sentenceCase(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
