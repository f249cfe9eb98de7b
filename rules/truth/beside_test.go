package truth_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

// side hears several channels, a value a second each, and gives the first finding with the second it came in.
func side(t *testing.T, channels []sensors.Channel, seconds int, says func(id sensors.ChannelID, second int) float64) (truth.Finding, int) {
	watch, book := truth.NewWatch(channels), truth.Open(channels)
	for second := range seconds {
		now := time.Duration(second) * time.Second
		for _, c := range channels {
			watch.Take(reading(c.ID, says(c.ID, second), now))
		}
		if found := watch.Find(book, instant(now)); len(found) > 0 {
			return found[0], second
		}
	}
	return truth.Finding{}, 0
}

// A probe of the room's pressure in steps too coarse for its noise. The fan stops or starts after half an hour.
func TestAStandingValueIsDoubtedWhereTwoOtherSignsShowThatTheAirChanged(t *testing.T) {
	const turns = 1800
	running := map[sensors.ChannelID]float64{"VEL": 4.7, "VPR": 13, "FAN": 1, "ROOM": -5}
	signs := func(ids ...string) (list []sensors.Channel) {
		kinds := map[string]sensors.Kind{"VEL": sensors.DuctVelocity, "VPR": sensors.VelocityPressure, "FAN": sensors.FanCommand}
		for _, id := range ids {
			list = append(list, channel(t, id, kinds[id]))
		}
		return append(list, channel(t, "ROOM", sensors.RoomPressure))
	}
	for name, c := range map[string]struct {
		channels []sensors.Channel
		runs     func(id sensors.ChannelID, second int) bool
		says     string // nothing where none is found
		percent  int
	}{
		"stops": {signs("VEL", "VPR", "FAN"), func(id sensors.ChannelID, s int) bool { return id == "ROOM" || s < turns },
			"the air came to rest, by VEL, VPR, FAN.", 99},
		"starts, once it showed more": {signs("VEL", "FAN"), func(id sensors.ChannelID, s int) bool {
			return s < 1200 && s%200 > 20 || id != "ROOM" && s >= turns
		}, "the air began to move, by VEL, FAN.", 99},
		"starts, and it never showed anything": {signs("VEL", "FAN"),
			func(id sensors.ChannelID, s int) bool { return id != "ROOM" && s >= turns }, "", 0},
		"one sign alone": {signs("FAN"), func(id sensors.ChannelID, s int) bool { return id == "ROOM" || s < turns }, "", 0},
		"signs disagree": {signs("VEL", "FAN"), func(id sensors.ChannelID, s int) bool {
			return id == "ROOM" || id == "VEL" == (s < turns)
		}, "", 0},
		"nothing changes": {signs("VEL", "VPR", "FAN"), func(sensors.ChannelID, int) bool { return true }, "", 0},
	} {
		dice := rand.New(rand.NewPCG(7, 7))
		f, at := side(t, c.channels, turns+600, func(id sensors.ChannelID, second int) float64 {
			switch {
			case !c.runs(id, second):
				return 0
			case id == "VEL" || id == "VPR":
				return running[id] + 0.1*dice.NormFloat64()
			case id == "ROOM" && second < 1200 && second%200 < 40:
				return -4
			}
			return running[id]
		})
		require.Equal(t, c.says != "", at > 0, "%s: %v", name, f.Text)
		if c.says != "" {
			require.Equal(t, truth.FlatLine, f.What, name)
			require.Equal(t, []sensors.ChannelID{"ROOM"}, f.Channels, name)
			require.Contains(t, f.Text.String(), c.says, name)
			require.Equal(t, c.percent, f.Percent(), name)
			require.Contains(t, f.Basis.String(), "other signs is wrong has a chance of 10 in 100", name)
			require.InDelta(t, turns+220, at, 25, "%s: a door may stand open for three minutes", name)
		}
	}
}

