package ventilation_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

func decayTest() ventilation.DecayTest {
	// Textbook formula at 10 air changes an hour, CO2 in ppm.
	test := ventilation.DecayTest{Background: 420, RoomEmpty: true}
	for i, c := range []float64{1920, 1329.8, 971.8, 754.7, 623.0, 543.1} {
		test.Points = append(test.Points, ventilation.DecayPoint{After: time.Duration(3*i) * time.Minute, Concentration: c})
	}
	return test
}

func TestDecayGivesTheRate(t *testing.T) {
	d, err := decayTest().AirChanges()
	require.NoError(t, err)
	require.InDelta(t, 10, float64(d.AirChanges), 0.01)
	require.True(t, d.Low < d.AirChanges && d.AirChanges < d.High)
	require.Len(t, d.Used, 6)
	require.Empty(t, d.Excluded)
}

func TestDecayLeavesOutWhatDoesNotCount(t *testing.T) {
	test := decayTest()
	test.SensorError = 50
	test.Points = append(test.Points, test.Points[1], ventilation.DecayPoint{After: time.Hour, Concentration: 415})
	d, err := test.AirChanges()
	require.NoError(t, err)
	require.InDelta(t, 10, float64(d.AirChanges), 0.01)
	require.Len(t, d.Used, 5)
	require.Len(t, d.Excluded, 3)
	require.Equal(t, "given twice", d.Excluded[0].Reason.String())
	require.Equal(t, "too near the background, or below it", d.Excluded[1].Reason.String())
}

func TestDecayRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*ventilation.DecayTest){
		"people in the room": func(d *ventilation.DecayTest) { d.RoomEmpty = false },
		"too few points":     func(d *ventilation.DecayTest) { d.Points = d.Points[:2] },
		"no points":          func(d *ventilation.DecayTest) { d.Points = nil },
		"all near outdoors":  func(d *ventilation.DecayTest) { d.SensorError = 1000 },
		"rising":             func(d *ventilation.DecayTest) { d.Points[5].Concentration = 90000 },
		"negative reading":   func(d *ventilation.DecayTest) { d.Points[5].Concentration = -1 },
		"negative outdoors":  func(d *ventilation.DecayTest) { d.Background = -1 },
		"negative error":     func(d *ventilation.DecayTest) { d.SensorError = -1 },
		"two for one time": func(d *ventilation.DecayTest) {
			d.Points = append(d.Points, ventilation.DecayPoint{After: 3 * time.Minute, Concentration: 1400})
		},
	} {
		test := decayTest()
		spoil(&test)
		_, err := test.AirChanges()
		require.Error(t, err, name)
		if name == "two for one time" {
			require.ErrorContains(t, err, "two different concentrations after 3m0s: 1329.8 and 1400; keep the right one")
		}
	}
}

// A room in which carbon dioxide stands still has lost none of it: readings that scatter by a ppm make no rate. The line through
// their logarithms falls by 0.02 an hour, with a half-width of 0.46 (t of one degree of freedom, 12.71, times its standard error).
func TestASteadyConcentrationIsNoDecay(t *testing.T) {
	at := func(minutes int, ppm float64) ventilation.DecayPoint {
		return ventilation.DecayPoint{After: time.Duration(minutes) * time.Minute, Concentration: ppm}
	}
	test := ventilation.DecayTest{Background: 420, RoomEmpty: true, Points: []ventilation.DecayPoint{at(0, 900), at(3, 901), at(6, 899)}}
	_, err := test.AirChanges()
	require.ErrorContains(t, err, "show no decay, for they fall by no more than they scatter: at most 0.48 air changes an hour")
	test.Points = []ventilation.DecayPoint{at(0, 900), at(3, 850), at(6, 805)}
	d, err := test.AirChanges()
	require.NoError(t, err, "a fall that stands out of its scatter, also of a slow room")
	require.Greater(t, float64(d.Low), 0.0)
}

func TestDecayOfTheModelGivesItsRateInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(0.5, 20).Draw(t, "changes")
		var points []ventilation.DecayPoint
		for i := range rapid.IntRange(3, 20).Draw(t, "points") {
			after := time.Duration(i) * time.Minute
			points = append(points, ventilation.DecayPoint{After: after, Concentration: 420 + 1500*math.Exp(-n*after.Hours())})
		}
		test := ventilation.DecayTest{Background: 420, RoomEmpty: true, Points: rapid.Permutation(points).Draw(t, "order")}
		d, err := test.AirChanges()
		require.NoError(t, err)
		require.InEpsilon(t, n, float64(d.AirChanges), 1e-6)
	})
}

func TestAPointThatIsGivenTwiceCountsOnceWhereverItStands(t *testing.T) {
	for i := range decayTest().Points {
		test := decayTest()
		test.Points = append(test.Points, test.Points[i])
		d, err := test.AirChanges()
		require.NoError(t, err)
		require.Len(t, d.Excluded, 1, i)
		test.Points[i].Concentration++
		_, err = test.AirChanges()
		require.ErrorContains(t, err, "two different concentrations", i)
	}
}

