package viewtest

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"wetside/chem"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// Scene is an invented room in which a test says what the probes say. Its
// snapshots come from the rules themselves.
type Scene struct {
	Room   rules.Room
	board  rules.Board
	values map[sensors.ChannelID]float64
	last   map[sensors.ChannelID]sensors.Instant
	acid   bool // a gas probe is fitted
}

// Line names the one serial line of an invented room.
const Line sensors.LineID = "bench"

// NewScene is a room with a developer, a stop bath, a fixer and a wash without
// a probe, a duct probe and a fan switch; nothing has been heard yet.
func NewScene(id, name string) (*Scene, error) {
	table, err := chem.NewTable("invented times for tests", points())
	if err != nil {
		return nil, fmt.Errorf("the invented time table: %w", err)
	}
	s := &Scene{board: rules.NewBoard(), values: map[sensors.ChannelID]float64{}, last: map[sensors.ChannelID]sensors.Instant{}}
	s.board.History.Kept = true
	s.Room = rules.Room{ID: id, Name: name, Volume: 32, Duct: rules.Duct{Area: 0.0314, Factor: 0.9},
		Required: []ventilation.Requirement{{Kind: ventilation.AirChangeRate, Value: 8, Source: "decision of the place"}},
		Baths: []rules.Bath{
			{ID: "developer", Name: "Developer", Role: rules.Developer, Channel: Channel(id, "developer"), Accuracy: 0.3,
				Band: sensors.Range{Low: 18, High: 22}, Developing: table, HydroquinoneFloor: true},
			{ID: "stop", Name: "Stop bath", Role: rules.StopBath, Channel: Channel(id, "stop"), Band: sensors.Range{Low: 16, High: 24}},
			{ID: "fixer", Name: "Fixer", Role: rules.Fixer, Channel: Channel(id, "fixer"), Band: sensors.Range{Low: 16, High: 24}},
			{ID: "wash", Name: "Wash", Role: rules.Wash},
		}}
	for _, c := range []struct {
		id, name, unit string
		kind           sensors.Kind
	}{{"developer", "Developer tray", "C", sensors.BathTemperature}, {"stop", "Stop bath tray", "C", sensors.BathTemperature},
		{"fixer", "Fixer tray", "C", sensors.BathTemperature}, {"duct", "Exhaust duct", "m/s", sensors.DuctVelocity},
		{"fan", "Fan switch", "on/off", sensors.FanCommand}} {
		unit, err := quantity.ParseUnit(c.unit)
		if err != nil {
			return nil, fmt.Errorf("the invented channel %s: %w", c.id, err)
		}
		traits, known := c.kind.Traits()
		if !known {
			return nil, errors.New("an invented channel is of an unknown kind")
		}
		s.Room.Channels = append(s.Room.Channels, sensors.Channel{ID: Channel(id, c.id), Name: c.name, Kind: c.kind, Unit: unit, Traits: traits})
	}
	line := rules.Line{ID: Line, Name: "Bench cable"}
	for _, c := range s.Room.Channels {
		line.Channels = append(line.Channels, c.ID)
	}
	s.Room.Lines = []rules.Line{line}
	s.board.Probes = truth.Open(s.Room.Channels)
	return s, nil
}

// Channel names a channel of an invented room.
func Channel(room, name string) sensors.ChannelID { return sensors.ChannelID(room + "-" + name) }

// points are invented: they serve the pages and are no data sheet.
func points() []chem.Point {
	return []chem.Point{{At: 16, Time: 170 * time.Second}, {At: 20, Time: 120 * time.Second}, {At: 24, Time: 85 * time.Second}}
}

// Say lets a channel say a good value, in its own unit, at a moment.
func (s *Scene) Say(name string, value float64, at sensors.Instant) {
	s.board.Take(sensors.Reading{Channel: Channel(s.Room.ID, name), At: at, Raw: value, Value: value, Grade: sensors.Good})
}

// Doubt lets a channel say a value that is not believed.
func (s *Scene) Doubt(name string, value float64, r sensors.Reading) {
	r.Channel, r.Raw, r.Value, r.Grade = Channel(s.Room.ID, name), value, math.NaN(), sensors.Suspect
	s.board.Take(r)
}

// Pour fills a tray, as the book of the shelf says of one of which it knows no more; a fixer with rapid fixer 1+4.
func (s *Scene) Pour(bath string, p rules.Portion) {
	known := rules.Known{}
	if p.Known != nil {
		known = *p.Known
	}
	if known.Made == 0 && strings.HasPrefix(bath, "fixer") {
		known.Made = 0.2
	}
	p.Known = &known
	if s.board.Shelf.Filled == nil {
		s.board.Shelf.Filled = map[string]rules.Portion{}
	}
	s.board.Shelf.Filled[bath] = p
}

// PourAsBefore fills a tray as books of earlier versions say, beside the shelf.
func (s *Scene) PourAsBefore(bath string, p rules.Portion) { s.board.Portions[bath] = p }

// Status sets the status of the line.
func (s *Scene) Status(st sensors.LineStatus) { s.board.Lines[st.ID] = st }

// History sets whether history is kept.
func (s *Scene) History(h rules.HistoryView) { s.board.History = h }

// Look evaluates the rules at a moment.
func (s *Scene) Look(now sensors.Instant) *rules.Snapshot {
	snap, memory, _ := rules.Evaluate(s.Room, s.board, now)
	s.board.Memory = memory
	return snap
}

// Acknowledge marks every alarm of a snapshot as seen, as the room's loop would.
func Acknowledge(snap rules.Snapshot) *rules.Snapshot {
	alarms := append([]rules.AlarmView(nil), snap.Alarms...)
	for i := range alarms {
		alarms[i].Acknowledged = true
	}
	snap.Alarms = alarms
	return &snap
}

// Site is an invented site in a zone that changes its clock twice a year.
func Site(rooms ...*rules.Snapshot) (web.Site, error) {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		return web.Site{}, fmt.Errorf("the zone of the invented site: %w", err)
	}
	site := web.Site{Simulated: true, Version: "test", Zone: zone, Rooms: rooms}
	if len(rooms) > 0 {
		site.At = rooms[0].At.Wall
	}
	return site, nil
}