// Two probes of one air, one of them in steps of a quarter of a kelvin: it stands while the other moves.
func TestAStandingProbeOfTheAirIsDoubtedBesideOneThatMoves(t *testing.T) {
	channels := []sensors.Channel{channel(t, "AIR", sensors.AirTemperature), channel(t, "AIR2", sensors.AirTemperature)}
	const stands = 3000
	for by, found := range map[float64]bool{0.4: false, 1.5: true, -1.5: true} {
		f, at := side(t, channels, stands+600, func(id sensors.ChannelID, second int) float64 {
			is := 20 + 0.3*math.Sin(float64(second)/300) + by*float64(max(0, second-stands))/600
			if id == "AIR" {
				return math.Round(4*(20+0.3*math.Sin(float64(min(second, stands))/300))) / 4
			}
			return is
		})
		require.Equal(t, found, at > 0, "%v: %v", by, f.Text)
		if found {
			require.Equal(t, []sensors.ChannelID{"AIR"}, f.Channels)
			require.Equal(t, 91, f.Percent())
			require.Contains(t, f.Text.String(), "meanwhile AIR2 moved by")
			require.Contains(t, f.Basis.String(), "has a chance of 10 in 100")
		}
	}
}

// What a probe of coarse steps shows is a whole step, also where the air moved by next to nothing.
func TestALiveProbeOfTheAirIsNotDoubtedForTheCoarseStepOfAnother(t *testing.T) {
	channels := []sensors.Channel{channel(t, "AIR", sensors.AirTemperature), channel(t, "AIR2", sensors.AirTemperature)}
	for by, found := range map[float64]bool{0.1: false, 2.6: true} {
		f, at := side(t, channels, 3600, func(id sensors.ChannelID, second int) float64 {
			switch {
			case id == "AIR":
				return 20.4
			case second >= 600 && second < 660:
				return 21 // its step
			}
			return math.Round(20.45 + by*float64(min(1, second/3000)))
		})
		require.Equal(t, found, at > 0, "%v: %v", by, f.Text)
	}
}

// wanders is a value that is drawn back to 18.5 within eight minutes, in steps of a tenth.
func wanders() func(int) float64 {
	dice, off := rand.New(rand.NewPCG(3, 5)), 0.0
	kept := math.Exp(-1.0 / 480)
	return func(int) float64 {
		off = off*kept + 0.4*math.Sqrt(1-kept*kept)*dice.NormFloat64()
		return math.Round(185+10*off) / 10
	}
}

func TestAWanderingValueIsFlatWhenItStandsFourTimesAsLongAsEverInAnHour(t *testing.T) {
	h, water := hear(t, channel(t, "WSH", sensors.WaterTemperature), time.Second), wanders()
	longest, stood, last := 0, 0, 0.0
	f, at := h.says(3600, func(i int) float64 {
		v := water(i)
		if stood++; v != last {
			stood, last = 0, v
		}
		longest = max(longest, stood)
		return v
	})
	require.Zero(t, at, f.Text)
	stops := h.now
	f, at = h.says(900, always(last))
	require.Equal(t, truth.FlatLine, f.What)
	require.InDelta(t, max(120, 4*longest), (at - stops).Seconds(), float64(longest)+20)
	require.Contains(t, f.Basis.String(), "in the last hour, in which it swung to and fro, it never stood for longer than")
	require.Equal(t, 99, f.Percent())

	slow := hear(t, channel(t, "DEV", sensors.BathTemperature), time.Second) // a bath that comes to rest
	f, at = slow.says(4*3600, func(i int) float64 { return math.Round(10*(20+3*math.Exp(-float64(i)/1200))) / 10 })
	require.Zero(t, at, f.Text)
}

// Half a kelvin a step is too coarse to follow the air by, but two steps within a minute are none of a bath.
func TestAProbeOfCoarseStepsThatFollowsTheAirIsFoundWhereItsStepWasSudden(t *testing.T) {
	e := quiet()
	e.schedule += "; 1h10m lift DEV 6h"
	e.lasts = 85 * time.Minute
	e.bend = func(_ time.Duration, id string, says float64) float64 {
		if id == "DEV" {
			return math.Round(2*says) / 2
		}
		return says
	}
	got := e.found(t)
	require.Len(t, got, 1)
	require.Equal(t, truth.OutOfBath, got[0].What)
	require.Contains(t, got[0].Basis.String(), "to within 0.35 K since")
}
