package chem

import (
	"strings"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Sheet is a size of paper or film, named as the trade names it.
type Sheet struct {
	// Name is such as "8x10in".
	Name string
	// Area is of one side.
	Area quantity.SquareMetre
}

// Words is the size as people say it: inches without their unit, as in "8x10", and "18x24 cm".
func (s Sheet) Words() string {
	if inches, found := strings.CutSuffix(s.Name, "in"); found {
		return inches
	}
	return strings.Replace(s.Name, "cm", " cm", 1)
}

// FilmRoll is the unit in which film developer is rated: one 36-frame roll or
// one roll of 120 counts as 80 square inches, as does one 8x10 sheet (common
// practice).
func FilmRoll() Sheet { return Sheet{Name: "film roll", Area: squareInches(80)} }

func squareInches(in2 float64) quantity.SquareMetre {
	return quantity.SquareMetre(in2 * 0.0254 * 0.0254)
}

// CommonSheets are the sizes that a form offers.
func CommonSheets() []Sheet {
	var sheets []Sheet
	for _, name := range []string{"4x5in", "5x7in", "8x10in", "9.5x12in", "11x14in", "16x20in", "20x24in", "18x24cm", "24x30cm", "30x40cm"} {
		if s, err := ParseSheet(name); err == nil {
			sheets = append(sheets, s)
		}
	}
	return sheets
}

// ParseSheet reads a size such as "8x10in" or "18 x 24 cm".
func ParseSheet(text string) (Sheet, error) {
	s := strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(text, " ", ""), "×", "x"))
	wide, high, found := strings.Cut(s, "x")
	height, unit, err := quantity.Parse(quantity.Length, high)
	if !found || err != nil {
		return Sheet{}, phrase.Errorf("%q is not a sheet size: write it like 8x10in or 18x24cm", text)
	}
	width, _, err := quantity.Parse(quantity.Length, strings.TrimSuffix(wide, unit.Symbol())+unit.Symbol())
	if err != nil {
		return Sheet{}, phrase.Errorf("%q is not a sheet size: write it like 8x10in or 18x24cm", text)
	}
	const least, most = 0.005, 3.0
	if !(width >= least && width <= most && height >= least && height <= most) {
		return Sheet{}, phrase.Errorf("%q is not a sheet size: a side is between 5 mm and 3 m", text)
	}
	return Sheet{Name: s, Area: quantity.SquareMetre(width * height)}, nil
}

// Capacity is the area that a litre of working solution carries, and who says so:
// published capacities of one bath differ by a factor of 2.5.
type Capacity struct {
	// PerLitre is the area per litre of working solution.
	PerLitre quantity.SquareMetre
	// Source is shown beside every figure worked out from it.
	Source string
}

// Of is the area that a volume carries.
func (c Capacity) Of(v quantity.Millilitre) quantity.SquareMetre {
	return c.PerLitre * quantity.SquareMetre(v/1000)
}
