package truth_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/simroom"
)

func start() time.Time { return time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC) }

func instant(elapsed time.Duration) sensors.Instant {
	return sensors.Instant{Wall: start().Add(elapsed), Mono: elapsed}
}

func channel(t require.TestingT, id string, kind sensors.Kind) sensors.Channel {
	traits, known := kind.Traits()
	require.True(t, known)
	unit, err := quantity.BaseUnit(traits.Dimension)
	require.NoError(t, err)
	return sensors.Channel{ID: sensors.ChannelID(id), Name: id, Kind: kind, Unit: unit, Traits: traits}
}

// room is the channels of the simulated room that are looked at.
func room(t require.TestingT) []sensors.Channel {
	list := []sensors.Channel{channel(t, "AIR", sensors.AirTemperature), channel(t, "WSH", sensors.WaterTemperature),
		channel(t, "HUM", sensors.RelativeHumidity), channel(t, "CO2", sensors.CarbonDioxide),
		channel(t, "VEL", sensors.DuctVelocity), channel(t, "VPR", sensors.VelocityPressure), channel(t, "SO2", sensors.SulfurDioxide)}
	for _, id := range []string{"DEV", "STP", "FX1", "FX2"} {
		list = append(list, channel(t, id, sensors.BathTemperature))
	}
	return list
}

// evening is a simulated evening with what is entered in its course.
type evening struct {
	schedule string
	seed     uint64
	lasts    time.Duration
	// done are the entries: what was done to which bath when.
	done map[time.Duration][]sensors.ChannelID
	// emptied is when the book says of a tray that it was emptied, for good.
	emptied map[sensors.ChannelID]time.Duration
	// pulled is when the plug of a probe is out for twenty seconds.
	pulled map[sensors.ChannelID]time.Duration
	// tops are the ends of the ranges of probes, where they are known.
	tops map[sensors.ChannelID]float64
	// bend changes what a probe says.
	bend func(elapsed time.Duration, id string, says float64) float64
}

// all are the four trays.
func all() []sensors.ChannelID { return []sensors.ChannelID{"DEV", "STP", "FX1", "FX2"} }

// found lives through an evening and gives what was found in it.
func (e evening) found(t require.TestingT) []truth.Offer {
	events, err := simroom.ParseSchedule(e.schedule)
	require.NoError(t, err)
	channels := room(t)
	for i, c := range channels {
		channels[i].Top = e.tops[c.ID]
	}
	book, watch := truth.Open(channels), truth.NewWatch(channels)
	gates := map[string]*sensors.Gate{}
	for _, c := range channels {
		gates[string(c.ID)] = sensors.NewGate(c)
	}
	simroom.Play(simroom.Options{Seed: e.seed, Events: events}, e.lasts, func(elapsed time.Duration, says map[string]float64) {
		now := instant(elapsed)
		for _, id := range e.done[elapsed] {
			watch.Done(id, now)
		}
		for id, at := range e.emptied {
			watch.Empty(id, elapsed >= at)
		}
		for id, gate := range gates {
			if at, is := e.pulled[sensors.ChannelID(id)]; is && elapsed >= at && elapsed < at+20*time.Second {
				continue
			}
			v := says[id]
			if e.bend != nil {
				v = e.bend(elapsed, id, v)
			}
			watch.Take(gate.Judge(sensors.Measurement{Value: v}, now))
		}
		for _, f := range watch.Find(book, now) {
			book = book.Offered(f)
		}
	})
	return book.Findings()
}

// quiet is an evening in which nothing is wrong: trays are filled, warmed by jackets,
// covered, emptied, people come and go, the fan stops by its timer.
func quiet() evening {
	return evening{schedule: `10s fill trays; 0s start fan 2h; 0s people 1; 10m people 8; 45m jacket DEV; 75m people 11; 90m jacket FX1;
		2h12m start fan 2h; 2h30m people 5; 2h50m jacket DEV; 3h15m people 2; 3h20m cover trays; 3h40m empty trays; 3h50m people 0`,
		seed: 1, lasts: 4*time.Hour + 30*time.Minute, done: map[time.Duration][]sensors.ChannelID{10 * time.Second: all(),
			3*time.Hour + 40*time.Minute: all()}}
}

func TestNothingIsFoundInAQuietEveningOfTheDemonstration(t *testing.T) {
	require.Empty(t, quiet().found(t))
}

