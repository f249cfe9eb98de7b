package report

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
)

func (d composer) alarmBlocks() []Block {
	columns := []Column{{"Raised", 3.5, left}, {"What", 3.9, left}, {"Acknowledged after", 2, right},
		{"By", 1.8, left}, {"What was done", 3.4, left}, {"Over", 1.2, left}}
	answered := Grid{Columns: columns, Empty: "No alarm was acknowledged in this period.", File: "alarms.csv"}
	unanswered := Grid{Empty: "Every alarm was acknowledged.", File: "alarms.csv", Columns: []Column{{"Raised", 3.7, left},
		{"What", 4.7, left}, {"Basis", 4.6, left}, {"Over", 1.2, left}, {"Why not", 2.5, left}}}
	if len(d.Alarms) == 0 {
		answered.Empty = "No alarm was raised in this period."
	}
	for _, a := range d.Alarms {
		switch {
		case a.Answered.IsZero() && !unanswered.full():
			unanswered.Rows = append(unanswered.Rows, []string{d.moment(a.Raised), d.tell(a.Text), a.Cause, d.over(a), d.tell(a.Why)})
		case !a.Answered.IsZero() && !answered.full():
			answered.Rows = append(answered.Rows, []string{d.moment(a.Raised), d.tell(a.Text), Lasted(a.Answered.Sub(a.Raised)), a.By,
				a.Done, d.over(a)})
		}
	}
	blocks := []Block{answered}
	if len(d.Alarms) > 0 {
		blocks = append(blocks, announced("Never acknowledged:", unanswered)...)
	}
	aside := Grid{Empty: "No alarm was snoozed or switched off.", File: "alarms-aside.csv", Columns: []Column{{"From", 3.5, left},
		{"Alarm", 1.8, left}, {"State", 1.8, left}, {"By", 1.9, left}, {"Why", 4.2, left}, {"Back on", 3.5, left}}}
	for _, a := range d.Aside {
		if aside.full() {
			continue
		}
		back := d.moment(a.Back)
		if a.Back.IsZero() {
			back = "still off"
		}
		aside.Rows = append(aside.Rows, []string{d.moment(a.From), d.alarmName(a), d.tell(a.State), a.By, a.Why, back})
	}
	return append(blocks, aside)
}

// alarmName is what an alarm that was put aside said when it was raised; its id where it was not in this period.
func (d composer) alarmName(aside Aside) string {
	for _, a := range slices.Backward(d.Alarms) {
		if a.Room == aside.Room && a.ID == aside.ID {
			return strings.TrimSuffix(d.tell(a.Text), ".")
		}
	}
	return aside.ID
}

func (d composer) over(a Alarm) string {
	if a.Cleared.IsZero() {
		return "still open"
	}
	return d.until(a.Raised, a.Cleared)
}

// Lasted is how long something lasted or waited, as every page and the report write it: in seconds below two minutes.
func Lasted(t time.Duration) string {
	if t < 2*time.Minute {
		return strconv.Itoa(int(t.Round(time.Second).Seconds())) + " s"
	}
	return Hours(t)
}

func (d composer) correctionBlocks() []Block {
	g := Grid{Empty: "No channel is corrected: raw readings are used as sent.", File: "corrections.csv",
		Columns: []Column{{"Channel", 3, left}, {"In force from", 3.3, left}, {"Slope", 1.4, right}, {"Offset", 1.4, right},
			{"Known since", 3.3, left}, {"Basis", 3.3, left}}}
	for _, c := range d.Corrections {
		g.Rows = append(g.Rows, []string{c.Name, d.moment(c.From), d.number(c.Slope), d.inUnit(c.Offset, c.Channel), d.moment(c.Known),
			d.basis(c)})
	}
	return []Block{g, Text("A corrected reading is slope times the raw reading plus offset. Raw readings are kept as they came and are " +
		"never altered.")}
}

