package rules

import (
	"wetside/rules/breathing"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Estimate describes the stop bath for a model of the acetic acid in the air. The
// model speaks only where somebody switched it on.
type Estimate struct {
	On       bool
	Area     quantity.SquareMetre  // of the bath's surface
	Strength quantity.GramPerLitre // acetic acid
}

// EstimateView is what the model says; it is never a measurement and never without
// its label.
type EstimateView struct{ Sentence phrase.Sentence }

// usualBath is taken where the stop bath has no usable thermometer, °C.
const usualBath = 20

// estimate is nil while the model is off or no stop bath stands uncovered.
func estimate(room Room, s *Snapshot) *EstimateView {
	temp, open := s.stopBath()
	if !room.Estimate.On || !open {
		return nil
	}
	model := breathing.StopBathModel{On: true, Area: room.Estimate.Area, Strength: room.Estimate.Strength, Temp: temp, Volume: room.Volume}
	air := phrase.Say("assuming no air movement, since the airflow is unknown")
	if s.Air.Flow != nil {
		model.Flow, air = *s.Air.Flow, phrase.Say("at %s", s.Air.Flow.To(1))
	}
	got, err := model.After(s.Session.Open)
	if err != nil {
		return &EstimateView{phrase.Say("Acetic acid: no estimate: %s.", err)}
	}
	return &EstimateView{phrase.Say("Acetic acid: %s, with %g g/L over %.2f m² at %s, %s, after %.0f min with trays uncovered. The "+
		"model's figures are from memory; it came out four to five times above the one published survey of a photo laboratory.",
		got, float64(room.Estimate.Strength), float64(room.Estimate.Area), temp.To(0.1), air, s.Session.Open.Minutes())}
}

// stopBath gives the temperature of the first stop bath that stands uncovered.
func (s *Snapshot) stopBath() (quantity.Celsius, bool) {
	for i := range s.Baths {
		b := &s.Baths[i]
		if b.Bath.Role != StopBath || b.Portion == nil || b.Portion.Covered {
			continue
		}
		if c, known := b.Temperature(); known {
			return c, true
		}
		return usualBath, true
	}
	return 0, false
}