func TestDecayAgainstFlow(t *testing.T) {
	d, err := decayTest().AirChanges()
	require.NoError(t, err)
	agrees := d.Compare(10.5, 10)
	require.True(t, agrees.Agrees)
	short := d.Compare(15, 10)
	require.False(t, short.Agrees)
	require.Contains(t, short.Sentence.String(), "short cut")
	more := d.Compare(5, 10)
	require.False(t, more.Agrees)
	require.Contains(t, more.Sentence.String(), "reads low")
}

func TestZone(t *testing.T) {
	// Textbook formula: V 30 m3, Q 300 m3/h, G 1000 mg/h, 15 min: 3.060, steady 3.333 mg/m3.
	z := ventilation.Zone{Volume: 30, Flow: 300, Emission: 1000}
	c, err := z.At(15 * time.Minute)
	require.NoError(t, err)
	require.InDelta(t, 3.060, float64(c), 0.001)
	c, err = z.At(24 * time.Hour)
	require.NoError(t, err)
	require.InDelta(t, 3.333, float64(c), 0.001)

	// Without flow the source fills the room: 1000 mg/h into 30 m3 for an hour.
	c, err = ventilation.Zone{Volume: 30, Emission: 1000, Start: 2}.At(time.Hour)
	require.NoError(t, err)
	require.InDelta(t, 2+1000.0/30, float64(c), 1e-9)

	for _, bad := range []ventilation.Zone{{}, {Volume: 30, Flow: -1}, {Volume: 30, Emission: -1}, {Volume: 30, Background: -1},
		{Volume: 30, Start: -1}} {
		_, err := bad.At(time.Minute)
		require.Error(t, err)
	}
	_, err = z.At(-time.Minute)
	require.Error(t, err)
}

// Textbook formula: what a room begins with is there at first, what it tends to is its background and G/Q, and after V/Q, the time in
// which its air was drawn out once, 1/e of the difference is left.
func TestAZoneGoesFromItsStartToItsSteadyState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		start, background, flow, source := draw("start", 0, 50), draw("background", 0, 50), draw("flow", 10, 900), draw("source", 0, 900)
		z := ventilation.Zone{Volume: 30, Flow: quantity.CubicMetrePerHour(flow), Emission: source,
			Start: quantity.MilligramPerCubicMetre(start), Background: quantity.MilligramPerCubicMetre(background)}
		steady, once := background+source/flow, time.Duration(30/flow*float64(time.Hour))
		for after, want := range map[time.Duration]float64{0: start, once: steady + (start-steady)/math.E, 50 * once: steady} {
			c, err := z.At(after)
			require.NoError(t, err)
			require.InDelta(t, want, float64(c), 1e-6, after)
		}
	})
}

func TestZoneWithoutSourceDecaysAsThePurgeSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := quantity.PerHour(rapid.Float64Range(1, 50).Draw(t, "changes"))
		share := quantity.Percent(rapid.Float64Range(1, 99.9).Draw(t, "share"))
		d, err := ventilation.PurgeTime(n, share, 1)
		require.NoError(t, err)
		c, err := ventilation.Zone{Volume: 30, Flow: quantity.CubicMetrePerHour(30 * n), Start: 100}.At(d)
		require.NoError(t, err)
		require.InDelta(t, 100-float64(share), float64(c), 1e-6)
	})
}

func TestSteadyCO2(t *testing.T) {
	// Textbook formula dC = G/Q with 0.0052 L/s a sitting adult (from memory):
	// 5, 7.5 and 10 L/s a person.
	people := ventilation.People{Number: 4, Each: ventilation.SedentaryCO2}
	for _, c := range []struct{ each, rise float64 }{{5, 1040}, {7.5, 693}, {10, 520}} {
		flow := quantity.CubicMetrePerHour(4 * c.each * 3.6)
		rise, err := people.SteadyRise(flow)
		require.NoError(t, err)
		require.InDelta(t, c.rise, float64(rise), 1)
		back, err := people.OutdoorAir(rise)
		require.NoError(t, err)
		require.InDelta(t, float64(flow), float64(back), 1e-9)
	}
	for _, bad := range []ventilation.People{{}, {Number: 3}, {Number: -1, Each: 0.005}} {
		_, err := bad.SteadyRise(100)
		require.Error(t, err)
		_, err = bad.OutdoorAir(500)
		require.Error(t, err)
	}
	_, err := people.SteadyRise(0)
	require.Error(t, err)
	_, err = people.OutdoorAir(0)
	require.Error(t, err)
}

// A background above the readings leaves no point; the refusal says why.
func TestADecayBelowItsBackgroundSaysWhichPointDoesNotCount(t *testing.T) {
	_, err := ventilation.DecayTest{Background: 2000, RoomEmpty: true, Points: []ventilation.DecayPoint{{Concentration: 1920},
		{After: 3 * time.Minute, Concentration: 1330}, {After: 6 * time.Minute, Concentration: 972}}}.AirChanges()
	require.EqualError(t, err, "0 of 3 points count, that after 0s is too near the background, or below it: at least three points at "+
		"different times are needed")
}
