package report

import "time"

func (d Data) rooms() Table {
	t := Table{File: "rooms.csv", Names: []string{"room", "name", "volume_m3", "required_air_changes_per_hour", "required", "commissioned", "limits"}}
	for _, r := range d.Rooms {
		t.Rows = append(t.Rows, row(r.ID, r.Name, r.Volume, r.Changes, r.Required, r.Commissioned, r.Derivation))
	}
	return t
}

func (d Data) sessions() Table {
	t := Table{File: "sessions.csv", Names: []string{"session", "room", "title", "leader", "people", "begun_utc", "begun_local", "ended_utc", "ended_local", "running",
		"uncovered_s", "unproven_s", "tray_unproven_s", "flow_known_s", "flow_proven_s", "lowest_air_changes_per_hour", "typical_air_changes_per_hour", "required_air_changes_per_hour", "record", "counted_until_utc", "counted_until_local"}}
	for _, s := range d.Sessions {
		t.Rows = append(t.Rows, row(s.Number, s.Room, s.Title, s.Leader, s.People, d.stamps(s.Begun), d.stamps(s.Ended), s.Running,
			s.Uncovered, s.Unproven, s.TrayUnproven, s.FlowKnown, s.FlowProven, s.Lowest, s.Typical, s.Required, reference(s.Record), d.stamps(s.AsOf)))
	}
	return t
}

func (d Data) minutes() Table {
	t := Table{File: "air.csv", Names: []string{"session", "minute_utc", "minute_local", "readings", "lowest_air_changes_per_hour", "mean_air_changes_per_hour", "highest_air_changes_per_hour"}}
	for _, m := range d.Minutes {
		t.Rows = append(t.Rows, row(m.Session, d.stamps(m.At), m.Readings, m.Low, m.Mean, m.Highest))
	}
	return t
}

func (d Data) coverage() Table {
	t := Table{File: "coverage.csv", Names: []string{"session", "room", "channel", "name", "required_s", "valid_s", "missing_s", "longest_gap_s"}}
	for _, c := range d.Coverage {
		t.Rows = append(t.Rows, row(c.Session, c.Room, c.Channel, c.Name, c.Required, c.Valid, c.Missing, c.Longest))
	}
	return t
}

func (d Data) gaps() Table {
	t := Table{File: "gaps.csv", Names: []string{"session", "channel", "from_utc", "from_local", "to_utc", "to_local", "missing_s", "cause"}}
	for _, g := range d.Gaps {
		t.Rows = append(t.Rows, row(g.Session, g.Channel, d.stamps(g.From), d.stamps(g.To), g.To.Sub(g.From), g.Cause))
	}
	return t
}

func (d Data) averages() Table {
	t := Table{File: "averages.csv", Names: []string{"session", "channel", "name", "agent", "limit", "limit_value", "unit", "minutes", "lowest_average", "highest_average", "known_percent", "unexposed_s", "statement_record", "verdict"}}
	for _, a := range d.Averages {
		t.Rows = append(t.Rows, row(a.Session, a.Channel, a.Name, a.Agent, a.Limit, a.Value, a.Unit, a.Minutes, a.Low, a.High, a.Known, a.Unexposed, reference(a.Statement), a.Verdict))
	}
	return t
}

func (d Data) statements() Table {
	t := Table{File: "statements.csv", Names: []string{"record", "room", "stated_utc", "stated_local", "person", "from_utc", "from_local", "withdrawn", "why"}}
	for _, s := range d.Statements {
		t.Rows = append(t.Rows, row(reference(s.Record), s.Room, d.stamps(s.On), s.By, d.stamps(s.From), s.Withdrawn, s.Why))
	}
	return t
}

func (d Data) gasMinutes() Table {
	t := Table{File: "gas-minutes.csv", Names: []string{"session", "channel", "minute_utc", "minute_local", "length_s", "read_s", "below_detection_s", "over_range_s",
		"mean_ppm", "highest_ppm", "detection_ppm", "range_end_ppm"}}
	for _, m := range d.GasMinutes {
		t.Rows = append(t.Rows, row(m.Session, m.Channel, d.stamps(m.At), m.Length, m.Read, m.Below, m.Over, m.Mean, m.Highest, m.Detection, m.RangeEnd))
	}
	return t
}

func (d Data) alarms() Table {
	t := Table{File: "alarms.csv", Names: []string{"record", "room", "alarm", "text", "urgent", "cause", "raised_utc", "raised_local",
		"answered_utc", "answered_local", "waited_s", "answered_by", "done", "cleared_utc", "cleared_local", "left_before_answer", "why_not_answered"}}
	for _, a := range d.Alarms {
		waited := ""
		if !a.Answered.IsZero() {
			waited = row(a.Answered.Sub(a.Raised))[0]
		}
		t.Rows = append(t.Rows, row(reference(a.Record), a.Room, a.ID, a.Text, a.Urgent, a.Cause, d.stamps(a.Raised),
			d.stamps(a.Answered), waited, a.By, a.Done, d.stamps(a.Cleared), a.Dropped, a.Why))
	}
	return t
}

