package chem

import (
	"errors"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// VolumeAt is a volume of liquid at a temperature. All are taken to have the heat
// capacity of water, and losses to vessel and air are left out.
type VolumeAt struct {
	Volume      quantity.Millilitre
	Temperature quantity.Celsius
}

// MixTemperature is what liquids come to when poured together: sum(V T)/sum(V).
func MixTemperature(liquids ...VolumeAt) (quantity.Celsius, error) {
	var volume, heat float64
	for _, l := range liquids {
		if err := liquidTemperature(l.Temperature); err != nil {
			return 0, err
		}
		if !(l.Volume >= 0 && finite(float64(l.Volume))) {
			return 0, phrase.Errorf("%s is not a volume: it must be zero or more", l.Volume.To(0))
		}
		volume += float64(l.Volume)
		heat += float64(l.Volume) * float64(l.Temperature)
	}
	if volume == 0 {
		return 0, phrase.Errorf("nothing is poured together: give at least one volume")
	}
	return quantity.Celsius(heat / volume), nil
}

// liquidTemperature takes what water can be at the mixing table.
func liquidTemperature(c quantity.Celsius) error {
	if !(c >= 0 && c <= 100) {
		return phrase.Errorf("%s is not a water temperature: it must be between %s and %s", toldDegrees(c, InCelsius),
			quantity.Celsius(0).To(1).Bare(), quantity.Celsius(100).To(1))
	}
	return nil
}

// Blend is how much hot and cold water to pour.
type Blend struct {
	Hot, Cold quantity.Millilitre
}

// Taps are the two waters at hand and the temperature wanted.
type Taps struct {
	Hot, Cold, Target quantity.Celsius
}

// Blend shares a volume of water: the hot share is (T - Tc)/(Th - Tc). A target
// that lies outside the two taps is a [Refusal].
func (t Taps) Blend(total quantity.Millilitre) (Blend, error) {
	if err := t.valid(); err != nil {
		return Blend{}, err
	}
	if !(total > 0 && finite(float64(total))) {
		return Blend{}, phrase.Errorf("%s of water: the volume must be more than zero", total.To(0))
	}
	if t.Target > t.Hot || t.Target < t.Cold {
		return Blend{}, Refusal{phrase.Say("%s cannot be reached from %s and %s", t.Target.To(0.1), t.Cold.To(0.1).Bare(), t.Hot.To(0.1))}
	}
	hot := total * quantity.Millilitre((t.Target-t.Cold)/(t.Hot-t.Cold))
	return Blend{Hot: hot, Cold: total - hot}, nil
}

func (t Taps) valid() error {
	for _, c := range []quantity.Celsius{t.Hot, t.Cold, t.Target} {
		if err := liquidTemperature(c); err != nil {
			return err
		}
	}
	if t.Hot <= t.Cold {
		return phrase.Errorf("the hot water (%s) must be warmer than the cold (%s)", t.Hot.To(0.1), t.Cold.To(0.1))
	}
	return nil
}

// BlendFor shares the water of a mixing plan so that the whole mix comes to the
// target although the concentrate is at shelf temperature.
func (t Taps) BlendFor(p Plan, shelf quantity.Celsius) (Blend, error) {
	if err := errors.Join(t.valid(), liquidTemperature(shelf)); err != nil {
		return Blend{}, err
	}
	if p.Water <= 0 {
		return Blend{}, Refusal{phrase.Say("the plan has no water to temper")}
	}
	needed := quantity.Celsius((float64(t.Target)*float64(p.Total) - float64(shelf)*float64(p.Concentrate)) / float64(p.Water))
	if needed > t.Hot || needed < t.Cold {
		return Blend{}, Refusal{phrase.Say("the water would have to be %s, and the taps give %s to %s",
			needed.To(0.1), t.Cold.To(0.1).Bare(), t.Hot.To(0.1))}
	}
	return Taps{Hot: t.Hot, Cold: t.Cold, Target: needed}.Blend(p.Water)
}

// Jacket is the least volume of hot water around a bath that brings it to a
// temperature: V (Tt - T)/(Th - Tt), both ending at the target and nothing lost.
func Jacket(bath VolumeAt, target, hot quantity.Celsius) (quantity.Millilitre, error) {
	if _, err := MixTemperature(bath); err != nil {
		return 0, err
	}
	if err := errors.Join(liquidTemperature(target), liquidTemperature(hot)); err != nil {
		return 0, err
	}
	switch {
	case target <= bath.Temperature:
		return 0, nil
	case hot <= target:
		return 0, Refusal{phrase.Say("water at %s cannot warm a bath to %s", hot.To(0.1), target.To(0.1))}
	}
	return bath.Volume * quantity.Millilitre((target-bath.Temperature)/(hot-target)), nil
}
