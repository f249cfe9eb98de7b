package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/breathing"
)

func TestAGasIsShownInTheStepsOfItsSensor(t *testing.T) {
	for _, c := range []struct {
		sensor breathing.Sensor
		value  float64
		shown  string
	}{
		{breathing.Sensor{Resolution: 0.1}, 2.4444, "2.4 ppm"},
		{breathing.Sensor{Resolution: 0.1}, 0.019, "0.0 ppm"},
		{breathing.Sensor{Resolution: 0.01}, 0.019, "0.02 ppm"},
		{breathing.Sensor{Resolution: 0.1, Detection: 0.1}, 0.019, "below 0.1 ppm"},
		{breathing.Sensor{}, 0.019, "0.019 ppm"},
		{breathing.Sensor{Resolution: 0.1, FullScale: 20}, 20, "at least 20 ppm"},
	} {
		room, board := storyRoom(), rules.NewBoard()
		room.Gases[0].Sensor = c.sensor
		board.Take(good("acid", c.value, noon()))
		s, _, _ := rules.Evaluate(room, board, noon())
		require.Equal(t, c.shown, s.Breathing[0].Now.String())
	}
}
