package ventilation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/dated"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

// published rows, each with the text it was read in.
func published() (imc, surface, changes12, changes10, makeUp ventilation.Requirement) {
	imc = ventilation.Requirement{Kind: ventilation.FloorFlow, Value: 5.08, // 1 cfm/ft2 = 0.00508 m3/s.m2
		Source: "International Mechanical Code table 403.3.1.1, darkrooms", Edition: "2018"}
	surface = ventilation.Requirement{Kind: ventilation.SurfaceFlow, Value: 889, // 175 ft3/min for each ft2 = 0.889 m3/s.m2
		Source: "Kodak, Processing Module 9, p. 11"}
	changes12 = ventilation.Requirement{Kind: ventilation.AirChangeRate, Value: 12,
		Source: "Wisconsin DCOMM 32.27(9), removed 1998"}
	changes10 = ventilation.Requirement{Kind: ventilation.AirChangeRate, Value: 10,
		Source: "Kodak, Processing Module 9, p. 11"}
	makeUp = ventilation.Requirement{Kind: ventilation.MakeUpShare, Value: 90,
		Source: "Wisconsin Comm 64.54(3)(b)"}
	return imc, surface, changes12, changes10, makeUp
}

func TestStrictest(t *testing.T) {
	imc, surface, changes12, changes10, makeUp := published()
	room := ventilation.Room{Volume: 30, Floor: 12, Surface: 0.6}
	off := changes12
	off.Off = true

	d, err := ventilation.Strictest([]ventilation.Requirement{imc, off}, room)
	require.NoError(t, err)
	// IMC 2018 rate x 12 m2 = 61 L/s.
	require.InDelta(t, 61, d.Exhaust.LitresPerSecond(), 0.1)
	require.Equal(t, imc, d.Binding)
	require.InDelta(t, 219.456/30, float64(d.AirChanges), 1e-9)
	require.Zero(t, d.MakeUpBinding)

	d, err = ventilation.Strictest([]ventilation.Requirement{imc, changes10, changes12, makeUp}, room)
	require.NoError(t, err)
	require.Equal(t, changes12, d.Binding)
	require.InDelta(t, 360, float64(d.Exhaust), 1e-9)
	require.Equal(t, makeUp, d.MakeUpBinding)

	d, err = ventilation.Strictest([]ventilation.Requirement{changes12, surface}, room)
	require.NoError(t, err)
	require.Equal(t, surface, d.Binding)
	require.InDelta(t, 0.889*0.6*3600, float64(d.Exhaust), 1)
}

func TestFloorRateAsAirChanges(t *testing.T) {
	// Reference, derived: at a 2.5 m ceiling 5.0 L/s.m2 are 7.2 air changes an hour.
	row := ventilation.Requirement{Kind: ventilation.FloorFlow, Value: 5, Source: "the arithmetic of a floor rate"}
	d, err := ventilation.Strictest([]ventilation.Requirement{row}, ventilation.Room{Volume: 25, Floor: 10})
	require.NoError(t, err)
	require.InDelta(t, 7.2, float64(d.AirChanges), 1e-9)
}

func TestStrictestRefuses(t *testing.T) {
	imc, surface, changes12, _, makeUp := published()
	room := ventilation.Room{Volume: 30, Floor: 12}
	noSource, zero, unknown := changes12, changes12, changes12
	noSource.Source, zero.Value, unknown.Kind = " ", 0, "air"
	tooMuch := makeUp
	tooMuch.Value = 250

	_, err := ventilation.Strictest(nil, room)
	require.ErrorIs(t, err, ventilation.ErrNothingRequired)
	_, err = ventilation.Strictest([]ventilation.Requirement{makeUp}, room)
	require.ErrorIs(t, err, ventilation.ErrNothingRequired)
	for _, bad := range []ventilation.Requirement{noSource, zero, unknown, tooMuch, surface} {
		_, err := ventilation.Strictest([]ventilation.Requirement{imc, bad}, room)
		require.Error(t, err)
		require.NotErrorIs(t, err, ventilation.ErrNothingRequired)
	}
	_, err = ventilation.Strictest([]ventilation.Requirement{imc}, ventilation.Room{Floor: 12})
	require.ErrorContains(t, err, "room volume")
}