func TestWhatIsSimulatedIsFoundOnceWithItsChannelsItsTimeAndAConfidence(t *testing.T) {
	for _, c := range []struct {
		name    string
		trouble string
		bend    func(time.Duration, string, float64) float64
		what    truth.FindingKind
		on      []sensors.ChannelID
		begun   time.Duration
	}{
		{"a probe lifted by tongs for four minutes", "1h10m lift FX2 4m", nil, truth.OutOfBath, []sensors.ChannelID{"FX2"}, 70 * time.Minute},
		{"a probe that hangs out to the end", "1h10m lift STP 6h", nil, truth.OutOfBath, []sensors.ChannelID{"STP"}, 70 * time.Minute},
		{"two probes exchanged when trays were washed", "20m swap DEV-STP 6h", nil, truth.Exchanged, []sensors.ChannelID{"DEV", "STP"},
			20 * time.Minute},
		{"a probe that repeats itself", "1h10m freeze FX1 40m", nil, truth.FlatLine, []sensors.ChannelID{"FX1"}, 70 * time.Minute},
		{"a probe that takes a knock", "", knocked, truth.Jump, []sensors.ChannelID{"DEV"}, 80 * time.Minute},
		{"a duct probe that repeats itself", "1h10m freeze VEL 40m", nil, truth.FlatLine, []sensors.ChannelID{"VEL"}, 70 * time.Minute},
		{"a duct probe that stands at the top of its range", "1h10m stick VEL 40m", nil, truth.EndStop, []sensors.ChannelID{"VEL"},
			70 * time.Minute},
		{"a duct probe that has lost its noise", "1h10m hush VEL 40m", nil, truth.FlatLine, []sensors.ChannelID{"VEL"}, 70 * time.Minute},
		{"a probe with another zero", "1h10m shift STP 6h", nil, truth.Jump, []sensors.ChannelID{"STP"}, 70 * time.Minute},
		{"a humidity probe that is stuck", "1h10m freeze HUM 40m", nil, truth.FlatLine, []sensors.ChannelID{"HUM"}, 70 * time.Minute},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := quiet()
			e.schedule += "; " + c.trouble
			if c.trouble == "" {
				e.schedule = quiet().schedule
			}
			e.bend = c.bend
			got := e.found(t)
			require.Len(t, got, 1)
			require.Equal(t, c.what, got[0].What)
			require.Equal(t, c.on, got[0].Channels)
			require.WithinDuration(t, start().Add(c.begun), got[0].From, 3*time.Minute)
			require.GreaterOrEqual(t, got[0].Percent(), 90)
			require.LessOrEqual(t, got[0].Confidence, 0.99, "nothing found from readings alone is certain")
			require.NotEmpty(t, got[0].Text)
			require.NotEmpty(t, got[0].Basis)
			require.True(t, got[0].Open())
		})
	}
}

// knocked is a developer probe that reads 2.2 K more from a moment on.
func knocked(elapsed time.Duration, id string, says float64) float64 {
	if id == "DEV" && elapsed >= 80*time.Minute {
		return says + 2.2
	}
	return says
}

// poured is a tray into which solution of the air's temperature is poured, which then
// goes its own way to where trays go; nobody enters it.
func poured() func(time.Duration, string, float64) float64 {
	var air, off float64
	return func(elapsed time.Duration, id string, says float64) float64 {
		if id == "AIR" {
			air = says
		}
		if id != "FX2" || elapsed < 70*time.Minute {
			return says
		}
		if off == 0 {
			off = air - says
		}
		return says + off*math.Exp(-(elapsed-70*time.Minute).Minutes()/80)
	}
}

func TestAProbeOfATrayThatIsEmptyByTheBookMayHangInTheAir(t *testing.T) {
	for _, trouble := range []string{"1h25m lift STP 6h", "1h25m lift STP 4m", "1h25m swap DEV-STP 6h"} {
		e := quiet()
		e.schedule += "; " + trouble
		require.Len(t, e.found(t), 1, trouble)
		e.emptied = map[sensors.ChannelID]time.Duration{"STP": time.Hour}
		for _, f := range e.found(t) {
			require.NotContains(t, f.Channels, sensors.ChannelID("STP"), "%s: 25 minutes after it was emptied", trouble)
		}
	}
}

func TestAGasCellAtItsEndMayAsWellBeRightSoItStaysInUse(t *testing.T) {
	e := quiet()
	e.schedule += "; 1h10m stick SO2 40m"
	got := e.found(t)
	require.Len(t, got, 1)
	require.Equal(t, truth.EndStop, got[0].What)
	require.Equal(t, 50, got[0].Percent())
	require.False(t, got[0].Doubts, "its alarm must not fall silent")
}

// TestWhatComesToTheEndOfItsRangeIsNotDead: an hour without a fan brings a meter of carbon dioxide to its 5000 ppm, and its dashes
// would hide the worst air of the evening.
func TestWhatComesToTheEndOfItsRangeIsNotDead(t *testing.T) {
	e := quiet()
	e.schedule += "; 11m trip fan 119m"
	e.tops = map[sensors.ChannelID]float64{"CO2": 5000, "SO2": 20}
	highest := 0.0
	e.bend = func(elapsed time.Duration, id string, says float64) float64 {
		switch id {
		case "CO2":
			highest = max(highest, says)
		case "SO2":
			return min(says+max(0, (elapsed-70*time.Minute).Minutes()), 20)
		}
		return says
	}
	require.Empty(t, e.found(t))
	require.InDelta(t, 5000, highest, 0)
}

