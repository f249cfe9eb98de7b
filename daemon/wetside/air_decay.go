package main

import (
	"fmt"
	"io"
	"strings"

	"wetside/rules/breathing"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

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
