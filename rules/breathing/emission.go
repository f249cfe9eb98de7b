package breathing

import (
	"math"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// StopBathModel estimates the acetic acid that uncovered stop bath gives to the
// room. No published emission rate for trays was found: equilibrium over the
// bath times a mass transfer of a well-known form, both from memory, four to
// five times above the one published survey of a photo laboratory. It works
// only where somebody switched it on.
type StopBathModel struct {
	On       bool
	Area     quantity.SquareMetre // uncovered
	Strength quantity.GramPerLitre
	Temp     quantity.Celsius
	Volume   quantity.CubicMetre
	Flow     quantity.CubicMetrePerHour
}

// Estimate is a figure from a model; its text always says so.
type Estimate struct {
	value quantity.PartsPerMillion
}

// Value gives the estimate, never to be shown without its label.
func (e Estimate) Value() quantity.PartsPerMillion { return e.value }

// String gives the estimate with its label.
func (e Estimate) String() string { return e.Said().String() }

// Said gives the estimate with its label.
func (e Estimate) Said() phrase.Sentence {
	return phrase.Say("about %.2g ppm (estimate from a model, not measured)", float64(e.value))
}

// ErrModelOff is the answer of a model that nobody has switched on.
var ErrModelOff = phrase.Errorf("the emission model is switched off")

// Acetic acid: molar mass, Henry solubility at 25 °C in mol/(L·atm) and its
// temperature coefficient in kelvin, transfer velocity of water vapour in m/h
// (all from memory but the molar mass).
const (
	aceticMolarMass   = quantity.GramPerMole(60.05)
	aceticSolubility  = 4.1e3
	aceticCoefficient = 6300.0
	waterTransfer     = 0.0083 * 3600
	waterMolarMass    = 18.0
)

// Headspace gives the acetic acid in air at equilibrium over the bath.
func (m StopBathModel) Headspace() (quantity.PartsPerMillion, error) {
	switch {
	case !m.On:
		return 0, ErrModelOff
	case !(m.Strength > 0 && m.Strength <= 60):
		return 0, phrase.Errorf("a stop bath of %g g/L is outside the model: expected above 0 and at most 60 g/L acetic acid",
			float64(m.Strength))
	case !(m.Temp >= 5 && m.Temp <= 40):
		return 0, phrase.Errorf("a stop bath of %s is outside the model: expected %s to %s", m.Temp.To(0), quantity.Celsius(5).To(1).Bare(),
			quantity.Celsius(40).To(1))
	}
	h := aceticSolubility * math.Exp(aceticCoefficient*(1/m.Temp.Kelvin()-1/298.15))
	return quantity.PartsPerMillion(float64(m.Strength) / float64(aceticMolarMass) / h * 1e6), nil
}

// Emission gives the rate in mg/h.
func (m StopBathModel) Emission() (float64, error) {
	ppm, err := m.Headspace()
	if err != nil {
		return 0, err
	}
	if !(m.Area > 0 && m.Area <= math.MaxFloat64) {
		return 0, phrase.Errorf("a tray area of %g m² is not usable: expected more than zero", float64(m.Area))
	}
	volume, err := MolarVolume(m.Temp, 101325)
	if err != nil {
		return 0, err
	}
	k := waterTransfer * math.Cbrt(waterMolarMass/float64(aceticMolarMass))
	return k * float64(m.Area) * float64(ToMass(ppm, aceticMolarMass, volume)), nil
}

// After gives the estimate for the room, in perfectly mixed air, after a time
// with the trays uncovered.
func (m StopBathModel) After(t time.Duration) (Estimate, error) {
	rate, err := m.Emission()
	if err != nil {
		return Estimate{}, err
	}
	mass, err := ventilation.Zone{Volume: m.Volume, Flow: m.Flow, Emission: rate}.At(t)
	if err != nil {
		return Estimate{}, err
	}
	volume, err := MolarVolume(m.Temp, 101325)
	if err != nil {
		return Estimate{}, err
	}
	return Estimate{ToFraction(mass, aceticMolarMass, volume)}, nil
}

// TrayTally counts, without any gas sensor, how long uncovered trays stood in
// air that was not proven to move. It is evidence of a control, not of what
// anyone breathed. The zero tally is an empty session.
type TrayTally struct {
	Open         time.Duration // with at least one tray uncovered
	Unproven     time.Duration // of that, with a tray without proven flow
	TrayUnproven time.Duration // the same, times the number of those trays
}

// Add counts a time with a number of uncovered trays, some of them without proven flow;
// a flow that is not known is not proven. Spans of zero or less are not counted.
func (t TrayTally) Add(span time.Duration, trays, unproven int) TrayTally {
	if span <= 0 || trays <= 0 {
		return t
	}
	t.Open += span
	if unproven > 0 {
		t.Unproven += span
		t.TrayUnproven += span * time.Duration(min(unproven, trays))
	}
	return t
}

// Sentence says what was counted.
func (t TrayTally) Sentence() phrase.Sentence {
	if t.Open == 0 {
		return phrase.Say("No tray was uncovered.")
	}
	return phrase.Say("Trays were uncovered for %.0f min, %.0f min without proven airflow.", t.Open.Minutes(), t.Unproven.Minutes())
}