func TestAFanThatStopsLeavesItsProbesBelieved(t *testing.T) {
	e := quiet()
	e.schedule += "; 1h10m trip fan 40m"
	require.Empty(t, e.found(t))
}

func TestSolutionOfTheAirsTemperatureIsNotTakenForAir(t *testing.T) {
	e := quiet()
	e.bend = poured()
	for _, f := range e.found(t) {
		require.NotEqual(t, truth.OutOfBath, f.What, "%s", f.Text)
	}
	e.bend, e.done[78*time.Minute] = poured(), []sensors.ChannelID{"FX2"}
	require.Empty(t, e.found(t), "an entry eight minutes late explains it")
}

func TestTraysFilledOneByOneTellWhichProbeIsInWhich(t *testing.T) {
	crossed := map[string]string{"DEV": "FX1", "FX1": "DEV"}
	// Two trays get two litres of warmer solution each, ten minutes apart, and the probes answer crosswise.
	poured := map[string]time.Duration{"DEV": 70 * time.Minute, "FX1": 85 * time.Minute}
	bend := func(elapsed time.Duration, id string, says float64) float64 {
		if at, ok := poured[crossed[id]]; ok && elapsed >= at {
			return says + 0.95
		}
		return says
	}
	e := quiet()
	e.bend = bend
	e.done[70*time.Minute], e.done[85*time.Minute] = []sensors.ChannelID{"DEV"}, []sensors.ChannelID{"FX1"}
	got := e.found(t)
	require.Len(t, got, 1)
	require.Equal(t, truth.Exchanged, got[0].What)
	require.ElementsMatch(t, []sensors.ChannelID{"DEV", "FX1"}, got[0].Channels)
}

// back is a probe that reads off by something since its plug was back.
func back(probe string, at time.Duration, by float64) func(time.Duration, string, float64) float64 {
	return func(elapsed time.Duration, id string, says float64) float64 {
		if id == probe && elapsed >= at {
			return says + by
		}
		return says
	}
}

func TestAProbeThatComesBackFromItsPlugWithAnotherZeroIsFound(t *testing.T) {
	const at = 70 * time.Minute
	for _, c := range []struct {
		probe    sensors.ChannelID
		by       float64
		trouble  string
		percents []int // nothing where none is found
		doubts   bool
		why      string
	}{
		{"FX1", 1.2, "", []int{99}, true, "a bath does not step while nobody does anything to it"},
		{"WSH", -1.8, "", []int{98}, true, "running water wanders, but never so fast in the hour before"},
		{"WSH", -1.2, "", []int{96}, true, "within the minute of a plug it wanders by less"},
		{"CO2", 0, "70m people 11", nil, false, "people came in: it goes on rising"},
		{"VEL", 0.4, "", []int{99}, true, "a steady fan gives a steady flow"},
		{"VEL", -3.5, "", nil, false, "a damper may have closed meanwhile"},
		{"VEL", 0.4, "70m5s block make-up 2h", nil, false, "the other signs of the air say that it changed"},
		{"SO2", 0.4, "", []int{50}, false, "gas may have come meanwhile, and its alarm must not fall silent"},
		{"CO2", 0, "", nil, false, "a plug alone is no fault"},
	} {
		t.Run(fmt.Sprintf("%s by %v %s", c.probe, c.by, c.trouble), func(t *testing.T) {
			e := quiet()
			e.schedule += "; " + c.trouble
			e.lasts, e.pulled = 85*time.Minute, map[sensors.ChannelID]time.Duration{c.probe: at}
			e.bend = back(string(c.probe), at, c.by)
			got := e.found(t)
			require.Len(t, got, len(c.percents), c.why)
			for i, f := range got {
				require.Equal(t, truth.Jump, f.What)
				require.Equal(t, []sensors.ChannelID{c.probe}, f.Channels)
				require.WithinDuration(t, start().Add(at), f.From, 30*time.Second)
				require.InDelta(t, c.percents[i], f.Percent(), 2)
				require.Equal(t, c.doubts, f.Doubts, c.why)
			}
		})
	}
}

func TestAValueThatLeaptOverAQuarterOfItsRangeAndStandsIsStuck(t *testing.T) {
	for by, found := range map[float64]bool{24: false, 26: true} { // in per cent relative humidity; the range has 100
		e := quiet()
		e.lasts = 80 * time.Minute
		var stood float64
		e.bend = func(elapsed time.Duration, id string, says float64) float64 {
			switch {
			case id != "HUM":
				return says
			case elapsed < 70*time.Minute:
				stood = math.Round(says)
				return stood
			}
			return stood + by
		}
		got := e.found(t)
		require.Equal(t, found, len(got) == 1, "%v: %v", by, got)
		if found {
			require.Equal(t, truth.EndStop, got[0].What)
		}
	}
}
