package main

import (
	"errors"
	"fmt"
	"io"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

// pourAnswer is the check of a pour in JSON.
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
