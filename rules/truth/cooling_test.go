package truth_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

// A tray of two litres loses as much to the air as takes it there in 80 minutes, and rests 1.5 K below it while it is open. What it
// does is reckoned here by Newton's law of cooling, second by second.
func TestABathThatStopsOnItsWayToTheAirIsFlatBeforeItsNoiseCouldTell(t *testing.T) {
	const stands, air = 3000, 18.0
	towards := func(bath, around, minutes float64) float64 { return bath + (around-bath)/(60*minutes) }
	open := func(bath float64) float64 { return towards(bath, air-1.5, 80) }
	still := func(bath float64) float64 { return bath }
	channels := []sensors.Channel{channel(t, "AIR", sensors.AirTemperature), channel(t, "DEV", sensors.BathTemperature)}
	for name, c := range map[string]struct {
		channels      []sensors.Channel
		from, step    float64
		before, after func(bath float64) float64
		act           int
		minutes       float64 // from its last change until it is found, zero where it is not
	}{
		"it stands": {channels, 22, 0.1, open, still, 0, 11.6}, "in finer steps": {channels, 22, 0.0625, open, still, 0, 6.6},
		"in coarse steps":         {channels, 24, 0.5, open, still, 0, 0},
		"a colder one that warms": {channels, 13, 0.1, open, still, 0, 9.7},
		"it goes on":              {channels, 22, 0.1, open, open, 0, 0},
		"a lid":                   {channels, 22, 0.1, open, func(bath float64) float64 { return towards(bath, air, 130) }, 0, 0},
		"a lid, colder than the air": {channels, 18.5, 0.1, open,
			func(bath float64) float64 { return towards(bath, air, 130) }, 0, 0},
		"it stands nearly at the air": {channels, 19, 0.1, open, still, 0, 0},
		"it was kept at 20 degrees":   {channels, 22, 0.1, func(bath float64) float64 { return towards(bath, 20, 15) }, still, 0, 0},
		"a jacket warmed it": {channels, 14, 0.1, func(bath float64) float64 { return bath + 0.1/60 }, still, 0,
			0},
		"stirred and topped up":    {channels, 22, 0.1, open, still, stands, 0},
		"topped up minutes before": {channels, 22, 0.1, open, still, stands - 500, 0},
		"topped up long before":    {channels, 22, 0.1, open, still, stands - 700, 11.6},
		"the air is not measured":  {channels[1:], 22, 0.1, open, still, 0, 0},
		"it stood before":          {channels, 20, 0.1, still, still, 0, 0},
	} {
		watch, book, bath := truth.NewWatch(c.channels), truth.Open(c.channels), c.from
		var found []truth.Finding
		at := 0
		for second := 0; second < stands+1800 && len(found) == 0; second++ {
			now := instant(time.Duration(second) * time.Second)
			if second < stands {
				bath = c.before(bath)
			} else {
				bath = c.after(bath)
			}
			if second == c.act && c.act > 0 {
				watch.Done("DEV", now)
			}
			watch.Take(reading("AIR", air+0.2*float64(second%2), time.Duration(second)*time.Second))
			watch.Take(reading("DEV", math.Round(bath/c.step)*c.step, time.Duration(second)*time.Second))
			found, at = watch.Find(book, now), second
		}
		require.Equal(t, c.minutes > 0, len(found) > 0, "%s: %v", name, found)
		if c.minutes > 0 {
			f := found[0]
			require.Equal(t, truth.FlatLine, f.What, name)
			require.Equal(t, []sensors.ChannelID{"DEV"}, f.Channels, name)
			require.InDelta(t, c.minutes, instant(time.Duration(at)*time.Second).Wall.Sub(f.From).Minutes(), 0.5, "%s: %+v", name, f)
			require.Equal(t, 83, f.Percent(), "%s: a heater does the same", name)
			require.False(t, f.Doubts, "%s: its figures stay in use until somebody has looked", name)
			require.Contains(t, f.Text.String(), "minutes; before, it changed by", name)
			require.Contains(t, f.Basis.String(), "by Newton's law of cooling", name)
		}
	}
}
