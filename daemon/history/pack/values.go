package pack

import "math"

// A probe sends decimals: 20.31 is 2031 hundredths, and 20.3125 is 203125 of the
// fourth place. A scale says how whole numbers become the exact bits again.
type scale struct {
	form     form
	decimals uint8
}

// form is the way from a whole number k with d decimals to a value.
type form uint8

const (
	asBits     form = iota // the 64 bits of the value, for anything else
	asQuotient             // k / 10^d: a decimal read as a double
	asSingle               // float32(k / 10^d): a decimal that went through single precision
	asProduct              // k * (1 / 10^d): a whole number scaled by a factor
)

const (
	maxDecimals = 6
	maxWhole    = 1 << 53 // beyond it not every whole number is a double
)

func (s scale) factor() float64 { return math.Pow10(int(s.decimals)) }

func (s scale) value(k int64, factor float64) float64 {
	switch s.form {
	case asQuotient:
		return float64(k) / factor
	case asSingle:
		return float64(float32(float64(k) / factor))
	case asProduct:
		return float64(k) * (1 / factor)
	default:
		return math.Float64frombits(uint64(k))
	}
}

// values gives samples the values that their counts of the step stand for. Each form has its
// own loop: a history of years has hundreds of millions of values.
func (h head) values(out []Sample, counts []int64) {
	factor, step := h.scale.factor(), int64(h.step)
	switch h.scale.form {
	case asQuotient:
		for i, count := range counts {
			out[i].Raw = float64(h.base+count*step) / factor
		}
	default:
		for i, count := range counts {
			out[i].Raw = h.scale.value(h.base+count*step, factor)
		}
	}
}

// whole gives the whole number nearest to v in the scale; exact says whether it
// gives back every bit of v.
func (s scale) whole(v, factor float64) (k int64, exact bool) {
	if s.form == asBits {
		return int64(math.Float64bits(v)), true
	}
	scaled := math.Round(v * factor)
	if !(math.Abs(scaled) < maxWhole) {
		return 0, false
	}
	k = int64(scaled)
	return k, math.Float64bits(s.value(k, factor)) == math.Float64bits(v)
}

// findScale gives the first scale in which every value is exact.
func findScale(samples []Sample) scale {
	for _, f := range []form{asQuotient, asSingle, asProduct} {
		for d := uint8(0); d <= maxDecimals; d++ {
			if s := (scale{f, d}); s.holds(samples) {
				return s
			}
		}
	}
	return scale{}
}

func (s scale) holds(samples []Sample) bool {
	factor := s.factor()
	for i := range samples {
		if _, exact := s.whole(samples[i].Raw, factor); !exact {
			return false
		}
	}
	return true
}

// wholes gives all values as whole numbers, counted in their greatest common step
// from the first one.
func (s scale) wholes(samples []Sample) (first int64, step uint64, counts []int64) {
	factor := s.factor()
	counts = make([]int64, len(samples))
	for i := range samples {
		counts[i], _ = s.whole(samples[i].Raw, factor)
	}
	first = counts[0]
	for i := range counts {
		counts[i] -= first // wraps for asBits; adding wraps back
		step = gcd(step, magnitude(counts[i]))
	}
	if step > 1 {
		for i := range counts {
			counts[i] = divide(counts[i], step)
		}
	}
	return first, max(step, 1), counts
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return -uint64(v)
	}
	return uint64(v)
}

// divide is v / step for a step that may be 2^63.
func divide(v int64, step uint64) int64 {
	if v < 0 {
		return -int64(magnitude(v) / step)
	}
	return int64(uint64(v) / step)
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
