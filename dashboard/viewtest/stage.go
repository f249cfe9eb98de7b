package viewtest

import (
	"time"

	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity/phrase"
)

// Stage is an invented room with a clock of its own and a view of it.
type Stage struct {
	*Scene
	*View
	Clock *clocktest.Manual
	bench bench
}

// Evening is the moment at which the invented evening begins.
func Evening() time.Time { return time.Date(2026, 1, 15, 18, 41, 0, 0, time.UTC) }

// NewStage is the room North darkroom at an hour after [Evening], before anything was heard.
func NewStage() (*Stage, error) {
	scene, err := NewScene("north", "North darkroom")
	if err != nil {
		return nil, err
	}
	clock := clocktest.New(Evening())
	clock.Advance(time.Hour)
	site, err := Site(scene.Look(clock.Now()))
	if err != nil {
		return nil, err
	}
	return &Stage{Scene: scene, View: New(site), Clock: clock}, nil
}

// FillTrays pours a developer and a fixer.
func (s *Stage) FillTrays() {
	filled := Evening().Add(-30 * time.Minute)
	s.Pour("developer", rules.Portion{Record: 41, Batch: "PD-17", What: "Paper developer", By: "Ida", Filled: filled, Concentrate: 1,
		Water: 9, Volume: 2000})
	s.Pour("fixer", rules.Portion{Record: 42, Batch: "FX-4", What: "Rapid fixer", By: "Ida", Filled: filled, Concentrate: 1, Water: 4,
		Volume: 2000})
}

// Begin fills the trays and lets five minutes pass in which nothing is wrong.
func (s *Stage) Begin() {
	s.FillTrays()
	s.Minutes(5, Usual(), Values{})
}

// Values are what the probes of the room say: three trays in °C, the duct in m/s.
type Values struct{ Developer, Stop, Fixer, Duct float64 }

// Usual are the values of a room in which nothing is wrong.
func Usual() Values { return Values{19.4, 19.1, 18.8, 2.9} }

// Minutes lets time pass with every probe speaking every five seconds; change is
// what each minute adds to the values.
func (s *Stage) Minutes(n int, v, change Values) Values {
	for range n * 12 {
		s.Clock.Advance(5 * time.Second)
		now := s.Clock.Now()
		for name, value := range map[string]float64{"developer": v.Developer, "stop": v.Stop, "fixer": v.Fixer, "duct": v.Duct, "fan": 1} {
			s.Say(name, value, now)
		}
		if s.acid {
			s.Say("acid", 2.4, now)
		}
		s.Line(sensors.StateLive)
		s.Look(now)
		v = Values{v.Developer + change.Developer/12, v.Stop + change.Stop/12, v.Fixer + change.Fixer/12, v.Duct + change.Duct/12}
	}
	return v
}

// Silence lets time pass with the line in a state in which no probe speaks.
func (s *Stage) Silence(d time.Duration, state sensors.LineState) {
	for end := s.Clock.Now().Mono + d; s.Clock.Now().Mono < end; {
		s.Clock.Advance(2 * time.Second)
		s.Line(state)
		s.Look(s.Clock.Now())
	}
}

// Line sets the state of the room's line; the figures beside it are invented.
func (s *Stage) Line(state sensors.LineState) {
	now := s.Clock.Now()
	st := sensors.LineStatus{ID: Line, Path: "/dev/serial/by-id/usb-invented-bench-if00", Dialect: "checked text", State: state, Since: now,
		LastGood: now, EverGood: true, LastText: "developer 19.4 C *5A", LastBadText: "devel··19.4 C *00", Readings: 18231, Opens: 3,
		Bytes: 1182044, RatePerMinute: 60}
	st.Frames[0], st.Frames[2] = 18231, 4
	if state == sensors.StateGone {
		st.LastError = phrase.Say("%v", sensors.ErrGone)
	}
	s.Status(st)
}

// Publish shows the room as it is now.
func (s *Stage) Publish() *rules.Snapshot {
	snap := s.Look(s.Clock.Now())
	s.Show(snap)
	return snap
}

// Again shows the same state as a new one, as a loop that turns would.
func (s *Stage) Again() {
	rooms := s.Now().Rooms
	fresh := make([]*rules.Snapshot, len(rooms))
	for i, r := range rooms {
		snap := *r
		fresh[i] = &snap
	}
	s.Show(fresh...)
}
