package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// mixCmd plans a mix, shares its water between hot and cold, or checks a pour.
type mixCmd struct {
	Parts string `sep:"none" placeholder:"1+9" help:"Parts of concentrate + parts of water. 1:9 is refused: it is read in two ways."`
	Make  string `sep:"none" placeholder:"64floz" help:"The total wanted, in mL, L, floz, gal, impfloz or impgal."`

	Hot    *quantity.Celsius `placeholder:"50C" help:"Temperature of the hot water, for how much of each to pour."`
	Cold   *quantity.Celsius `placeholder:"12C" help:"Temperature of the cold water."`
	Target *quantity.Celsius `placeholder:"20C" help:"Temperature wanted in the mix."`
	Shelf  *quantity.Celsius `placeholder:"18C" help:"Temperature of the concentrate, if it differs from the one wanted."`

	Poured   *quantity.Millilitre `placeholder:"100mL" help:"Check a pour: the concentrate that went in."`
	Water    *quantity.Millilitre `placeholder:"1000mL" help:"Check a pour: the water that went in."`
	Division quantity.Millilitre  `placeholder:"10mL" help:"Check a pour: the smallest division of the graduate."`
	Vessel   quantity.Millilitre  `placeholder:"1.2L" help:"Check a pour: what the vessel holds, for the repair."`
	Allow    number               `default:"5" help:"Check a pour: how far off the strength may be, in per cent."`

	JSON bool `name:"json" help:"Answer in JSON."`
}

// Run answers on out. Arguments that cannot be used are a usageError.
func (c *mixCmd) Run(out io.Writer) error {
	if c.Poured != nil || c.Water != nil {
		return c.check(out)
	}
	if c.Make == "" {
		return unusable("say how much to make, such as --make 64floz")
	}
	total, err := quantity.ParseMillilitre(c.Make)
	if err != nil {
		return usageError{fmt.Errorf("--make: %w", err)}
	}
	parts, err := c.parts(total)
	if err != nil {
		return usageError{err}
	}
	plan, err := parts.Plan(total)
	if err != nil {
		return usageError{err}
	}
	return c.plan(out, plan)
}

// parts reads the dilution; for a colon ratio the error shows both readings.
func (c *mixCmd) parts(total quantity.Millilitre) (chem.Parts, error) {
	if c.Parts == "" {
		return chem.Parts{}, errors.New("say the parts of concentrate + parts of water, such as --parts 1+9")
	}
	parts, err := chem.ParseParts(c.Parts)
	var colon *chem.ColonRatioError
	if !errors.As(err, &colon) {
		return parts, err
	}
	plans, planErr := colon.For(total)
	if planErr != nil {
		return chem.Parts{}, planErr
	}
	lines := []phrase.Sentence{phrase.Say("%v", err)}
	for _, p := range plans {
		lines = append(lines, p.Sentence())
	}
	return chem.Parts{}, phrase.Join("\n  ", lines...).Err()
}

// mixAnswer is the plan in JSON; hot and cold only when they were asked for.
type mixAnswer struct {
	Parts         string   `json:"parts"`
	ConcentrateML float64  `json:"concentrate_ml"`
	WaterML       float64  `json:"water_ml"`
	TotalML       float64  `json:"total_ml"`
	HotML         *float64 `json:"hot_water_ml,omitempty"`
	ColdML        *float64 `json:"cold_water_ml,omitempty"`
	Refusal       string   `json:"refusal,omitempty"`
}

