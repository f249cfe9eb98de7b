package report

import (
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// ofAir are the tables of rooms, sessions and what was read of their air.
func (d tables) ofAir() []Table {
	return []Table{
		tableOf("rooms.csv", "room name volume_m3 required_air_changes_per_hour required commissioned limits", d.Rooms,
			func(out *rows, r Room) {
				out.row(r.ID, r.Name, r.Volume, r.Changes, r.Required, r.Commissioned, r.Derivation)
			}),
		tableOf("sessions.csv", "session room title leader people begun_utc begun_local ended_utc ended_local running uncovered_s "+
			"unproven_s tray_unproven_s flow_known_s flow_proven_s lowest_air_changes_per_hour typical_air_changes_per_hour "+
			"required_air_changes_per_hour record counted_until_utc counted_until_local", d.Sessions, func(out *rows, s Session) {
			var ended time.Time
			if !s.Running {
				ended = s.Ended
			}
			out.row(s.Number, s.Room, s.Title, s.Leader, s.People, d.stamps(s.Begun), d.stamps(ended), s.Running,
				s.Uncovered, s.Unproven, s.TrayUnproven, s.FlowKnown, s.FlowProven, s.Lowest, s.Typical, s.Required, reference(s.Record),
				d.stamps(s.AsOf))
		}),
		d.minutes(),
		tableOf("air-states.csv", "room session state verdict from_utc from_local to_utc to_local program_stopped cause", d.AirStates,
			func(out *rows, s AirState) {
				session := ""
				if s.Session > 0 {
					session = strconv.Itoa(s.Session)
				}
				out.row(s.Room, session, s.State, s.Verdict, d.stamps(s.From), d.stamps(s.To), s.Stopped, s.Cause)
			}),
		tableOf("coverage.csv", "session room channel name required_s valid_s missing_s longest_gap_s", d.Coverage,
			func(out *rows, c Coverage) {
				out.row(c.Session, c.Room, c.Channel, c.Name, c.Required, c.Valid, c.Missing, c.Longest)
			}),
		tableOf("gaps.csv", "session channel from_utc from_local to_utc to_local missing_s cause", d.Gaps, func(out *rows, g Gap) {
			out.row(g.Session, g.Channel, d.stamps(g.From), d.stamps(g.To), g.To.Sub(g.From), g.Cause)
		}),
		tableOf("averages.csv", "session channel name agent limit limit_value unit minutes lowest_average highest_average known_percent "+
			"unexposed_s statement_record verdict", d.Averages, func(out *rows, a Average) {
			out.row(a.Session, a.Channel, a.Name, a.Agent, a.Limit, a.Value, a.Unit, a.Minutes, a.Low, a.High, a.Known, a.Unexposed,
				reference(a.Statement), a.Verdict)
		}),
		tableOf("statements.csv", "record room stated_utc stated_local person from_utc from_local withdrawn why", d.Statements,
			func(out *rows, s Statement) {
				out.row(reference(s.Record), s.Room, d.stamps(s.On), s.By, d.stamps(s.From), s.Withdrawn, s.Why)
			}),
		d.gasMinutes(),
	}
}

func (d tables) minutes() Table {
	return tableOf("air.csv", "session minute_utc minute_local readings lowest_air_changes_per_hour mean_air_changes_per_hour "+
		"highest_air_changes_per_hour", d.Minutes, func(out *rows, m Minute) {
		out.text = out.text.Whole(int64(m.Session)) // written cell by cell: of ten years there are half a million
		out.stamps(d.stamps(m.At))
		out.text = out.text.Whole(int64(m.Readings))
		out.figure(m.Low)
		out.figure(m.Mean)
		out.figure(m.Highest)
		out.end()
	})
}

func (d tables) gasMinutes() Table {
	return Table{"gas-minutes.csv", strings.Fields("session channel minute_utc minute_local length_s read_s below_detection_s over_range_s " +
		"mean_ppm highest_ppm detection_ppm range_end_ppm"), func(out *rows) {
		var before, after rows // the cells that all minutes of a session have
		for _, g := range d.GasMinutes {
			before.text = before.text[:0].Whole(int64(g.Session)).Text(g.Channel)
			after.text = after.text[:0]
			after.figure(g.Detection)
			after.figure(g.RangeEnd)
			at, left := g.From, g.Length
			for i := range g.Minutes {
				m := &g.Minutes[i]
				out.text = append(out.text, before.text...)
				out.stamps(d.stamps(at))
				for _, t := range [...]time.Duration{min(time.Minute, left), m.Read, m.Below, m.Over} {
					out.text = out.text.Figure(seconds(t))
				}
				if m.Read > 0 {
					out.text = out.text.Figure(sane(m.Mean)).Figure(sane(m.Highest))
				} else {
					out.text = out.text.Empty(2)
				}
				out.text = append(out.text, after.text...)
				out.end()
				at, left = at.Add(time.Minute), left-time.Minute
			}
		}
	}}
}

// ofWork are the tables of alarms, chemistry and settings.
func (d tables) ofWork() []Table {
	return []Table{
		tableOf("alarms.csv", "record room alarm text urgent cause raised_utc raised_local answered_utc answered_local waited_s "+
			"answered_by done cleared_utc cleared_local left_before_answer why_not_answered", d.Alarms, func(out *rows, a Alarm) {
			var waited any = ""
			if !a.Answered.IsZero() {
				waited = a.Answered.Sub(a.Raised)
			}
			out.row(reference(a.Record), a.Room, a.ID, a.Text, a.Urgent, a.Cause, d.stamps(a.Raised),
				d.stamps(a.Answered), waited, a.By, a.Done, d.stamps(a.Cleared), a.Dropped, a.Why)
		}),
		tableOf("alarms-aside.csv", "record room alarm state by why from_utc from_local back_utc back_local", d.Aside,
			func(out *rows, a Aside) {
				out.row(reference(a.Record), a.Room, a.ID, a.State, a.By, a.Why, d.stamps(a.From), d.stamps(a.Back))
			}),
		tableOf("chemistry.csv", "record happened_utc happened_local entered_utc entered_local kind counts_as volume_ml person room "+
			"what corrected_by", d.Chemistry, func(out *rows, e Entry) {
			out.row(reference(e.Record), d.stamps(e.Happened), d.stamps(e.Entered), spoken(e.Kind), spoken(e.Counts),
				e.Volume, e.Person, e.Room, e.What.Said(), reference(e.CorrectedBy))
		}),
		tableOf("silver.csv", "record sampled of silver us_federal_line method reference person", d.Silver, func(out *rows, s Silver) {
			out.row(reference(s.Record), s.Sampled.In(d.zone()).Format(time.DateOnly), s.Of, s.Figure, s.Line.Said(), s.Method,
				s.Reference, s.Person)
		}),
		tableOf("settings.csv", "setting value since_utc since_local record", d.Settings, func(out *rows, s Setting) {
			out.row(s.Name, s.Value, d.stamps(s.Since), reference(s.Record))
		}),
		tableOf("settings-changed.csv", "record at_utc at_local setting was became person why", d.Changes, func(out *rows, c Change) {
			out.row(reference(c.Record), d.stamps(c.At), c.Name, c.Was, c.Now, c.By, c.Why)
		}),
		tableOf("corrections.csv", "channel name from_utc from_local slope offset known_utc known_local record person why", d.Corrections,
			func(out *rows, c Correction) {
				out.row(c.Channel, c.Name, d.stamps(c.From), c.Slope, c.Offset, d.stamps(c.Known), reference(c.Record), c.Person, c.Why)
			}),
	}
}

// ofPlace are the tables of duties, of people and of the record itself.
func (d tables) ofPlace() []Table {
	return []Table{
		tableOf("duties.csv", "duty owner room every why times_done last_utc last_local due_utc due_local overdue", d.Duties,
			func(out *rows, u Duty) {
				out.row(u.Name, u.Owner, u.Room, u.Every, u.Why, len(u.Done), d.stamps(u.Last), d.stamps(u.Due), u.Overdue)
			}),
		tableOf("duties-done.csv", "record duty done_utc done_local person evidence", d.Duties, func(out *rows, u Duty) {
			for _, done := range u.Done {
				out.row(reference(done.Record), u.Name, d.stamps(done.At), done.Person, done.Evidence)
			}
		}),
		tableOf("late-and-corrected.csv", "record kind happened_utc happened_local written_utc written_local person reason "+
			"corrects", d.Late, func(out *rows, l Late) {
			out.row(reference(l.Record), spoken(l.Kind), d.stamps(l.Happened), d.stamps(l.Written), l.Person, l.Reason, reference(l.Corrects))
		}),
		tableOf("people.csv", "person role records first_utc first_local last_utc last_local", d.People, func(out *rows, p Person) {
			out.row(p.Name, p.Role, p.Records, d.stamps(p.First), d.stamps(p.Last))
		}),
		tableOf("clock.csv", "record at_utc at_local what", d.Clock, func(out *rows, c ClockEvent) {
			out.row(reference(c.Record), d.stamps(c.At), c.What)
		}),
		tableOf("not-measured.csv", "sentence", d.NotMeasured, func(out *rows, s phrase.Sentence) {
			out.row(s)
		}),
	}
}
