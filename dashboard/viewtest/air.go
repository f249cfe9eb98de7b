package viewtest

import (
	"time"

	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// Commission gives the room an invented traverse, a purge and a calendar.
func (s *Scene) Commission() {
	s.Room.Commissioned = rules.Commissioned{Flow: 300, Date: Evening().AddDate(0, -3, 0), Instrument: "hot-wire 12", Certificate: "C-77",
		Next: time.Date(2027, 9, 1, 12, 0, 0, 0, time.UTC)}
	s.Room.Airing = rules.Airing{Remove: 99, Mixing: 1}
	s.Room.Calendar = session.Calendar{Zone: time.UTC, Weekly: []session.Weekly{{Title: "Beginners", Weekday: Evening().Weekday(),
		From: 19 * 60, To: 22 * 60}}}
}

// Breathe fits an invented gas probe that is set against invented limits.
func (s *Scene) Breathe() {
	id := Channel(s.Room.ID, "acid")
	traits, _ := sensors.AceticAcid.Traits()
	ppm, _ := quantity.BaseUnit(quantity.VolumeFraction)
	agent := breathing.Agent{Name: "acetic acid", CAS: "64-19-7", MolarMass: 60.05, Irritant: true}
	s.Room.Channels = append(s.Room.Channels, sensors.Channel{ID: id, Name: "Gas probe", Kind: sensors.AceticAcid, Unit: ppm, Traits: traits})
	row := breathing.Limit{Agent: agent.Name, Jurisdiction: "invented place", Edition: "invented edition", Unit: ppm,
		Standing: breathing.Unverified, Source: "invented for tests"}
	long, short := row, row
	long.Kind, long.Window, long.Value = breathing.LongTerm, 8*time.Hour, 10
	short.Kind, short.Window, short.Value = breathing.ShortTerm, 15*time.Minute, 15
	s.Room.Gases = append(s.Room.Gases, rules.Gas{Channel: id, Agent: agent, Sensor: breathing.Sensor{Resolution: 0.1, Detection: 0.2},
		Limits: []breathing.Limit{long, short}})
	s.acid = true
}
