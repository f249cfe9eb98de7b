package rules_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/sensors"
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

func TestAChannelTellsOneOfAValueABoundAndWhyNot(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		channel            sensors.ChannelID
		read               float64
		value, most, least float64
		why                string
	}{
		{"acid", 2.4, 2.4, none, none, ""},
		{"acid", 0.02, none, 0.1, none, ""},
		{"acid", 25, none, none, 20, ""},
		{"acid", -0.2, none, none, none, "below zero: the sensor's zero is off"},
		{"acid", none, none, none, none, "not seen yet"},
		{"dev", 20.400000000000002, 20.4, none, none, ""},
	} {
		room, board := storyRoom(), rules.NewBoard()
		room.Gases[0].Sensor = breathing.Sensor{Resolution: 0.1, Detection: 0.1, FullScale: 20}
		if !math.IsNaN(c.read) {
			board.Take(good(string(c.channel), c.read, noon()))
		}
		s, _, _ := rules.Evaluate(room, board, noon())
		at := slices.IndexFunc(s.Channels, func(v rules.ChannelView) bool { return v.Channel.ID == c.channel })
		reads, why := s.Reads(s.Channels[at])
		require.Equal(t, c.why, why)
		for want, got := range map[float64]*float64{c.value: reads.Value, c.most: reads.AtMost, c.least: reads.AtLeast} {
			if require.Equal(t, math.IsNaN(want), got == nil, "%s at %g", c.channel, c.read); got != nil {
				require.InDelta(t, want, *got, 0)
			}
		}
	}
}
