package ventilation

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Point is one place of a duct traverse, measured from the left and the lower
// wall, or along one diameter of a round duct.
type Point struct {
	X, Y quantity.Metre
}

// logTchebycheff gives the positions as shares of a side: 5 lines across it below 30 in, 6 up to
// 36 in, 7 above (log-Tchebycheff rule, ISO 3966, from memory).
func logTchebycheff(side quantity.Metre) []float64 {
	switch {
	case side < 0.762:
		return []float64{0.074, 0.288, 0.500, 0.712, 0.926}
	case side <= 0.914:
		return []float64{0.061, 0.235, 0.437, 0.563, 0.765, 0.939}
	default:
		return []float64{0.053, 0.203, 0.366, 0.500, 0.634, 0.797, 0.947}
	}
}

// logLinear gives six positions as shares of a diameter (log-linear rule, from memory).
func logLinear() []float64 { return []float64{0.032, 0.135, 0.321, 0.679, 0.865, 0.968} }

// RectangularTraverse gives the log-Tchebycheff points of a rectangular duct,
// row by row from the lower left.
func RectangularTraverse(width, height quantity.Metre) ([]Point, error) {
	if err := positive(phrase.Say("duct width"), float64(width), "m"); err != nil {
		return nil, err
	}
	if err := positive(phrase.Say("duct height"), float64(height), "m"); err != nil {
		return nil, err
	}
	var points []Point
	for _, y := range logTchebycheff(height) {
		for _, x := range logTchebycheff(width) {
			points = append(points, Point{width * quantity.Metre(x), height * quantity.Metre(y)})
		}
	}
	return points, nil
}

// RoundTraverse gives the log-linear points of a round duct, six on each of two
// diameters at right angles.
func RoundTraverse(diameter quantity.Metre) ([]Point, error) {
	if err := positive(phrase.Say("duct diameter"), float64(diameter), "m"); err != nil {
		return nil, err
	}
	var points []Point
	for _, share := range logLinear() {
		points = append(points, Point{diameter * quantity.Metre(share), diameter / 2})
	}
	for _, share := range logLinear() {
		points = append(points, Point{diameter / 2, diameter * quantity.Metre(share)})
	}
	return points, nil
}

// MeanVelocity gives the mean of the velocities, which is what a flow follows
// from; the velocity of the mean pressure would be too high.
func MeanVelocity(velocities []quantity.MetrePerSecond) (quantity.MetrePerSecond, error) {
	if len(velocities) == 0 {
		return 0, phrase.Errorf("a mean velocity needs at least one velocity")
	}
	var sum quantity.MetrePerSecond
	for i, v := range velocities {
		if err := notNegative(phrase.Say("velocity %d", i+1), float64(v), "m/s"); err != nil {
			return 0, err
		}
		sum += v
	}
	return sum / quantity.MetrePerSecond(len(velocities)), nil
}
