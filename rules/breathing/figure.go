package breathing

import "strconv"

// figure writes a value with three digits that mean something, and never with an exponent.
func figure(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		rounded = v // too large to round
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
