package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"wetside/rules/breathing"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

type airAverageCmd struct {
	Window    string   `required:"" help:"Averaging time, such as 8h or 15m."`
	Sample    []string `required:"" sep:"none" help:"What was measured over a time, as 2h@150ppm or 2h@<0.1ppm; repeat it in one unit."`
	Unsampled string   `help:"For time without samples: zero (nobody was exposed), mean or worst; without it no average is given."`
	airOutput
}

// Help shows the command in use and says what the figure is not.
func (*airAverageCmd) Help() string {
	return "Examples:\n  wetside air average --window 8h --sample 2h@150ppm --sample 2h@75ppm --sample 4h@50ppm\n" +
		"  wetside air average --window 15m --sample 10m@3ppm --unsampled worst\n\n" + breathing.Statement().String()
}

// averageAnswer is the JSON of an average; the last three only if it is not exact.
type averageAnswer struct {
	Average  *float64 `json:"average"`
	Unit     string   `json:"unit"`
	Coverage *float64 `json:"coverage,omitempty"`
	Low      *float64 `json:"low,omitempty"`
	High     *float64 `json:"high,omitempty"`
}

// Run gives the average, or the interval in which it lies.
func (c *airAverageCmd) Run(out io.Writer) error {
	window, err := parseTime(c.Window)
	if err != nil {
		return usageError{fmt.Errorf("--window: %w", err)}
	}
	tape, unit, err := readSamples(c.Sample)
	if err != nil {
		return usageError{err}
	}
	if tape.Length() > window {
		return usageError{fmt.Errorf("the samples last %g h, longer than the window of %s: give those of one window", tape.Length().Hours(),
			c.Window)}
	}
	a, err := tape.Last(window, breathing.WorstObserved())
	if err != nil {
		return usageError{err}
	}
	answer := averageAnswer{Unit: unit.Symbol()}
	switch single, exact, err := c.single(a, tape); {
	case err != nil:
		return usageError{err}
	case exact:
		answer.Average = &single
	}
	if answer.Average == nil || a.Coverage < 1 {
		answer.Coverage, answer.Low, answer.High = &a.Coverage, &a.Low, &a.High
	}
	return c.write(out, c.sentence(a, answer), answer)
}

// single gives one figure if the samples or the chosen assumption allow one.
func (c *airAverageCmd) single(a breathing.Average, t breathing.Tape) (value float64, ok bool, err error) {
	sampled, err := t.Last(t.Length(), breathing.WorstObserved())
	if err != nil {
		return 0, false, err
	}
	whole := sampled.Low == sampled.High
	switch c.Unsampled {
	case "":
		return sampled.High, whole && a.Coverage == 1, nil
	case "zero":
		return a.Low, whole, nil
	case "mean":
		return sampled.High, whole, nil
	case "worst":
		return a.High, whole, nil
	}
	return 0, false, fmt.Errorf("--unsampled %q: expected zero, mean or worst", c.Unsampled)
}

func (c *airAverageCmd) sentence(a breathing.Average, answer averageAnswer) phrase.Sentence {
	s := a.Text(answer.Unit)
	switch {
	case answer.Average != nil:
		s = phrase.Say("%.4g %s", *answer.Average, answer.Unit)
	case a.Coverage < 1:
		s = phrase.Say("not known")
	}
	s = phrase.Say("Average over %s: %s.", strings.TrimSpace(c.Window), s)
	if a.Coverage == 1 {
		return s
	}
	s = phrase.Say("%s Sampled for %.1f %% of it: between %.4g and %.4g %s if the rest was zero or as the worst sample.", s,
		100*a.Coverage, a.Low, a.High, answer.Unit)
	if c.Unsampled != "" {
		s = phrase.Say("%s Time without samples was taken as %s, as asked.", s, c.Unsampled)
	}
	return s
}

// readSamples lays the samples on a tape, all in one dimension.
func readSamples(samples []string) (breathing.Tape, quantity.Unit, error) {
	var tape breathing.Tape
	var unit quantity.Unit
	for _, text := range samples {
		length, level, err := cut(text, "@", "2h@150ppm")
		if err != nil {
			return tape, unit, fmt.Errorf("--sample: %w", err)
		}
		rest, below := strings.CutPrefix(level, "<")
		value, u, err := parseConcentration(rest)
		if err != nil {
			return tape, unit, fmt.Errorf("--sample %q: %w", text, err)
		}
		if unit, err = sameUnit(unit, u); err != nil {
			return tape, unit, err
		}
		reading := breathing.Measured(value)
		if below {
			reading = breathing.BelowDetection(value)
		}
		if err := tape.Sampled(length, reading); err != nil {
			return tape, unit, fmt.Errorf("--sample %q: %w", text, err)
		}
	}
	if len(samples) == 0 {
		return tape, unit, errors.New("an average needs at least one --sample, such as 2h@150ppm")
	}
	return tape, unit, nil
}

// parseConcentration reads ppm or mg/m3, zero or more, in the inside unit.
func parseConcentration(text string) (float64, quantity.Unit, error) {
	value, written, err := quantity.Parse(quantity.VolumeFraction, text)
	if err != nil {
		value, written, err = quantity.Parse(quantity.MassConcentration, text)
	}
	if err != nil {
		return 0, quantity.Unit{}, fmt.Errorf("%q is not a concentration: write it like 150ppm or 25mg/m3", text)
	}
	if value < 0 {
		return 0, quantity.Unit{}, fmt.Errorf("%q is negative: a concentration is zero or more", text)
	}
	if written.Dimension() == quantity.VolumeFraction && value > 1e6 {
		return 0, quantity.Unit{}, fmt.Errorf("%q is more than the whole of the air: a volume fraction is at most 1000000 ppm", text)
	}
	unit, err := quantity.BaseUnit(written.Dimension())
	return value, unit, err
}

// sameUnit refuses ppm beside mg/m3: they can't be added without knowing the agent.
func sameUnit(before, now quantity.Unit) (quantity.Unit, error) {
	if before != (quantity.Unit{}) && before != now {
		return now, fmt.Errorf("%s and %s can't be mixed: give all of one kind", before, now)
	}
	return now, nil
}

// cut parts "2h@150ppm" into its time and the rest.
func cut(text, sign, example string) (time.Duration, string, error) {
	before, after, found := strings.Cut(text, sign)
	if !found {
		return 0, "", fmt.Errorf("%q: write it like %s", text, example)
	}
	d, err := parseTime(before)
	return d, strings.TrimSpace(after), err
}

// parseTime reads a length of time such as 8h, 15m, 15 min or 1h30m.
func parseTime(text string) (time.Duration, error) {
	d, err := time.ParseDuration(strings.ReplaceAll(strings.ReplaceAll(text, " ", ""), "min", "m"))
	if err != nil || d < 0 {
		return 0, fmt.Errorf("%q is not a length of time: write it like 8h, 15m or 1h30m", text)
	}
	return d, nil
}
