// Package locale writes numbers and quantities as the people of a place read them: in
// their units and with their decimal sign.
package locale

import (
	"strconv"
	"strings"

	"wetside/sensors/quantity"
)

// Units are the units in which the people of a place want to read.
type Units struct {
	Temperature, Flow, Pressure, Velocity, Volume quantity.Unit
	// DecimalComma says that people here write 18,5 and not 18.5.
	DecimalComma bool
	// Letter says that people here print on US letter and not on A4.
	Letter bool
}

// Of gives the place's unit of a dimension: the inside unit where it has none. Who reads flows in cubic feet a minute
// reads rooms in cubic feet.
func (u Units) Of(d quantity.Dimension) quantity.Unit {
	if d == quantity.RoomVolume && u.Flow.Symbol() == "cfm" {
		feet, _ := quantity.ParseUnit("ft3")
		return feet
	}
	for _, unit := range []quantity.Unit{u.Temperature, u.Flow, u.Pressure, u.Velocity, u.Volume} {
		if unit.Dimension() == d {
			return unit
		}
	}
	base, _ := quantity.BaseUnit(d)
	return base
}

// OnLetter says whether people here print on US letter and not on A4.
func (u Units) OnLetter() bool { return u.Letter }

// Number writes a number with the sign of the place; zero is written without a sign.
func (u Units) Number(v float64, places int) string { return u.Sign(quantity.Digits(v, places)) }

// Plain writes a number with the digits that it has.
func (u Units) Plain(v float64) string { return u.Sign(strconv.FormatFloat(v, 'f', -1, 64)) }

// Sign puts the place's decimal sign into a number written with a point, and a minus in the place of a hyphen.
func (u Units) Sign(number string) string {
	if below, negative := strings.CutPrefix(number, "-"); negative {
		number = "−" + below
	}
	if u.DecimalComma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// Bytes writes a number of bytes with a unit of 1000.
func (u Units) Bytes(n uint64) string {
	units := []string{"B", "kB", "MB", "GB", "TB"}
	v, at := float64(n), 0
	for v >= 999.5 && at < len(units)-1 {
		v, at = v/1000, at+1
	}
	places := 0
	if at > 0 && v < 9.95 {
		places = 1
	}
	return u.Number(v, places) + " " + units[at]
}

// Figure writes a quantity in the place's unit of its dimension.
func (u Units) Figure(f quantity.Figure) string {
	own := u.Of(f.Dimension())
	if own == (quantity.Unit{}) {
		return u.Sign(f.String())
	}
	digits, unit := f.In(own)
	return strings.TrimSpace(u.Sign(digits) + " " + unit)
}
