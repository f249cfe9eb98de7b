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
		"stops, and a gauge was never heard to move": {signs("VEL", "FAN", "VPR"), func(id sensors.ChannelID, s int) bool {
			return id != "VPR" && (id == "ROOM" || s < turns)
		}, "the air came to rest, by VEL, FAN.", 99},
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

// The fan stood for two minutes with a door open, and starts while the door is still open: what the air did before the room's pressure
// stood says nothing of its probe.
func TestAPressureThatStoodSinceTheFanStoppedIsNotHeldAgainstItsStart(t *testing.T) {
	const stops, starts, shut = 1800, 1920, 1935
	list := []sensors.Channel{channel(t, "VEL", sensors.DuctVelocity), channel(t, "VPR", sensors.VelocityPressure),
		channel(t, "ROOM", sensors.RoomPressure)}
	f, at := side(t, list, shut+600, func(id sensors.ChannelID, second int) float64 {
		begins := map[sensors.ChannelID]int{"VEL": starts, "VPR": starts, "ROOM": shut}[id]
		if second >= stops && second < begins {
			return 0
		}
		return map[sensors.ChannelID]float64{"VEL": 4.7, "VPR": 13, "ROOM": -5}[id] + 0.3*float64(second%2)
	})
	require.Zero(t, at, "%v", f.Text)
}

// What stood for longer than the hour that is kept is held against the other signs all the same.
func TestAValueThatStoodForHoursIsDoubtedWhenTheAirChanges(t *testing.T) {
	const turns = 3 * 3600
	list := []sensors.Channel{channel(t, "VEL", sensors.DuctVelocity), channel(t, "FAN", sensors.FanCommand),
		channel(t, "ROOM", sensors.RoomPressure)}
	f, at := side(t, list, turns+600, func(id sensors.ChannelID, second int) float64 {
		switch {
		case id == "ROOM":
			return -5
		case second >= turns:
			return 0
		case id == "FAN":
			return 1
		}
		return 4 + 0.1*float64(second%2)
	})
	require.Equal(t, []sensors.ChannelID{"ROOM"}, f.Channels, "%v", f.Text)
	require.InDelta(t, turns+220, at, 25)
}

// Two probes of one air, one of them in steps of a quarter of a kelvin: it stands while the other moves.
func TestAStandingProbeOfTheAirIsDoubtedBesideOneThatMoves(t *testing.T) {
	channels := []sensors.Channel{channel(t, "AIR", sensors.AirTemperature), channel(t, "AIR2", sensors.AirTemperature)}
	const stands = 3000
	for by, found := range map[float64]bool{0.4: false, 0.7: false, 1.5: true, -1.5: true} {
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
	h, water := hear(t, channel(t, "VEL", sensors.DuctVelocity), time.Second), wanders()
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

	tap := hear(t, channel(t, "WSH", sensors.WaterTemperature), time.Second) // shut off
	tap.says(3600, water)
	f, at = tap.says(1800, always(last))
	require.Zero(t, at, f.Text)

	slow := hear(t, channel(t, "DEV", sensors.BathTemperature), time.Second) // a bath that comes to rest
	f, at = slow.says(4*3600, func(i int) float64 { return math.Round(10*(20+3*math.Exp(-float64(i)/1200))) / 10 })
	require.Zero(t, at, f.Text)
}

// Water that no longer runs goes to the temperature of the air within three hours at most: by a step of a tenth, and a bit, from 2.5 K
// off within 7.9 minutes, from 5 K within 4, and two minutes more for a slow probe that turned round, after as long as it ever stood
// while it ran. Air within a step shows nothing.
func TestStandingWaterIsFlatWhereItWouldGoToTheTemperatureOfTheAir(t *testing.T) {
	channels := []sensors.Channel{channel(t, "WSH", sensors.WaterTemperature), channel(t, "AIR", sensors.AirTemperature)}
	const stands = 3600
	for off, minutes := range map[float64]float64{5: 6, -5: 6, 2.5: 9.9, 0.1: 0} {
		water, last, stood, longest := wanders(), 0.0, 0, 0
		f, at := side(t, channels, stands+1800, func(id sensors.ChannelID, second int) float64 {
			switch {
			case id == "AIR":
				return last + off
			case second < stands:
				v := water(second)
				if stood++; v != last {
					stood = 0
				}
				last, longest = v, max(longest, stood)
			}
			return last
		})
		require.Equal(t, minutes > 0, at > 0, "%v: %v", off, f.Text)
		if minutes > 0 {
			require.Equal(t, []sensors.ChannelID{"WSH"}, f.Channels)
			require.InDelta(t, minutes+float64(longest)/60, float64(at-stands)/60, 1, off)
		}
	}
}

// People stir the air of a room: when they leave, carbon dioxide, humidity and temperature scatter less, down to what the probes do
// themselves. What stands while another scatters as before is dead.
func TestAirThatComesToRestWhenPeopleLeaveIsNoDeadProbe(t *testing.T) {
	air, humid, gas := channel(t, "AIR", sensors.AirTemperature), channel(t, "HUM", sensors.RelativeHumidity),
		channel(t, "CO2", sensors.CarbonDioxide)
	const leave = 3600
	busy := map[sensors.ChannelID]float64{"AIR": 0.1, "HUM": 0.5, "CO2": 20}
	steps := map[sensors.ChannelID]float64{"AIR": 0.1, "HUM": 0.1, "CO2": 1}
	type shares = map[sensors.ChannelID]float64
	for name, c := range map[string]struct {
		channels []sensors.Channel
		calm     shares // of what it was; below zero it never scattered
		found    []sensors.ChannelID
	}{
		"all come to rest":       {[]sensors.Channel{air, humid, gas}, shares{"AIR": 0.05, "HUM": 0.05, "CO2": 0.05}, nil},
		"one stands":             {[]sensors.Channel{air, humid, gas}, shares{"AIR": 0, "HUM": 1, "CO2": 1}, []sensors.ChannelID{"AIR"}},
		"one stands, one rests":  {[]sensors.Channel{air, humid, gas}, shares{"AIR": 0, "HUM": 0.3, "CO2": 1}, nil},
		"it stands beside one":   {[]sensors.Channel{air, humid}, shares{"AIR": 0, "HUM": 1}, nil},
		"it stands beside none":  {[]sensors.Channel{air}, shares{"AIR": 0}, nil},
		"it scatters much less":  {[]sensors.Channel{humid, gas}, shares{"HUM": 1, "CO2": 0.1}, nil},
		"the other never lived":  {[]sensors.Channel{air, humid}, shares{"AIR": 0, "HUM": -1}, nil},
		"it stands beside water": {[]sensors.Channel{air, channel(t, "WSH", sensors.WaterTemperature)}, shares{"AIR": 0, "WSH": 1}, nil},
	} {
		dice := rand.New(rand.NewPCG(11, 11))
		f, _ := side(t, c.channels, leave+1200, func(id sensors.ChannelID, second int) float64 {
			share := 1.0
			if second >= leave || c.calm[id] < 0 {
				share = max(0, c.calm[id])
			}
			size, step := busy[id], steps[id]
			if id == "WSH" {
				size, step = 0.1, 0.1
			}
			return 300*step + math.Round(share*size*dice.NormFloat64()/step)*step
		})
		require.Equal(t, c.found, f.Channels, "%s: %v", name, f.Text)
	}
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