func (d Data) aside() Table {
	t := Table{File: "alarms-aside.csv", Names: []string{"record", "room", "alarm", "state", "by", "why", "from_utc", "from_local", "back_utc", "back_local"}}
	for _, a := range d.Aside {
		t.Rows = append(t.Rows, row(reference(a.Record), a.Room, a.ID, a.State, a.By, a.Why, d.stamps(a.From), d.stamps(a.Back)))
	}
	return t
}

func (d Data) chemistry() Table {
	t := Table{File: "chemistry.csv", Names: []string{"record", "happened_utc", "happened_local", "entered_utc", "entered_local", "kind", "counts_as",
		"volume_ml", "person", "room", "what", "corrected_by"}}
	for _, e := range d.Chemistry {
		t.Rows = append(t.Rows, row(reference(e.Record), d.stamps(e.Happened), d.stamps(e.Entered), e.Kind, e.Counts,
			e.Volume, e.Person, e.Room, e.What, reference(e.CorrectedBy)))
	}
	return t
}

func (d Data) silver() Table {
	t := Table{File: "silver.csv", Names: []string{"record", "sampled", "of", "silver", "us_federal_line", "method", "reference", "person"}}
	for _, s := range d.Silver {
		t.Rows = append(t.Rows, row(reference(s.Record), s.Sampled.In(d.zone()).Format(time.DateOnly), s.Of, s.Figure, s.Line, s.Method, s.Reference, s.Person))
	}
	return t
}

func (d Data) settings() Table {
	t := Table{File: "settings.csv", Names: []string{"setting", "value", "since_utc", "since_local", "record"}}
	for _, s := range d.Settings {
		t.Rows = append(t.Rows, row(s.Name, s.Value, d.stamps(s.Since), reference(s.Record)))
	}
	return t
}

func (d Data) changes() Table {
	t := Table{File: "settings-changed.csv", Names: []string{"record", "at_utc", "at_local", "setting", "was", "became"}}
	for _, c := range d.Changes {
		t.Rows = append(t.Rows, row(reference(c.Record), d.stamps(c.At), c.Name, c.Was, c.Now))
	}
	return t
}

func (d Data) corrections() Table {
	t := Table{File: "corrections.csv", Names: []string{"channel", "name", "from_utc", "from_local", "slope", "offset", "known_utc", "known_local", "record", "person", "why"}}
	for _, c := range d.Corrections {
		t.Rows = append(t.Rows, row(c.Channel, c.Name, d.stamps(c.From), c.Slope, c.Offset, d.stamps(c.Known), reference(c.Record), c.Person, c.Why))
	}
	return t
}

func (d Data) duties() Table {
	t := Table{File: "duties.csv", Names: []string{"duty", "owner", "room", "every", "why", "times_done", "last_utc", "last_local", "due_utc", "due_local", "overdue"}}
	for _, u := range d.Duties {
		t.Rows = append(t.Rows, row(u.Name, u.Owner, u.Room, u.Every, u.Why, len(u.Done), d.stamps(u.Last), d.stamps(u.Due), u.Overdue))
	}
	return t
}

func (d Data) dutiesDone() Table {
	t := Table{File: "duties-done.csv", Names: []string{"record", "duty", "done_utc", "done_local", "person", "evidence"}}
	for _, u := range d.Duties {
		for _, done := range u.Done {
			t.Rows = append(t.Rows, row(reference(done.Record), u.Name, d.stamps(done.At), done.Person, done.Evidence))
		}
	}
	return t
}

func (d Data) late() Table {
	t := Table{File: "late-and-corrected.csv", Names: []string{"record", "kind", "happened_utc", "happened_local", "written_utc", "written_local", "person", "reason", "corrects"}}
	for _, l := range d.Late {
		t.Rows = append(t.Rows, row(reference(l.Record), l.Kind, d.stamps(l.Happened), d.stamps(l.Written), l.Person, l.Reason, reference(l.Corrects)))
	}
	return t
}

func (d Data) people() Table {
	t := Table{File: "people.csv", Names: []string{"person", "role", "records", "first_utc", "first_local", "last_utc", "last_local"}}
	for _, p := range d.People {
		t.Rows = append(t.Rows, row(p.Name, p.Role, p.Records, d.stamps(p.First), d.stamps(p.Last)))
	}
	return t
}

func (d Data) clock() Table {
	t := Table{File: "clock.csv", Names: []string{"record", "at_utc", "at_local", "what"}}
	for _, c := range d.Clock {
		t.Rows = append(t.Rows, row(reference(c.Record), d.stamps(c.At), c.What))
	}
	return t
}

func (d Data) notMeasured() Table {
	t := Table{File: "not-measured.csv", Names: []string{"sentence"}}
	for _, s := range d.NotMeasured {
		t.Rows = append(t.Rows, row(s))
	}
	return t
}
