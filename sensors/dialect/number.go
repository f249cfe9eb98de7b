package dialect

import (
	"math"
	"strconv"

	"wetside/sensors"
)

// decimal reads a plain decimal number: a sign if any, digits, a point if any.
func decimal(text []byte) (float64, bool) {
	digits, points := 0, 0
	for i, b := range text {
		switch {
		case b >= '0' && b <= '9':
			digits++
		case b == '.' && points == 0:
			points++
		case (b == '+' || b == '-') && i == 0:
		default:
			return 0, false
		}
	}
	if digits == 0 {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(text), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// hex reads hexadecimal digits of either case.
func hex(text []byte) (n uint64, ok bool) {
	for _, b := range text {
		switch {
		case b >= '0' && b <= '9':
			n = n<<4 | uint64(b-'0')
		case b|0x20 >= 'a' && b|0x20 <= 'f':
			n = n<<4 | uint64(b|0x20-'a'+10)
		default:
			return 0, false
		}
	}
	return n, len(text) > 0
}

// twice says that a frame has named this address before: which of the two
// values is meant nobody can tell.
func twice(list []sensors.Measurement, address string) bool {
	for i := range list {
		if list[i].Address == address {
			return true
		}
	}
	return false
}

// words keeps one copy of each name and unit that a line repeats for ever. It
// forgets all of them when a babbling line has filled it.
type words map[string]string

func (w words) of(text []byte) string {
	if s, ok := w[string(text)]; ok {
		return s
	}
	if len(w) >= 256 {
		clear(w)
	}
	s := string(text)
	w[s] = s
	return s
}
