package rules

import (
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// TestMethod is a way to know the air change rate that does not rest on the duct.
type TestMethod string

// The ways to test the air changes.
const (
	ByDecay  TestMethod = "decay"      // a tracer or CO2 that thins out in the empty room
	BySteady TestMethod = "steady CO2" // people breathe until the CO2 stands still
)

func (m TestMethod) Said() phrase.Sentence { return phrase.Plain(string(m)) }

// TestAirChanges is a test of the air changes by a gas. Changes, Low, High and Agreement
// are what [TestAirChanges.Work] makes of the rest.
type TestAirChanges struct {
	kept
	Method     TestMethod `json:"method"`
	Gas        string     `json:"gas"`
	Background float64    `json:"background_ppm"`
	// SensorError is by how much a reading may be off, ppm.
	SensorError float64       `json:"sensor_error_ppm,omitempty"`
	RoomEmpty   bool          `json:"room_empty,omitempty"`
	Points      []TracerPoint `json:"points,omitempty"`
	// Excluded are the points that do not count, each with its reason.
	Excluded []ExcludedTracer `json:"excluded,omitempty"`
	// Steady is the CO2 that People settled at, ppm.
	Steady float64 `json:"steady_ppm,omitempty"`
	People int     `json:"people,omitempty"`
	// ByFlow is the rate by the duct's probe meanwhile; nil when it was not known.
	ByFlow *quantity.PerHour `json:"by_flow_per_h,omitempty"`
	Note   string            `json:"note,omitempty"`

	Changes quantity.PerHour `json:"air_changes_per_h"`
	// Low and High bound the rate with 95 % where the method gives an interval; else both are Changes.
	Low       quantity.PerHour `json:"low_per_h"`
	High      quantity.PerHour `json:"high_per_h"`
	Agrees    bool             `json:"agrees,omitempty"`
	Agreement phrase.Sentence  `json:"agreement,omitzero"`
}

// TracerPoint is a concentration some minutes after the first.
type TracerPoint struct {
	Minutes float64 `json:"min"`
	PPM     float64 `json:"ppm"`
}

// ExcludedTracer is a point that does not count, and why.
type ExcludedTracer struct {
	TracerPoint
	Reason phrase.Sentence `json:"reason"`
}

func (TestAirChanges) Kind() string { return "air change test" }

// flowAccuracy is how far a duct probe may be off before it contradicts a test (common practice).
const flowAccuracy quantity.Percent = 10

// Work gives the test with what follows from its readings in a room of the given
// volume, or says why nothing does.
func (t TestAirChanges) Work(volume quantity.CubicMetre) (TestAirChanges, error) {
	var err error
	switch t.Method {
	case ByDecay:
		t, err = t.decay()
	case BySteady:
		t, err = t.steady(volume)
	default:
		err = phrase.Errorf("unknown way to test the air changes %q: expected %s or %s", t.Method, ByDecay, BySteady)
	}
	if err != nil {
		return t, err
	}
	if t.ByFlow != nil {
		a := ventilation.Decay{AirChanges: t.Changes, Low: t.Low, High: t.High}.Compare(*t.ByFlow, flowAccuracy)
		t.Agrees, t.Agreement = a.Agrees, a.Sentence
	}
	return t, nil
}

func (t TestAirChanges) decay() (TestAirChanges, error) {
	test := ventilation.DecayTest{Background: t.Background, SensorError: t.SensorError, RoomEmpty: t.RoomEmpty}
	for _, p := range t.Points {
		test.Points = append(test.Points, ventilation.DecayPoint{After: time.Duration(p.Minutes * float64(time.Minute)), Concentration: p.PPM})
	}
	got, err := test.AirChanges()
	if err != nil {
		return t, err
	}
	t.Changes, t.Low, t.High, t.Excluded = got.AirChanges, got.Low, got.High, nil
	for _, p := range got.Excluded {
		t.Excluded = append(t.Excluded, ExcludedTracer{TracerPoint{p.After.Minutes(), p.Concentration}, p.Reason})
	}
	return t, nil
}

// steady takes the people for sitting adults. A fifth either way is what their breath
// differs by (wetside's own rule).
func (t TestAirChanges) steady(volume quantity.CubicMetre) (TestAirChanges, error) {
	flow, err := ventilation.People{Number: t.People,
		Each: ventilation.SedentaryCO2}.OutdoorAir(quantity.PartsPerMillion(t.Steady - t.Background))
	if err != nil {
		return t, err
	}
	if t.Changes, err = ventilation.AirChanges(flow, volume); err != nil {
		return t, err
	}
	t.Low, t.High = t.Changes*(1-breathSpread), t.Changes*(1+breathSpread)
	return t, nil
}

const breathSpread = 0.2

// mostPoints of a decay are kept.
const mostPoints = 500

func (t TestAirChanges) check(room Room, _ Board, _ Command) error {
	if err := checkWord(phrase.Say("gas"), t.Gas, true); err != nil {
		return err
	}
	if err := checkWord(phrase.Say("note"), t.Note, false); err != nil {
		return err
	}
	if len(t.Points) > mostPoints {
		return phrase.Errorf("%d points are too many: at most %d are kept", len(t.Points), mostPoints)
	}
	worked, err := t.Work(room.Volume)
	if err != nil {
		return err
	}
	if worked.Changes != t.Changes || worked.Low != t.Low || worked.High != t.High {
		return phrase.Errorf("the air change rate does not follow from the readings: enter the test again")
	}
	return nil
}

func (t TestAirChanges) sentence(_ Room, d Done) phrase.Sentence {
	s := phrase.Say("a test by %s found %.1f air changes an hour (%.1f to %.1f)", t.Method, float64(t.Changes), float64(t.Low),
		float64(t.High))
	switch {
	case t.ByFlow == nil:
		return d.entered(phrase.Say("%s; recorded", s))
	case t.Agrees:
		return d.entered(phrase.Say("%s, in agreement with the flow reading; recorded", s))
	}
	return d.entered(phrase.Say("%s, in contradiction to the flow reading; recorded", s))
}
