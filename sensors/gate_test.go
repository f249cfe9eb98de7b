package sensors_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/quantity"
)

func channel(t testing.TB, id sensors.ChannelID, kind sensors.Kind, unit string) sensors.Channel {
	t.Helper()
	traits, known := kind.Traits()
	require.True(t, known)
	u, err := quantity.ParseUnit(unit)
	require.NoError(t, err)
	return sensors.Channel{ID: id, Name: string(id), Kind: kind, Unit: u, Traits: traits}
}

func second(s float64) sensors.Instant {
	after := time.Duration(s * float64(time.Second))
	return sensors.Instant{Wall: time.Date(2030, 1, 7, 19, 0, 0, 0, time.UTC).Add(after), Mono: after}
}

// said is one measurement of a story and what is to become of it; good without a reason.
type said struct {
	at     float64
	value  float64
	reason sensors.Reason
}

func tell(t *testing.T, c sensors.Channel, story []said) {
	t.Helper()
	gate := sensors.NewGate(c)
	for _, s := range story {
		r := gate.Judge(sensors.Measurement{Value: s.value}, second(s.at))
		require.Equal(t, s.reason, r.Reason, "at %v s: %v", s.at, s.value)
		require.Equal(t, s.reason == "", r.Grade == sensors.Good)
		require.Equal(t, s.value, r.Raw)
		require.Equal(t, second(s.at), r.At)
		require.Equal(t, c.ID, r.Channel)
	}
}

func TestGateStories(t *testing.T) {
	const jump, out = sensors.Jump, sensors.OutOfRange
	for name, story := range map[string][]said{
		"a spike is doubted, its return is not": {{0, 20, ""}, {1, 29, jump}, {2, 20.1, ""}},
		"a stay is a change":                    {{0, 20, ""}, {1, 38, jump}, {2, 38.1, jump}, {3, 38, jump}, {4, 38.2, ""}, {5, 38, ""}},
		"spikes that disagree confirm nothing": {{0, 20, ""}, {1, 30, jump}, {2, 40, jump}, {3, 30, jump}, {4, 40, jump},
			{5, 30, jump}, {16, 40, jump}, {17, 30, jump}, {18, 20, ""}},
		"after a pause anything plausible is believed":          {{0, 20, ""}, {16, 38, ""}},
		"a pause forgets a waiting jump":                        {{0, 20, ""}, {1, 38, jump}, {20, 50, ""}},
		"what the first reading says is believed":               {{0, 38, ""}, {1, 39, ""}},
		"open circuit and back":                                 {{0, 20, ""}, {1, -127, out}, {2, 20, ""}},
		"after long doubt there is no fresh value to jump from": {{0, 20, ""}, {10, 99, out}, {20, 99, out}, {21, 27, ""}},
		"power-on value":                                        {{0, 85, sensors.PowerOn}, {1, 20, ""}, {2, 85, sensors.PowerOn}, {3, 20, ""}},
		"ends of the range are in it":                           {{0, 0, ""}, {20, 60, ""}, {40, 60.01, out}, {60, -0.01, out}},
	} {
		t.Run(name, func(t *testing.T) { tell(t, channel(t, "developer", sensors.BathTemperature, "C"), story) })
	}
}

func TestFrozenSensorIsDoubtedUntilItMoves(t *testing.T) {
	c := channel(t, "developer", sensors.BathTemperature, "C")
	c.Flat = 30 * time.Minute
	gate := sensors.NewGate(c)
	end := c.Flat.Seconds()
	for s := 0.0; s <= end; s += 10 {
		require.Equal(t, sensors.Good, gate.Judge(sensors.Measurement{Value: 20.06}, second(s)).Grade)
	}
	frozen := gate.Judge(sensors.Measurement{Value: 20.06}, second(end+1))
	require.Equal(t, sensors.FlatLine, frozen.Reason)
	require.Equal(t, sensors.Suspect, frozen.Grade)
	require.Equal(t, sensors.Good, gate.Judge(sensors.Measurement{Value: 20.12}, second(end+2)).Grade)
	back := gate.Judge(sensors.Measurement{Value: 20.06}, second(end+3))
	require.Equal(t, sensors.Good, back.Grade)
}

func TestPauseStartsTheFlatLineAnew(t *testing.T) {
	c := channel(t, "developer", sensors.BathTemperature, "C")
	c.Flat = 30 * time.Minute
	end := c.Flat.Seconds()
	tell(t, c, []said{{0, 20, ""}, {end + 100, 20, ""}, {end + 110, 20, ""}})
}

func TestFanContactMayStandStill(t *testing.T) {
	c := channel(t, "fan", sensors.FanCommand, "on/off")
	gate := sensors.NewGate(c)
	for s := 0.0; s < 24*3600; s += 30 {
		require.Equal(t, sensors.Good, gate.Judge(sensors.Measurement{Value: 1}, second(s)).Grade)
	}
	require.Equal(t, sensors.Good, gate.Judge(sensors.Measurement{Value: 0}, second(24*3600)).Grade)
}

