package breathing

import (
	"math"
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

// outward rounds a range to two digits of its upper end, so that it still holds what it held.
func outward(low, high float64) (lowest, highest float64) {
	step := math.Pow10(int(math.Floor(math.Log10(high))) - 1)
	return math.Floor(low/step+rounding) * step, math.Ceil(high/step-rounding) * step
}
