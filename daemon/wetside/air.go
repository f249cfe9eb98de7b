package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"wetside/rules/breathing"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// airCmd answers single questions about the air, without a daemon.
type airCmd struct {
	Changes  airChangesCmd  `cmd:"" help:"Air changes an hour from a flow and a room volume."`
	Purge    airPurgeCmd    `cmd:"" help:"Minutes to remove a share of the old air, with no source open."`
	Average  airAverageCmd  `cmd:"" help:"Time-weighted average of breathing-air samples, with what is not known."`
	Mixture  airMixtureCmd  `cmd:"" help:"Several gases that act alike, together against their limits: at most 1 is within."`
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

type airMixtureCmd struct {
	Part []breathing.Part `required:"" sep:"none" help:"Concentration and limit of one agent, in the same unit, such as 500/1000. Repeat it."`
	airOutput
}

// Help shows the command in use and says what the figure is not.
func (*airMixtureCmd) Help() string {
	return "Examples:\n  wetside air mixture --part 500/1000 --part 45/200 --part 40/200\n\n" + breathing.Statement().String()
}

// Run gives the additive index.
func (c *airMixtureCmd) Run(out io.Writer) error {
	index, err := breathing.Mixture(c.Part)
	if err != nil {
		return usageError{err}
	}
	return c.write(out, phrase.Say("Index %.4g: %s of 1.", index.High, index.Verdict()), struct {
		Index float64 `json:"index"`
	}{index.High})
}

func parsePart(text string) (breathing.Part, error) {
	concentration, limit, found := strings.Cut(text, "/")
	if !found {
		return breathing.Part{}, fmt.Errorf("%q: write it like 500/1000, concentration and limit", text)
	}
	c, err := quantity.Number(concentration)
	if err != nil {
		return breathing.Part{}, err
	}
	l, err := quantity.Number(limit)
	return breathing.Part{Low: c, High: c, Limit: l}, err
}

type airDecayCmd struct {
	Background  string   `required:"" help:"Concentration outdoors, such as 420ppm."`
	Point       []string `required:"" sep:"none" help:"Time and concentration, such as 3m=1329.8ppm. Repeat it, three at least."`
	SensorError string   `help:"How far off a reading may be, such as 50ppm: points within three times that of the background don't count."`
	airOutput
}

// decayAnswer is the JSON of a decay, with the 95 % interval of the rate.
type decayAnswer struct {
	AirChanges float64  `json:"air_changes_per_hour"`
	Low        float64  `json:"low"`
	High       float64  `json:"high"`
	Used       int      `json:"points_used"`
	Excluded   []string `json:"points_excluded,omitempty"`
}

// Run gives the air changes an hour; the room is taken as empty, as the help says.
func (c *airDecayCmd) Run(out io.Writer) error {
	test, err := c.test()
	if err != nil {
		return usageError{err}
	}
	d, err := test.AirChanges()
	if err != nil {
		return usageError{err}
	}
	answer := decayAnswer{AirChanges: float64(d.AirChanges), Low: float64(d.Low), High: float64(d.High), Used: len(d.Used)}
	for _, x := range d.Excluded {
		answer.Excluded = append(answer.Excluded, fmt.Sprintf("%s: %s", x.After, x.Reason))
	}
	covers := "the scatter of the points and an error of the sensor"
	if test.SensorError == 0 {
		covers = "the scatter of the points alone; give --sensor-error for a sensor that is off"
	}
	sentence := phrase.Say("%.2f air changes an hour from %d points, if the room was empty; 95 %% interval %.2f to %.2f, which covers %s.",
		answer.AirChanges, answer.Used, answer.Low, answer.High, covers)
	if len(answer.Excluded) > 0 {
		sentence = phrase.Say("%s Not counted: %s.", sentence, strings.Join(answer.Excluded, "; "))
	}
	return c.write(out, sentence, answer)
}

func (c *airDecayCmd) test() (ventilation.DecayTest, error) {
	test := ventilation.DecayTest{RoomEmpty: true}
	background, unit, err := parseConcentration(c.Background)
	if err != nil {
		return test, fmt.Errorf("--background: %w", err)
	}
	test.Background = background
	if c.SensorError != "" {
		value, u, err := parseConcentration(c.SensorError)
		if err != nil {
			return test, fmt.Errorf("--sensor-error: %w", err)
		}
		if unit, err = sameUnit(unit, u); err != nil {
			return test, err
		}
		test.SensorError = value
	}
	for _, text := range c.Point {
		after, level, err := cut(text, "=", "3m=1329.8ppm")
		if err != nil {
			return test, fmt.Errorf("--point: %w", err)
		}
		value, u, err := parseConcentration(level)
		if err != nil {
			return test, fmt.Errorf("--point %q: %w", text, err)
		}
		if unit, err = sameUnit(unit, u); err != nil {
			return test, err
		}
		test.Points = append(test.Points, ventilation.DecayPoint{After: after, Concentration: value})
	}
	return test, nil
}
