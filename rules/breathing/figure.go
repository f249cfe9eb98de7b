package breathing

import (
	"strconv"

	"wetside/sensors/quantity"
)

// figure writes a value with three digits that mean something, and never with an exponent.
func figure(v float64) quantity.Decimal {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		rounded = v // too large to round
	}
	return quantity.Decimal(strconv.FormatFloat(rounded, 'f', -1, 64))
}
