package report

import (
	"strconv"
	"strings"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// composer lays a pack out, in the words and units of the place that reads it.
type composer struct{ Data }

// Compose lays a pack out as a document.
func Compose(pack Data) Document {
	d := composer{pack}
	air := airPart{d}
	doc := Document{Title: "Report on the darkroom's record", by: d.place(), Subtitle: d.subtitle(), Sections: []Section{
		{"In short", d.firstPage()},
		{"What was not measured", d.unmeasured()},
		{"Sessions that need attention", exceptionsPart{d}.blocks()},
		{"Totals", d.totals()},
		{"Rooms", air.rooms()},
		{"Sessions and their air", air.sessions()},
		{"Coverage of the readings", air.coverage()},
		{"Gases against the limits in force then", air.averages()},
		{"Alarms and what was done", d.alarmBlocks()},
		{"Probes and their checks", probesPart{d}.blocks()},
		{"Corrections of probes", d.correctionBlocks()},
		{"Settings and their changes", settingsPart{d}.blocks()},
		{"Batches, tests, discards and waste", chemistryPart{d}.blocks()},
		{"Duties", d.dutyBlocks()},
		{"Late entries and corrections", d.lateBlocks()},
		{"People", d.peopleBlocks()},
		{"Clock and software", d.timerBlocks()},
		{"How each total is computed", d.recipeBlocks()},
	}}
	doc.contentsAfter = 1
	for i := range doc.Sections[2:] {
		doc.contents = append(doc.contents, i+2)
	}
	if d.Simulated {
		doc.Banner = "Simulated: every figure here is invented."
	}
	return doc
}

// place is where the document is read.
func (d composer) place() phrase.Place {
	if d.By == nil {
		return phrase.Inside{}
	}
	return d.By
}

// tell gives a sentence as the place reads it.
func (d composer) tell(s phrase.Sentence) string { return s.By(d.place()) }

// say makes a text as [phrase.Say] does, as the place reads it.
func (d composer) say(form string, parts ...any) string {
	return phrase.Say(form, parts...).By(d.place())
}

func (d composer) subtitle() []string {
	var names []string
	for _, r := range d.Rooms {
		names = append(names, r.Name)
	}
	lines := []string{d.say("%s, from %s up to %s", strings.Join(names, ", "), d.day(d.From), d.day(d.To.Add(-time.Millisecond)))}
	if len(names) == 0 {
		lines[0] = d.say("From %s up to %s", d.day(d.From), d.day(d.To.Add(-time.Millisecond)))
	}
	return append(lines, d.say("Made %s by wetside, %s.", d.moment(d.Made), d.Version))
}

// released names a version that a record tells; older records call a development build otherwise.
func released(version string) string {
	return strings.Replace(version, "(devel)", "development build", 1)
}

// units says how figures are written where they are not written as in the tables.
func (d composer) units() string {
	if d.By == nil {
		return ""
	}
	return " " + "Figures in sentences and volumes of liquids are in the units of the place and with its decimal sign. Sentences " +
		"that were recorded at the time, such as the cause of an alarm, and the tables of values keep °C, m³/h, Pa, mL and a point."
}

func (d composer) zoneName() string {
	if name := d.zone().String(); name != "Local" {
		return name
	}
	return "that this computer was set to"
}

// totals are all figures that can be computed again, and what the record says of itself.
func (d composer) totals() []Block {
	g := Grid{Narrow: true, Columns: []Column{{"", 6, left}, {"", 2, right}, {"", 1, left}}}
	for _, t := range Totals(d.Data) {
		value, unit := t.Value(), t.Unit
		if value == "" {
			value, unit = "not known", ""
		} else if t.Figure != nil && unit == "min" {
			value, unit = Hours(time.Duration(*t.Figure*float64(time.Minute))), "" // the table totals.csv has the digits
		} else if unit == "L" {
			value, unit = d.volume(*t.Figure*1000), ""
		} else if t.Figure != nil && unit == "%" {
			value = d.say("%.2f", short(*t.Figure, 2))
		} else if t.Figure != nil && decimals(*t.Figure) > 0 {
			value = d.say("%.2f", *t.Figure)
		}
		g.Rows = append(g.Rows, []string{phrase.Capital(d.tell(t.Name)), value, unit})
	}
	book := d.say("The record book is complete and unaltered up to the checkpoint %s. Records written in this "+
		"period: %d.", d.Book.Checkpoint, d.Book.Records)
	if d.Book.Earlier > 0 {
		book += " " + d.say("The records up to %d, from before this period, were last verified %s, the later ones for this report.",
			d.Book.Earlier, d.moment(d.Book.EarlierAt))
	}
	if !d.Book.Holds {
		book = d.say("The record book fails verification: %s. What was recorded from there on proves nothing until the cause is explained.",
			d.Book.Problem)
	}
	return append([]Block{g, Text(book)}, d.checkpointBlocks()...)
}

func (d composer) unmeasured() []Block {
	var blocks []Block
	if len(d.NotMeasured) == 0 {
		blocks = append(blocks, Text("Nothing else is known to be missing, beyond the gaps listed with each session."))
	}
	for _, s := range d.NotMeasured {
		blocks = append(blocks, Text(d.tell(s)))
	}
	return append(blocks, Text("Airflow is evidence of a control. It is no measurement of anybody's breathing exposure, and this "+
		"report is no judgement of it: local codes, the safety data sheets and licensed practice come first."))
}

// announced are words and the table that they announce; an empty table speaks for itself.
func announced(words string, g Grid) []Block {
	if len(g.Rows) == 0 {
		return []Block{g}
	}
	return []Block{Text(words), g}
}

func (d composer) recipeBlocks() []Block {
	g := Grid{Columns: []Column{{"Total", 3, left}, {"Table", 2, left}, {"How", 6, left}}}
	for _, t := range Totals(d.Data) {
		g.Rows = append(g.Rows, []string{phrase.Capital(d.tell(t.Name)), t.File, phrase.Capital(d.tell(t.How))})
	}
	return []Block{
		Text(d.say("Local times are of the zone %s; the tables beside this document give UTC as well.%s", d.zoneName(), d.units())),
		Text("Each total comes from one table of comma-separated values that lies beside this document, and can be computed again from " +
			"it alone. Durations are in seconds; this document rounds each to a minute, so that a sum may differ from its parts by one. " +
			"An empty cell is a value that nobody knows; it counts as no value, never as zero. A single quotation mark before a sign " +
			"such as = was added so that a spreadsheet takes the text for text. The file SHA256SUMS holds the SHA-256 of every file; " +
			"sha256sum -c SHA256SUMS checks them."),
		Text(d.say("Uncovered time, and the part of it without proven flow, is counted once a second while a session runs; a flow that is "+
			"not known is not proven. A reading is valid when it is good and the next one comes within the longest silence that the channel's "+
			"settings allow; a longer silence is missing as a whole. A session over midnight counts as a whole to the day on which it began. "+
			"Air changes are the airflow divided by the room's volume, both by the settings of that day; a velocity pressure is taken with the "+
			"density of air at %s.", quantity.Celsius(20).To(1))),
		Text(d.tell(ventilation.GuardRule())),
		g,
	}
}

// day is a local date.
func (d composer) day(t time.Time) string { return t.In(d.zone()).Format("Mon 2 Jan 2006") }

// date is a local date without its day of the week.
func (d composer) date(t time.Time) string { return t.In(d.zone()).Format("2 Jan 2006") }

const momentForm = "2 Jan 2006 15:04 MST"

// moment is a local time with its zone.
func (d composer) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(d.zone()).Format(momentForm)
}

// clockTime is a local time of the day.
func (d composer) clockTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(d.zone()).Format("15:04")
}

// NeedsDay says that the time of day at which something ended could be taken for that of another day.
func NeedsDay(from, to time.Time) bool { return to.Sub(from) >= 12*time.Hour }

// until is when something ended that began at a moment.
func (d composer) until(from, to time.Time) string {
	if NeedsDay(from, to) {
		return d.moment(to)
	}
	return d.clockTime(to)
}

func inMinutes(t time.Duration) string { return strconv.FormatFloat(t.Minutes(), 'f', 0, 64) }

// tenth writes a figure to a tenth, a dash for what is not known.
func (d composer) tenth(v *float64) string {
	if v == nil {
		return "–"
	}
	return d.say("%.1f", *v)
}