// basis says what a correction rests on.
func (d composer) basis(c Correction) string {
	if c.Record == 0 {
		return "the settings"
	}
	return joined(d.say("entered by %s", c.Person), d.tell(c.Why))
}

// inUnit writes a value of a channel with the unit used inside, as in the tables.
func (d composer) inUnit(v float64, channel string) string {
	for _, r := range d.Rooms {
		for _, c := range r.Channels {
			if c.ID == channel && c.Unit != "" {
				return d.number(v) + " " + c.Unit
			}
		}
	}
	return d.number(v)
}

func (d composer) number(v float64) string {
	return d.place().Sign(strconv.FormatFloat(v, 'f', -1, 64))
}

func (d composer) dutyBlocks() []Block {
	g := Grid{Empty: "No duties are set.", File: "duties.csv", Columns: []Column{{"Duty", 3, left}, {"Owner", 2, left},
		{"Every", 2.3, left}, {"Done in this period", 1.5, right}, {"Last done", 3.5, left}, {"Due", 3.5, left}, {"State", 1.6, left}}}
	done := Grid{Empty: "No duty was recorded as done in this period.", File: "duties-done.csv", Columns: []Column{{"Done", 3, left},
		{"Duty", 4.4, left}, {"By", 2, left}, {"Evidence", 4, left}}}
	for _, u := range d.Duties {
		state, last := "in time", d.moment(u.Last)
		if u.Overdue {
			state = "overdue"
		}
		last = cmp.Or(last, "never recorded")
		g.Rows = append(g.Rows, []string{u.Name, u.Owner, d.tell(u.Every), strconv.Itoa(len(u.Done)), last, d.lastDay(u.Due), state})
		for _, x := range u.Done {
			done.Rows = append(done.Rows, []string{d.moment(x.At), u.Name, x.Person, x.Evidence})
		}
	}
	if len(d.Duties) == 0 {
		return []Block{g}
	}
	return []Block{g, done}
}

// lastDay is the day up to whose end something is due; nothing for none.
func (d composer) lastDay(due time.Time) string {
	if due.IsZero() {
		return ""
	}
	return d.date(due.Add(-time.Second))
}

func (d composer) lateBlocks() []Block {
	g := Grid{Empty: "No entry of this period was late, and none corrects another.", File: "late-and-corrected.csv",
		Columns: []Column{{"Record", 1.2, right}, {"Entry", 2.4, left}, {"Happened", 3.9, left}, {"Written", 3.9, left}, {"By", 2, left},
			{"Why", 3.7, left}, {"Corrects", 1.4, right}}}
	for _, l := range d.Late {
		g.Rows = append(g.Rows, []string{reference(l.Record), spoken(l.Kind), d.moment(l.Happened), d.moment(l.Written), l.Person, l.Reason,
			reference(l.Corrects)})
	}
	return []Block{g, Text("A record that is corrected stays in the book with its first value.")}
}

func (d composer) peopleBlocks() []Block {
	g := Grid{Empty: "Nobody entered anything in this period.", File: "people.csv", Columns: []Column{{"Name", 4, left}, {"Role", 3, left},
		{"Records", 1.5, right}, {"First", 3, left}, {"Last", 3, left}}}
	for _, p := range d.People {
		role := cmp.Or(d.tell(p.Role), "not stated")
		g.Rows = append(g.Rows, []string{p.Name, role, strconv.Itoa(p.Records), d.moment(p.First), d.moment(p.Last)})
	}
	return []Block{g}
}

func (d composer) timerBlocks() []Block {
	g := Grid{Empty: "wetside neither started nor stopped in this period, and its clock was not set.", File: "clock.csv",
		Columns: []Column{{"At", 3, left}, {"What", 8, left}, {"Record", 1.3, right}}}
	for _, c := range d.Clock {
		g.Rows = append(g.Rows, []string{d.moment(c.At), released(d.tell(c.What)), reference(c.Record)})
	}
	return []Block{g}
}
