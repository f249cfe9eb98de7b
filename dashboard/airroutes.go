package dashboard

import (
	"context"
	"slices"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/session"
)

// The acts on the air, the alarms and the session that a form may ask for.
const (
	actReset    = "reset"
	actShelve   = "shelve"
	actDisable  = "disable"
	actRestore  = "restore"
	actDrill    = "drill"
	actSounder  = "sounder"
	actComplain = "complain"
	actBegin    = "begin"
	actEnd      = "end"
)

// Flows is what was measured of the flow of air.
type Flows interface {
	// Flow gives the flow of air of a room in m³/h, by the probe, the duct and the
	// corrections of each day; nothing where no flow was measured.
	Flow(ctx context.Context, room string, q SeriesQuery) (Series, error)
}

// airPages are the pages of the air and of the alarms.
type airPages struct {
	*kit
	flows Flows
}

// routes are those of the air and of the alarms.
func (s *airPages) routes() []Route {
	under := func(at int, name string) Entry { return Entry{Under: UnderAir, At: at, Name: name} }
	return []Route{
		{Pattern: "GET /rooms/{room}/air", For: Reading(), Answer: s.inRoom(s.airPage), Menu: under(1, "air")},
		{Pattern: "GET /rooms/{room}/air/events", For: Reading(), Live: s.airParts, Calm: true},
		s.roomForm("POST /rooms/{room}/air", slices.Concat(airActs(), sessionActs(), alarmActs(), []Act{acknowledge()})),
		{Pattern: "GET /rooms/{room}/alarms", For: Reading(), Answer: s.inRoom(s.alarmsPage), Menu: under(2, "alarms")},
		{Pattern: "GET /rooms/{room}/alarms/events", For: Reading(), Live: s.alarmParts},
		s.roomForm("POST /rooms/{room}/alarms", slices.Concat(alarmActs(), []Act{acknowledge()})),
		{Pattern: "GET /rooms/{room}/alarms/figures", For: Reading(), Answer: s.inRoom(s.alarmFigures), Menu: under(3, "alarm-figures")},
		{Pattern: "GET /rooms/{room}/air/traverse", For: Reading(), Answer: s.inRoom(s.traversePage), Menu: under(4, "traverse")},
		{Pattern: "POST /rooms/{room}/air/traverse", For: From(access.Manager), Answer: s.inRoom(s.traversePost)},
		{Pattern: "GET /rooms/{room}/air/test", For: Reading(), Answer: s.inRoom(s.tracerPage), Menu: under(5, "air-test")},
		{Pattern: "POST /rooms/{room}/air/test", For: From(access.Volunteer), Answer: s.inRoom(s.tracerPost),
			Acts: []Act{{Name: actTest, Kind: rules.TestAirChanges{}.Kind()}}},
	}
}

// acknowledge says that somebody has seen to an alarm.
func acknowledge() Act {
	return Act{Name: actAcknowledge, Kind: rules.AcknowledgeAlarm{}.Kind(), On: OnAlarm, Read: func(f *formReader, t typed) rules.Act {
		return rules.AcknowledgeAlarm{Alarm: t.Alarm, Done: f.text("done", t.Done, longestText, true)}
	}}
}

// alarmActs answer an alarm, put one aside, or try out whether alarms are heard.
func alarmActs() []Act {
	get := func(t typed, name string) string { return t.More.Get(name) }
	return []Act{
		{Name: actReset, Kind: rules.ResetAlarm{}.Kind(), On: OnAlarm, Read: func(f *formReader, t typed) rules.Act {
			return rules.ResetAlarm{Alarm: t.Alarm, Done: f.text("done", t.Done, longestText, true)}
		}},
		{Name: actShelve, Kind: rules.ShelveAlarm{}.Kind(), On: OnAlarm, Read: func(f *formReader, t typed) rules.Act {
			return rules.ShelveAlarm{Alarm: t.Alarm, Until: f.now.Add(readMinutes(f, get(t, "minutes"))), Why: f.text("why", get(t, "why"), longestText, true)}
		}},
		{Name: actDisable, Kind: rules.DisableAlarm{}.Kind(), On: OnAlarm, Read: func(f *formReader, t typed) rules.Act {
			return rules.DisableAlarm{Alarm: t.Alarm, Why: f.text("why", get(t, "why"), longestText, true)}
		}},
		{Name: actRestore, Kind: rules.RestoreAlarm{}.Kind(), On: OnAlarm, Read: func(f *formReader, t typed) rules.Act {
			return rules.RestoreAlarm{Alarm: t.Alarm, Why: f.text("why", get(t, "why"), longestText, false)}
		}},
		{Name: actDrill, Kind: rules.RecordDrill{}.Kind(), Read: func(f *formReader, t typed) rules.Act {
			return rules.RecordDrill{What: f.text("drill", get(t, "drill"), longestText, true), Found: f.text("found", get(t, "found"), longestText, true)}
		}},
		{Name: actSounder, Kind: rules.TestSounder{}.Kind(), Read: func(f *formReader, t typed) rules.Act {
			return rules.TestSounder{Where: f.text("place", get(t, "place"), longestText, true), Heard: f.pick("heard", get(t, "heard"), "yes", "no") == "yes"}
		}},
		{Name: actComplain, Kind: rules.ReportComplaint{}.Kind(), Read: func(f *formReader, t typed) rules.Act {
			return rules.ReportComplaint{What: f.text("complaint", get(t, "complaint"), longestText, true)}
		}},
	}
}

// sessionActs begin an evening and end it.
func sessionActs() []Act {
	return []Act{
		{Name: actBegin, Kind: rules.StartSession{}.Kind(), Read: func(f *formReader, t typed) rules.Act { return readBegin(f, t.More.Get) }},
		{Name: actEnd, Kind: rules.EndSession{}.Kind(), Read: func(f *formReader, t typed) rules.Act {
			return rules.EndSession{Phase: session.Phase(f.pick("phase", t.More.Get("phase"), string(session.TakeDown), string(session.Closed))),
				Note: f.text("note", t.More.Get("note"), longestText, false)}
		}},
	}
}

// airActs change what is required of the air, and its limits.
func airActs() []Act {
	var acts []Act
	for _, name := range []string{actRequire, actRequireChange, actRequireOff} {
		acts = append(acts, Act{Name: name, Kind: rules.RequireAir{}.Kind(), Read: func(f *formReader, t typed) rules.Act { return readRequire(f, t.Act, t.More.Get) }})
	}
	for _, name := range []string{actLimit, actLimitOff} {
		acts = append(acts, Act{Name: name, Kind: rules.LimitGas{}.Kind(), Read: func(f *formReader, t typed) rules.Act { return readLimit(f, t.Act, t.More.Get) }})
	}
	for _, name := range []string{actUnexposed, actUnexposedOff} {
		acts = append(acts, Act{Name: name, Kind: rules.StateUnexposed{}.Kind(), Read: func(f *formReader, t typed) rules.Act { return f.unexposed(t.Act, t.More.Get) }})
	}
	return acts
}

// soundBox is what a page with sound needs: where a test is entered.
type soundBox struct {
	Room  string
	Look  look
	Token string
}

func soundBoxOf(room string, l look) soundBox { return soundBox{room, l, newToken()} }
