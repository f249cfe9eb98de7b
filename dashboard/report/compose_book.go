package report

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
)

func (d composer) alarmBlocks() []Block {
	columns := []Column{{d.say("Raised"), 3.5, left}, {d.say("What"), 3.9, left}, {d.say("Acknowledged after"), 2, right},
		{d.say("By"), 1.8, left}, {d.say("What was done"), 3.4, left}, {d.say("Over"), 1.2, left}}
	answered := Grid{Columns: columns, Empty: d.say("No alarm was acknowledged in this period."), File: "alarms.csv"}
	unanswered := Grid{Empty: d.say("Every alarm was acknowledged."), File: "alarms.csv",
		Columns: []Column{{d.say("Raised"), 3.7, left}, {d.say("What"), 4.7, left}, {d.say("Basis"), 4.6, left},
			{d.say("Over"), 1.2, left}, {d.say("Why not"), 2.5, left}}}
	if len(d.Alarms) == 0 {
		answered.Empty = d.say("No alarm was raised in this period.")
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
		blocks = append(blocks, announced(d.say("Never acknowledged:"), unanswered)...)
	}
	aside := Grid{Empty: d.say("No alarm was snoozed or switched off."), File: "alarms-aside.csv",
		Columns: []Column{{d.say("From"), 3.5, left}, {d.say("Alarm"), 1.8, left}, {d.say("State"), 1.8, left}, {d.say("By"), 1.9, left},
			{d.say("Why"), 4.2, left}, {d.say("Back on"), 3.5, left}}}
	for _, a := range d.Aside {
		if aside.full() {
			continue
		}
		back := d.moment(a.Back)
		if a.Back.IsZero() {
			back = d.say("still off")
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
		return d.say("still open")
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
	g := Grid{Empty: d.say("No channel is corrected: raw readings are used as sent."), File: "corrections.csv",
		Columns: []Column{{d.say("Channel"), 3, left}, {d.say("In force from"), 3.3, left}, {d.say("Slope"), 1.4, right},
			{d.say("Offset"), 1.4, right}, {d.say("Known since"), 3.3, left}, {d.say("Basis"), 3.3, left}}}
	for _, c := range d.Corrections {
		g.Rows = append(g.Rows, []string{c.Name, d.moment(c.From), d.number(c.Slope), d.inUnit(c.Offset, c.Channel), d.moment(c.Known),
			d.basis(c)})
	}
	return []Block{g, Text(d.say("A corrected reading is slope times the raw reading plus offset. Raw readings are kept as they came and " +
		"are never altered."))}
}

// basis says what a correction rests on.
func (d composer) basis(c Correction) string {
	if c.Record == 0 {
		return d.say("the settings")
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
	g := Grid{Empty: d.say("No duties are set."), File: "duties.csv",
		Columns: []Column{{d.say("Duty"), 3, left}, {d.say("Owner"), 2, left}, {d.say("Every"), 2.3, left}, {d.say("Done in this period"), 1.5,
			right}, {d.say("Last done"), 3.5, left}, {d.say("Due"), 3.5, left}, {d.say("State"), 1.6, left}}}
	done := Grid{Empty: d.say("No duty was recorded as done in this period."), File: "duties-done.csv",
		Columns: []Column{{d.say("Done"), 3, left}, {d.say("Duty"), 4.4, left}, {d.say("By"), 2, left}, {d.say("Evidence"), 4, left}}}
	for _, u := range d.Duties {
		state, last := d.say("in time"), d.moment(u.Last)
		if u.Overdue {
			state = d.say("overdue")
		}
		last = cmp.Or(last, d.say("never recorded"))
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
	g := Grid{Empty: d.say("No entry of this period was late, and none corrects another."), File: "late-and-corrected.csv",
		Columns: []Column{{d.say("Record"), 1.2, right}, {d.say("Entry"), 2.4, left}, {d.say("Happened"), 3.9, left},
			{d.say("Written"), 3.9, left}, {d.say("By"), 2, left}, {d.say("Why"), 3.7, left}, {d.say("Corrects"), 1.4, right}}}
	for _, l := range d.Late {
		g.Rows = append(g.Rows, []string{reference(l.Record), spoken(l.Kind), d.moment(l.Happened), d.moment(l.Written), l.Person, l.Reason,
			reference(l.Corrects)})
	}
	return []Block{g, Text(d.say("A record that is corrected stays in the book with its first value."))}
}

func (d composer) peopleBlocks() []Block {
	g := Grid{Empty: d.say("Nobody entered anything in this period."), File: "people.csv",
		Columns: []Column{{d.say("Name"), 4, left}, {d.say("Role"), 3, left}, {d.say("Records"), 1.5, right}, {d.say("First"), 3, left},
			{d.say("Last"), 3, left}}}
	for _, p := range d.People {
		role := cmp.Or(d.tell(p.Role), d.say("not stated"))
		g.Rows = append(g.Rows, []string{p.Name, role, strconv.Itoa(p.Records), d.moment(p.First), d.moment(p.Last)})
	}
	return []Block{g}
}

func (d composer) clockBlocks() []Block {
	g := Grid{Empty: d.say("wetside neither started nor stopped in this period, and its clock was not set."), File: "clock.csv",
		Columns: []Column{{d.say("At"), 3, left}, {d.say("What"), 8, left}, {d.say("Record"), 1.3, right}}}
	for _, c := range d.Clock {
		g.Rows = append(g.Rows, []string{d.moment(c.At), released(d.tell(c.What)), reference(c.Record)})
	}
	return []Block{g}
}