func TestInForce(t *testing.T) {
	imc, _, changes12, _, _ := published()
	date := time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC)
	changes12.Effective = date
	rows := []ventilation.Requirement{imc, changes12}
	require.Equal(t, []ventilation.Requirement{imc}, ventilation.InForce(rows, date.Add(-time.Second)))
	require.Equal(t, rows, ventilation.InForce(rows, date))
	imc.Off = true
	require.Equal(t, []ventilation.Requirement{changes12}, ventilation.InForce([]ventilation.Requirement{imc, changes12}, date))
}

func TestOneMoreRowNeverAsksForLess(t *testing.T) {
	kinds := []ventilation.Kind{ventilation.AirChangeRate, ventilation.FloorFlow, ventilation.SurfaceFlow}
	rapid.Check(t, func(t *rapid.T) {
		row := rapid.Custom(func(t *rapid.T) ventilation.Requirement {
			return ventilation.Requirement{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Value: rapid.Float64Range(0.1, 100).Draw(t, "value"),
				Source: "drawn"}
		})
		rows := rapid.SliceOfN(row, 1, 6).Draw(t, "rows")
		room := ventilation.Room{Volume: quantity.CubicMetre(rapid.Float64Range(5, 500).Draw(t, "volume")), Floor: 20, Surface: 1}
		fewer, err := ventilation.Strictest(rows, room)
		require.NoError(t, err)
		more, err := ventilation.Strictest(append(rows, row.Draw(t, "more")), room)
		require.NoError(t, err)
		require.GreaterOrEqual(t, more.Exhaust, fewer.Exhaust)
	})
}

func TestAmendedRowsTakeTurns(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 9, n, 0, 0, 0, 0, time.UTC) }
	rapid.Check(t, func(t *rapid.T) {
		row := ventilation.Requirement{Kind: ventilation.AirChangeRate, Value: 100, Source: "Decision of the place"}
		other := ventilation.Requirement{Kind: ventilation.AirChangeRate, Value: 7, Source: "another"}
		rows := []ventilation.Requirement{row, other}
		type entry struct {
			day   int
			value float64 // zero takes it off
		}
		var entries []entry
		for i := range rapid.IntRange(1, 8).Draw(t, "entries") {
			e := entry{rapid.IntRange(1, 20).Draw(t, "day"), float64(i + 1)}
			r := row
			r.Source, r.Value, r.Effective, r.Off = "decision of the place ", e.value, day(e.day), rapid.Bool().Draw(t, "off")
			if r.Off {
				e.value = 0
			}
			rows, entries = dated.Amend(rows, r), append(entries, e)
		}
		for at := range 22 {
			want, since := 100.0, 0
			for _, e := range entries { // the latest day that has come holds; of one day the entry made last
				if e.day <= at && e.day >= since {
					want, since = e.value, e.day
				}
			}
			got := 0.0
			for _, r := range ventilation.InForce(rows, day(at)) {
				if r.SameAs(row) {
					require.Zero(t, got, "never two versions of one row at once")
					got = r.Value
				}
			}
			require.Equal(t, want, got, "on day %d", at)
			require.Contains(t, ventilation.InForce(rows, day(at)), other)
		}
	})
}

func TestValuesAsPeopleWriteThem(t *testing.T) {
	for text, want := range map[string]float64{"5.08": 5.08, "1 cfm/ft2": 5.08, "1 cfm/ft²": 5.08, "5,08 L/s·m²": 5.08, "5 l/s/m2": 5,
		"175 cfm/ft2": 889} {
		v, err := ventilation.FloorFlow.ReadValue(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, v, 1e-12)
	}
	v, err := ventilation.AirChangeRate.ReadValue("6 /h")
	require.NoError(t, err)
	require.InDelta(t, 6, v, 0)
	v, err = ventilation.MakeUpShare.ReadValue("90 %")
	require.NoError(t, err)
	require.InDelta(t, 90, v, 0)
	for _, text := range []string{"", "six", "1 cfm/ft2", "6 %"} {
		_, err := ventilation.AirChangeRate.ReadValue(text)
		require.ErrorContains(t, err, "write a number in /h")
	}
}
