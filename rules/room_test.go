package rules_test

import (
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// zone is where the stories play: a place that changes its clock twice a year.
func zone() *time.Location {
	z, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		return time.UTC
	}
	return z
}

// storyRoom is invented: 30 m³, commissioned at 300 m³/h, six trays with a probe on
// one line, the air on another, acetic acid on a third; a class each Wednesday from 18 to 21 h.
func storyRoom() rules.Room {
	table, err := chem.NewTable("invented times for tests", []chem.Point{{At: 16, Time: 160 * time.Second},
		{At: 20, Time: 105 * time.Second}, {At: 24, Time: 70 * time.Second}})
	if err != nil {
		panic(err)
	}
	r := rules.Room{
		ID: "practice", Name: "Practice darkroom", Volume: 30, Floor: 12, Duct: rules.Duct{Area: 0.0177, Factor: 0.9},
		Required: []ventilation.Requirement{{Kind: ventilation.AirChangeRate, Value: 6, Source: "decision of the place"}},
		Commissioned: rules.Commissioned{Flow: 300, Date: time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC), Instrument: "hot-wire 12",
			Certificate:  "C-77",
			RoomPressure: ventilation.Known(quantity.Pascal(-5))},
		Airing: rules.Airing{Remove: 99, Mixing: 1},
		Calendar: session.Calendar{Zone: zone(), Weekly: []session.Weekly{{Title: "Beginners", Weekday: time.Wednesday, From: 18 * 60,
			To: 21 * 60}},
			Breaks: []session.Break{{First: time.Date(2026, 12, 21, 0, 0, 0, 0, time.UTC), Last: time.Date(2027, 1, 10, 0, 0, 0, 0, time.UTC)}}},
		Gases: []rules.Gas{{Channel: "acid", Agent: breathing.Agent{Name: "acetic acid", MolarMass: 60.05, Irritant: true},
			Sensor: breathing.Sensor{Resolution: 0.1, Detection: 0.1}, Limits: aceticLimits()}},
		Lines: []rules.Line{{ID: "trays", Name: "the tray thermometers"}, {ID: "duct", Name: "the duct probes"},
			{ID: "gas", Name: "the gas sensor"}},
	}
	for _, b := range []struct {
		id, name string
		role     rules.Role
	}{{"dev", "Developer", rules.Developer}, {"stop", "Stop bath", rules.StopBath}, {"fix1", "First fixer", rules.Fixer},
		{"fix2", "Second fixer", rules.Fixer}, {"aid", "Wash aid", rules.WashAid}, {"wash", "Wash", rules.Wash}} {
		bath := rules.Bath{ID: b.id, Name: b.name, Role: b.role, Channel: sensors.ChannelID(b.id), Accuracy: 0.3, Band: sensors.Range{Low: 16,
			High: 26}}
		if b.role == rules.Developer {
			bath.Developing, bath.HydroquinoneFloor, bath.Band = table, true, sensors.Range{Low: 18, High: 24}
		}
		r.Baths = append(r.Baths, bath)
		addChannel(&r, 0, b.id, b.name+" tray", sensors.BathTemperature)
	}
	addChannel(&r, 1, "flow", "Exhaust", sensors.VolumeFlow)
	addChannel(&r, 1, "fan", "Fan switch", sensors.FanCommand)
	addChannel(&r, 1, "pressure", "Room pressure", sensors.RoomPressure)
	addChannel(&r, 2, "acid", "Acetic acid", sensors.AceticAcid)
	return r
}

func addChannel(r *rules.Room, line int, id, name string, kind sensors.Kind) {
	traits, _ := kind.Traits()
	r.Channels = append(r.Channels, sensors.Channel{ID: sensors.ChannelID(id), Name: name, Kind: kind,
		Unit: quantity.UnitsOf(traits.Dimension)[0], Traits: traits})
	r.Lines[line].Channels = append(r.Lines[line].Channels, sensors.ChannelID(id))
}

// aceticLimits are 10 ppm over 8 h and 15 ppm over 15 min, as NIOSH prints for acetic
// acid (NIOSH IDLH documentation, May 1994, gives both figures).
func aceticLimits() []breathing.Limit {
	row := breathing.Limit{Agent: "acetic acid", Jurisdiction: "NIOSH", Edition: "1994", Kind: breathing.LongTerm, Window: 8 * time.Hour,
		Value: 10,
		Unit:  quantity.UnitsOf(quantity.VolumeFraction)[0], Standing: breathing.SecondHand,
		Source: "NIOSH IDLH documentation, acetic acid, May 1994"}
	short := row
	short.Kind, short.Window, short.Value = breathing.ShortTerm, 15*time.Minute, 15
	return []breathing.Limit{row, short}
}
