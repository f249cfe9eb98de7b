package ventilation

import (
	"math"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Zone is a room of perfectly mixed air with one steady source: a model, whose
// results are estimates and never measurements.
type Zone struct {
	Volume     quantity.CubicMetre
	Flow       quantity.CubicMetrePerHour // zero or more
	Background quantity.MilligramPerCubicMetre
	Start      quantity.MilligramPerCubicMetre
	Emission   float64 // mg/h
}

// At gives Cb + G/Q + (C0 - Cb - G/Q)·exp(-Q·t/V), textbook formula; without
// flow the source fills the room steadily.
func (z Zone) At(t time.Duration) (quantity.MilligramPerCubicMetre, error) {
	if err := positive(phrase.Say("room volume"), float64(z.Volume), "m³"); err != nil {
		return 0, err
	}
	for _, v := range []struct {
		name  phrase.Sentence
		value float64
	}{
		{phrase.Say("flow"), float64(z.Flow)}, {phrase.Say("background"), float64(z.Background)}, {phrase.Say("concentration at the start"),
			float64(z.Start)},
		{phrase.Say("emission"), z.Emission}, {phrase.Say("time"), t.Hours()},
	} {
		if err := notNegative(v.name, v.value, ""); err != nil {
			return 0, err
		}
	}
	q, v := float64(z.Flow), float64(z.Volume)
	// The share of the source that stays: (1 - exp(-a))/a·t/V tends to t/V as the flow tends to zero.
	a := q * t.Hours() / v
	filling := 1.0
	if a > 0 {
		filling = -math.Expm1(-a) / a
	}
	cb, c0 := float64(z.Background), float64(z.Start)
	return quantity.MilligramPerCubicMetre(cb + (c0-cb)*math.Exp(-a) + z.Emission*t.Hours()/v*filling), nil
}

// SedentaryCO2 is the CO2 a sitting adult breathes out, in L/s (ASTM D6245, from memory).
const SedentaryCO2 = 0.0052

// People are those who breathe in a room long enough for its CO2 to be steady.
type People struct {
	Number int
	Each   float64 // CO2 a person, L/s
}

func (p People) source() (float64, error) {
	if p.Number <= 0 {
		return 0, phrase.Errorf("%d people give no CO2: expected one or more", p.Number)
	}
	return float64(p.Number) * p.Each, positive(phrase.Say("CO2 a person"), p.Each, "L/s")
}

// SteadyRise gives how far the CO2 settles above outdoors, G/Q, textbook formula.
func (p People) SteadyRise(outdoorAir quantity.CubicMetrePerHour) (quantity.PartsPerMillion, error) {
	g, err := p.source()
	if err != nil {
		return 0, err
	}
	if err := positive(phrase.Say("outdoor air flow"), float64(outdoorAir), "m³/h"); err != nil {
		return 0, err
	}
	return quantity.PartsPerMillion(g / outdoorAir.LitresPerSecond() * 1e6), nil
}

// OutdoorAir gives the flow of outdoor air from a steady CO2 above outdoors. A
// CO2 still rising makes it too high.
func (p People) OutdoorAir(rise quantity.PartsPerMillion) (quantity.CubicMetrePerHour, error) {
	g, err := p.source()
	if err != nil {
		return 0, err
	}
	if err := positive(phrase.Say("rise of the CO2 above outdoors"), float64(rise), "ppm"); err != nil {
		return 0, err
	}
	return quantity.CubicMetrePerHour(g / (float64(rise) / 1e6) * 3.6), nil
}
