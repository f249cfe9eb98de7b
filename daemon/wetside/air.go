package main

import (
	"encoding/json"
	"io"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// airCmd answers single questions about the air, without a daemon.
type airCmd struct {
	Changes  airChangesCmd  `cmd:"" help:"Air changes an hour from a flow and a room volume."`
	Purge    airPurgeCmd    `cmd:"" help:"Minutes to remove a share of the old air, with no source open."`
	Average  airAverageCmd  `cmd:"" help:"Time-weighted average of breathing-air samples, with what is not known."`
	Mixture  airMixtureCmd  `cmd:"" help:"Additive index of agents that act alike: at most 1 is within."`
	Decay    airDecayCmd    `cmd:"" help:"Air changes an hour from the decay of CO2 or a tracer in the empty room."`
	Velocity airVelocityCmd `cmd:"" help:"Air velocity from a velocity pressure."`
}

// airOutput is how each answer is written: a sentence, or one JSON object.
type airOutput struct {
	JSON bool `name:"json" help:"Write one JSON object instead of a sentence."`
}

func (o airOutput) write(out io.Writer, sentence phrase.Sentence, object any) error {
	if !o.JSON {
		return writeSentence(out, sentence)
	}
	return json.NewEncoder(out).Encode(object)
}

type airChangesCmd struct {
	Flow   quantity.CubicMetrePerHour `required:"" placeholder:"250m3/h" help:"Larger of supply and exhaust, in m3/h, m3/s, L/s or cfm."`
	Volume quantity.CubicMetre        `required:"" placeholder:"30m3" help:"Volume of the room, in m3 or ft3."`
	airOutput
}

// Run gives the air changes an hour.
func (c *airChangesCmd) Run(out io.Writer) error {
	n, err := ventilation.AirChanges(c.Flow, c.Volume)
	if err != nil {
		return usageError{err}
	}
	return c.write(out, phrase.Say("%.2f air changes an hour.", float64(n)), struct {
		AirChanges float64 `json:"air_changes_per_hour"`
	}{float64(n)})
}

type airPurgeCmd struct {
	Changes quantity.PerHour `required:"" placeholder:"6/h" help:"Air changes, such as 6/h."`
	Remove  quantity.Percent `required:"" placeholder:"99%" help:"Share of the old air to remove, such as 99%; below 100%."`
	Mixing  float64          `default:"1" help:"Mixing factor: 1 for perfect mixing, up to 10 for very poor."`
	airOutput
}

// Run gives the minutes a purge takes.
func (c *airPurgeCmd) Run(out io.Writer) error {
	d, err := ventilation.PurgeTime(c.Changes, c.Remove, c.Mixing)
	if err != nil {
		return usageError{err}
	}
	sentence := phrase.Say("%.1f minutes with no source open, to remove %g %% at %g air changes an hour and a mixing factor of %g.",
		d.Minutes(), float64(c.Remove), float64(c.Changes), c.Mixing)
	return c.write(out, sentence, struct {
		Minutes float64 `json:"minutes"`
	}{d.Minutes()})
}

type airVelocityCmd struct {
	Pressure    quantity.Pascal  `required:"" placeholder:"10Pa" help:"Velocity pressure, in Pa, hPa, kPa, mbar or inwg."`
	Temp        quantity.Celsius `required:"" placeholder:"25C" help:"Temperature of the air, in C or F."`
	Altitude    quantity.Metre   `xor:"air" placeholder:"500m" help:"Altitude above sea level, in m or ft; sea level if nothing is given."`
	AirPressure *quantity.Pascal `xor:"air" placeholder:"950hPa" help:"Pressure of the air itself, instead of the altitude, such as 950hPa."`
	airOutput
}

// Run gives the velocity and the density it rests on.
func (c *airVelocityCmd) Run(out io.Writer) error {
	density, err := c.density()
	if err != nil {
		return usageError{err}
	}
	v, err := ventilation.VelocityFromPressure(c.Pressure, density)
	if err != nil {
		return usageError{err}
	}
	return c.write(out, phrase.Say("%s at an air density of %.4f kg/m³.", v.To(0.01), float64(density)), struct {
		Velocity float64 `json:"metres_per_second"`
		Density  float64 `json:"air_density_kg_per_m3"`
	}{float64(v), float64(density)})
}

func (c *airVelocityCmd) density() (quantity.KilogramPerCubicMetre, error) {
	if c.AirPressure != nil {
		return ventilation.AirDensity(c.Temp, *c.AirPressure)
	}
	pressure, err := ventilation.PressureAtAltitude(c.Altitude)
	if err != nil {
		return 0, err
	}
	return ventilation.AirDensity(c.Temp, pressure)
}