func (c *mixCmd) plan(out io.Writer, plan chem.Plan) error {
	answer := mixAnswer{Parts: plan.Parts.String(), ConcentrateML: rounded(plan.Concentrate),
		WaterML: rounded(plan.Water), TotalML: rounded(plan.Total)}
	lines := []phrase.Sentence{plan.Sentence()}
	if _, unit, err := quantity.Parse(quantity.LiquidVolume, c.Make); err == nil && unit.Symbol() != "mL" {
		lines = append(lines, phrase.Plain(plan.In(unit))) // in the unit that was typed, whatever the place reads
	}
	if c.Hot != nil || c.Cold != nil || c.Target != nil {
		blend, err := c.blend(plan)
		switch {
		case chem.IsRefusal(err):
			answer.Refusal = err.Error()
			lines = append(lines, phrase.Say("No hot and cold: %v.", err))
		case err != nil:
			return usageError{err}
		default:
			hot, cold := rounded(blend.Hot), rounded(blend.Cold)
			answer.HotML, answer.ColdML = &hot, &cold
			lines = append(lines, phrase.Say("the water: %s hot + %s cold", quantity.Millilitre(hot).To(1), quantity.Millilitre(cold).To(1)))
		}
	}
	if c.JSON {
		return writeJSON(out, answer)
	}
	return writeSentences(out, lines)
}

// blend shares the water of the plan; the concentrate is taken to be at the
// target when its own temperature is not given.
func (c *mixCmd) blend(plan chem.Plan) (chem.Blend, error) {
	for i, given := range []*quantity.Celsius{c.Hot, c.Cold, c.Target} {
		if given == nil {
			return chem.Blend{}, fmt.Errorf("%s is missing: hot and cold water need --hot, --cold and --target together",
				[]string{"--hot", "--cold", "--target"}[i])
		}
	}
	return chem.Taps{Hot: *c.Hot, Cold: *c.Cold, Target: *c.Target}.BlendFor(plan, *cmp.Or(c.Shelf, c.Target))
}

type pourAnswer struct {
	Parts              string  `json:"parts"`
	TotalML            float64 `json:"total_ml"`
	StrengthPercent    float64 `json:"strength_percent"`
	ErrorPercent       float64 `json:"error_percent"`
	UncertaintyPercent float64 `json:"uncertainty_percent,omitzero"` // not known without the division
	Remedy             string  `json:"remedy"`
	AddML              float64 `json:"add_ml"`
	Reason             string  `json:"reason"`
}

func (c *mixCmd) check(out io.Writer) error {
	pour, parts, err := c.pour()
	if err != nil {
		return usageError{err}
	}
	verdict, err := pour.Check()
	if err != nil {
		return usageError{err}
	}
	if !c.JSON {
		lines := []phrase.Sentence{verdict.Reason}
		if c.Division == 0 {
			lines = append(lines, phrase.Say("Not counted: how exactly the graduates could be read. Give the distance between two of their "+
				"marks as --division."))
		}
		return writeSentences(out, lines)
	}
	return writeJSON(out, pourAnswer{
		Parts: parts.String(), TotalML: rounded(verdict.Total), Remedy: verdict.Remedy.String(),
		StrengthPercent: rounded(verdict.Strength * 100), ErrorPercent: rounded(verdict.Error * 100),
		UncertaintyPercent: rounded(verdict.Uncertainty * 100), AddML: rounded(verdict.Add), Reason: verdict.Reason.String(),
	})
}

// pour reads what went in; concentrate was poured and is at hand for a repair.
func (c *mixCmd) pour() (chem.Pour, chem.Parts, error) {
	pour := chem.Pour{ParentStrength: 1, Tolerance: float64(c.Allow) / 100, Vessel: c.Vessel}
	if !(c.Allow >= 0 && c.Allow <= 100) {
		return pour, chem.Parts{}, fmt.Errorf("--allow %g: it must be between 0 and 100 per cent", c.Allow)
	}
	if c.Poured == nil || c.Water == nil {
		return pour, chem.Parts{}, errors.New("a pour is checked from both volumes: give --poured and --water")
	}
	pour.Parent, pour.Water = chem.Measure{Volume: *c.Poured, Division: c.Division}, chem.Measure{Volume: *c.Water, Division: c.Division}
	parts, err := c.parts(pour.Parent.Volume + pour.Water.Volume)
	pour.Target = parts.Strength()
	return pour, parts, err
}
