// Package air has the pages of the air and of its alarms.
package air

import (
	"context"
	"slices"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/session"
)

// The acts on the air, the alarms and the session that a form may ask for.
const (
	actShelve  = "shelve"
	actDisable = "disable"
	actRestore = "restore"
	actBegin   = "begin"
	actEnd     = "end"
)

// Flows is what was measured of the flow of air.
type Flows interface {
	// Flow gives the flow of air of a room in m³/h, by the probe, the duct and the
	// corrections of each day; nothing where no flow was measured.
	Flow(ctx context.Context, room string, q web.SeriesQuery) (web.Series, error)
}

// Pages are the pages of the air and of the alarms.
type Pages struct {
	*web.Kit
	Flows    Flows
	Readings web.Readings
}

// Routes are those of the air and of the alarms.
func (s *Pages) Routes() []web.Route {
	under := func(at int, name, text string) web.Entry {
		return web.Entry{Under: web.UnderAir, At: at, Name: name, Text: text}
	}
	return []web.Route{
		{Pattern: "GET /rooms/{room}/air", For: web.Reading(), Answer: s.InRoom(s.airPage), Menu: under(1, "air", "Air")},
		{Pattern: "GET /rooms/{room}/air/events", For: web.Reading(), Live: s.airParts, Calm: true},
		s.RoomForm("POST /rooms/{room}/air", slices.Concat(sessionActs(), alarmActs(), []web.Act{cards.Acknowledge()})),
		{Pattern: "GET /rooms/{room}/air/limits", For: web.Reading(), Answer: s.InRoom(s.limitsPage),
			Menu: under(6, "limits", "Gases and limits")},
		{Pattern: "GET /rooms/{room}/air/limits/events", For: web.Reading(), Live: s.limitsParts, Calm: true},
		s.RoomForm("POST /rooms/{room}/air/limits", airActs()),
		{Pattern: "GET /rooms/{room}/alarms", For: web.Reading(), Answer: s.InRoom(s.alarmsPage), Menu: under(2, "alarms", "Alarms")},
		{Pattern: "GET /rooms/{room}/alarms/events", For: web.Reading(), Live: s.alarmParts},
		s.RoomForm("POST /rooms/{room}/alarms", slices.Concat(alarmActs(), []web.Act{cards.Acknowledge()})),
		{Pattern: "GET /rooms/{room}/alarms/figures", For: web.Reading(), Answer: s.InRoom(s.alarmFigures),
			Menu: under(3, "alarm-figures", "Alarm figures")},
		{Pattern: "GET /rooms/{room}/air/traverse", For: web.Reading(), Answer: s.InRoom(s.traversePage), Menu: under(4, "traverse", "Traverse")},
		{Pattern: "POST /rooms/{room}/air/traverse", For: web.From(access.Manager), Answer: s.InRoom(s.traversePost)},
		{Pattern: "GET /rooms/{room}/air/test", For: web.Reading(), Answer: s.InRoom(s.tracerPage),
			Menu: under(5, "air-test", "Air change test")},
		{Pattern: "POST /rooms/{room}/air/test", For: web.From(access.Volunteer), Answer: s.InRoom(s.tracerPost),
			Acts: []web.Act{{Name: actTest, Kind: rules.TestAirChanges{}.Kind()}}},
	}
}

// alarmActs answer an alarm, put one aside, or try out whether alarms are heard.
func alarmActs() []web.Act {
	return append(entryActs(),
		web.ReadsOnAlarm(actShelve, actRestore, func(f *web.FormReader, t web.Typed) rules.ShelveAlarm {
			return rules.ShelveAlarm{Alarm: t.Alarm, Until: f.Now.Add(readMinutes(f)), Why: f.Line(web.WhyField(), true)}
		}),
		web.ReadsOnAlarm(actDisable, actRestore, func(f *web.FormReader, t web.Typed) rules.DisableAlarm {
			return rules.DisableAlarm{Alarm: t.Alarm, Why: f.Line(web.WhyField(), true)}
		}),
		web.ReadsOnAlarm(actRestore, "", func(f *web.FormReader, t web.Typed) rules.RestoreAlarm {
			return rules.RestoreAlarm{Alarm: t.Alarm, Why: f.Line(web.WhyField(), false)}
		}))
}

func sessionActs() []web.Act {
	return []web.Act{web.Reads(actBegin, readBegin),
		web.Reads(actEnd, func(f *web.FormReader, _ web.Typed) rules.EndSession {
			return rules.EndSession{Phase: web.PickOf(f, phaseField, session.TakeDown, session.Closed),
				Note: f.Line(web.NoteField(), false)}
		})}
}

func airActs() []web.Act {
	return []web.Act{web.Reads(actRequire, readRequire), web.Reads(actRequireChange, readRequire), web.Reads(actRequireOff, readRequire),
		web.Reads(actLimit, readLimit), web.Reads(actLimitOff, readLimit),
		web.Reads(actUnexposed, readUnexposed), web.Reads(actUnexposedOff, readUnexposed)}
}

type figures struct{ cards.Figures }

func (s *Pages) figures(site *web.Site) figures {
	return figures{cards.Figures{Figures: s.Figures(site)}}
}