func TestPowerOnValueInEveryUnit(t *testing.T) {
	for unit, value := range map[string]float64{"C": 85, "F": 185, "K": 358.15} {
		c := channel(t, "wash", sensors.WaterTemperature, unit)
		c.Plausible = sensors.Range{Low: 0, High: 100}
		judge := func(v float64) sensors.Reading {
			return sensors.NewGate(c).Judge(sensors.Measurement{Value: v, Unit: unit}, second(0))
		}
		require.Equal(t, sensors.PowerOn, judge(value).Reason, unit)
		// The next steps of a sensor that resolves 1/16 °C are honest values.
		step := c.Unit.FromBase(0.0625) - c.Unit.FromBase(0)
		require.Equal(t, sensors.Good, judge(value+step).Grade, unit)
		require.Equal(t, sensors.Good, judge(value-step).Grade, unit)
	}
	humidity := channel(t, "room", sensors.RelativeHumidity, "%")
	require.Equal(t, sensors.Good, sensors.NewGate(humidity).Judge(sensors.Measurement{Value: 85}, second(0)).Grade)
}

func TestUnitOnTheWire(t *testing.T) {
	gate := sensors.NewGate(channel(t, "developer", sensors.BathTemperature, "C"))
	for _, c := range []struct {
		unit   string
		value  float64
		reason sensors.Reason
	}{
		{"", 20, ""}, {"C", 20, ""}, {"degC", 20, ""}, {"F", 20, sensors.UnitMismatch}, {"Pa", 20, sensors.UnitMismatch},
		{"furlong", 20, sensors.UnitMismatch}, {"F", 20, sensors.UnitMismatch}, {"C", 20, ""}, {"", 20, ""},
	} {
		r := gate.Judge(sensors.Measurement{Value: c.value, Unit: c.unit}, second(1))
		require.Equal(t, c.reason, r.Reason, c.unit)
		require.Equal(t, c.value, r.Raw)
	}
}

func TestFaultsAndNonsenseAreMissing(t *testing.T) {
	gate := sensors.NewGate(channel(t, "developer", sensors.BathTemperature, "C"))
	for _, m := range []sensors.Measurement{{Fault: true}, {Value: 20, Fault: true}, {Value: math.NaN()}, {Value: math.Inf(1)}} {
		r := gate.Judge(m, second(0))
		require.Equal(t, sensors.Missing, r.Grade)
		require.Equal(t, sensors.ProbeFault, r.Reason)
	}
	require.Equal(t, sensors.Good, gate.Judge(sensors.Measurement{Value: 20}, second(1)).Grade)
}

func TestRangeHoldsForTheCorrectedValue(t *testing.T) {
	c := channel(t, "developer", sensors.BathTemperature, "C")
	c.Corrections = []sensors.Correction{{From: second(10).Wall, Slope: 1, Offset: -1.5}}
	gate := sensors.NewGate(c)
	before := gate.Judge(sensors.Measurement{Value: 61}, second(0))
	require.Equal(t, sensors.OutOfRange, before.Reason)
	after := gate.Judge(sensors.Measurement{Value: 61}, second(30))
	require.Equal(t, sensors.Good, after.Grade)
	require.InDelta(t, 59.5, after.Value, 1e-9)
	require.Equal(t, 61.0, after.Raw)
}

func TestGoodImpliesPlausibleAndRawIsKept(t *testing.T) {
	kinds := sensors.KnownKinds()
	rapid.Check(t, func(rt *rapid.T) {
		kind := rapid.SampledFrom(kinds).Draw(rt, "kind")
		traits, _ := kind.Traits()
		unit := rapid.SampledFrom(quantity.UnitsOf(traits.Dimension)).Draw(rt, "unit")
		c := sensors.Channel{ID: "x", Kind: kind, Unit: unit, Traits: traits}
		c.Corrections = []sensors.Correction{{Slope: rapid.Float64Range(0.9, 1.1).Draw(rt, "slope"), Offset: rapid.Float64Range(-2,
			2).Draw(rt, "offset")}}
		gate := sensors.NewGate(c)
		at := 0.0
		for range rapid.IntRange(1, 40).Draw(rt, "length") {
			at += rapid.Float64Range(0, 60).Draw(rt, "pause")
			m := sensors.Measurement{Fault: rapid.IntRange(0, 9).Draw(rt, "fault") == 0,
				Value: rapid.OneOf(rapid.Float64(), rapid.Float64Range(-50, 500), rapid.Just(math.NaN())).Draw(rt, "value"),
				Unit:  rapid.SampledFrom([]string{"", unit.Symbol(), "C", "ppm", "?"}).Draw(rt, "wire unit")}
			r := gate.Judge(m, second(at))
			require.Equal(rt, math.Float64bits(m.Value), math.Float64bits(r.Raw))
			require.Equal(rt, r.Grade == sensors.Good, r.Reason == "")
			if r.Grade == sensors.Good {
				require.True(rt, c.Plausible.Holds(r.Value), "%v", r)
				require.False(rt, m.Fault)
				require.InDelta(rt, c.Correct(unit.ToBase(m.Value), second(at).Wall), r.Value, 1e-9)
			}
		}
	})
}
