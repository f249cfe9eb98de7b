package truth

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// What a keeper reads of a finding, with every figure of it.
func TestAFindingSaysWhatWasSeenAndWhatItRestsOn(t *testing.T) {
	bath := tracked(t, sensors.BathTemperature, 0, 0, nil)
	bath.channel.Name = "FX1"
	x := suspicion{channel: bath.channel, apart: -0.2, follows: 0.35, step: edge{before: level{mean: 22}, after: level{mean: 20.3}}}
	duct := tracked(t, sensors.DuctVelocity, 0, 0, nil)
	duct.channel.Name = "VEL"
	duct.live.before, duct.live.raw = 4, 40
	duct.live.last = sensors.Instant{Mono: 3 * time.Minute}
	cell := tracked(t, sensors.SulfurDioxide, 0, 0, nil)
	cell.channel.Name = "SO2"
	quiet := tracked(t, sensors.DuctVelocity, 0, 0, nil)
	quiet.channel.Name = "VEL"
	quiet.live.now = block{readings: 199, sum: 199 * 4, squares: 0.36}
	quiet.live.raw = 4
	lost, found := quiet.hushed(usual{level: 4, typical: 4, noise: 0.01, all: 0.5}, sensors.Instant{Mono: blockLasts})
	require.True(t, found)
	for _, c := range []struct {
		f           Finding
		percent     int
		text, basis string
	}{
		{x.jump(), 99, "FX1 moved by -1.7 K within two minutes and stayed there; no entry explains the change.",
			"a tray of liquid takes an hour or so for what this took at most two minutes for: either the probe is wrong, or what it stands in " +
				"was changed"},
		{x.outOfBath(phrase.Plain("it hangs"), false), 91, "it hangs",
			"after the step it lay 0.2 K from the air and 1.7 K from where the bath was; it has kept to the air, or to its distance from it, " +
				"to within 0.35 K since, which a bath does not; that another cause does the same has a chance of 10.0 in 100"},
		{x.outOfBath(phrase.Plain("it is back"), true), 99, "it is back",
			"after the step it lay 0.2 K from the air and 1.7 K from where the bath was; it came back to within 0.25 K of where it was; " +
				"that another cause does the same has a chance of 1.0 in 100"},
		{duct.replaced(change{before: 4, after: 4.42, moved: 0.42, times: 5}, instantOf(looks)), 96,
			"VEL read 4.00 m/s before its plug was pulled and 4.42 m/s when it was back.",
			"that is 5 times the root mean square of the changes over the same time in the hour before; by Chebyshev's inequality a change of " +
				"so many standard deviations has a chance of at most 4.0 in 100"},
		{cell.replaced(change{before: 0.1, after: 0.5, moved: 0.4, times: 5}, instantOf(looks)), 50,
			"SO2 read 0.1 ppm before its plug was pulled and 0.5 ppm when it was back.",
			"either gas came or went while the plug was out, or the cell came back with another zero: its readings cannot tell which, so they " +
				"count as gas"},
		{duct.stuck(), 99, "VEL went from 4.00 m/s to 40.00 m/s within one reading and has stayed there for 3 minutes.",
			"a live probe neither gets there within one reading nor stands still there"},
		{lost, 99, "VEL has lost its noise: its readings scatter 3 times less than in quiet minutes of the last hour.",
			"the variance of 200 readings is 9.0 % of that of quiet minutes before; by chance it falls so far less than once in " +
				"10 000 000 000 times"},
	} {
		require.Equal(t, c.text, c.f.Text.String())
		require.Equal(t, c.basis, c.f.Basis.String())
		require.Equal(t, c.percent, c.f.Percent(), c.text)
	}
}
