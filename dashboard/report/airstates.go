package report

import (
	"strconv"
	"time"

	"wetside/rules/ventilation"
)

func (d Data) airStates() Table {
	return tableOf("air-states.csv", []string{"room", "session", "state", "verdict", "from_utc", "from_local", "to_utc", "to_local",
		"program_stopped", "cause"}, d.AirStates, func(out *rows, s AirState) {
		session := ""
		if s.Session > 0 {
			session = strconv.Itoa(s.Session)
		}
		out.row(s.Room, session, s.State, s.Verdict, d.stamps(s.From), d.stamps(s.To), s.Stopped, s.Cause)
	})
}

// airStateGrid lists the times within sessions in which the air was not proven, and why.
func (d Data) airStateGrid() Grid {
	g := Grid{Empty: d.say("In every session the airflow was proven throughout."), File: "air-states.csv",
		Columns: []Column{{d.say("Session"), 1.2, right}, {d.say("From"), 3.5, left}, {d.say("to"), 2, left},
			{d.say("Air"), 2, left}, {d.say("Why"), 7, left}}}
	for _, s := range d.AirStates {
		if s.Session == 0 || s.Verdict == string(ventilation.IsProven) {
			continue
		}
		air := d.tell(s.State)
		if s.Verdict == string(ventilation.IsUnknown) {
			air = d.say("not known")
		}
		g.Rows = append(g.Rows, []string{strconv.Itoa(s.Session), d.moment(s.From), d.ended(s), air, s.Cause})
	}
	return g
}

// ended is when a state of the air ended, as far as anybody knows.
func (d Data) ended(s AirState) string {
	switch {
	case s.Stopped:
		return d.say("not known: wetside stopped")
	case s.To.IsZero():
		return d.say("lasts")
	case s.To.Sub(s.From) >= 12*time.Hour:
		return d.moment(s.To)
	}
	return d.clockTime(s.To)
}
