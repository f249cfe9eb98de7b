package breathing_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors/quantity"
)

func TestForecastOfARisingConcentration(t *testing.T) {
	// Textbook: a concentration that rises by 1 ppm a minute has a 15-minute average
	// 7.5 ppm below its present value, so 15 ppm are reached at 22.5 ppm.
	samples := make([]float64, 21)
	for i := range samples {
		samples[i] = float64(i)
	}
	tape := lay(t, 0, samples...)
	f, err := tape.Forecast(15, 15*time.Minute, 5*time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.True(t, f.Reached)
	require.InDelta(t, 2.5, f.In.Minutes(), 0.26)
	require.Equal(t, "At this rate the 15 min limit is reached in about 3 min (estimate).", f.Sentence().String())

	f, err = tape.Forecast(5, 15*time.Minute, 5*time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.Equal(t, "The 15 min limit is reached now.", f.Sentence().String())
}

func TestForecastOfASteadyConcentration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(0.1, 14).Draw(t, "steady")
		values := make([]float64, rapid.IntRange(16, 40).Draw(t, "minutes"))
		for i := range values {
			values[i] = c
		}
		f, err := lay(t, 0, values...).Forecast(15, 15*time.Minute, 5*time.Minute, breathing.WorstObserved())
		require.NoError(t, err)
		require.False(t, f.Reached)
		require.Contains(t, f.Sentence().String(), "not reached within an hour")
	})
}

func TestForecastAgreesWithWhatThenHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(0, 10).Draw(t, "start")
		rate := rapid.Float64Range(0.05, 2).Draw(t, "rate")
		values := make([]float64, 90)
		for i := range values {
			values[i] = level + rate*float64(i)
		}
		f, err := lay(t, 0, values[:30]...).Forecast(25, 15*time.Minute, 10*time.Minute, breathing.WorstObserved())
		require.NoError(t, err)
		// The truth: the first of the following minutes at which the average is there.
		for i := 30; i < 90; i++ {
			a, err := lay(t, 0, values[:i]...).Last(15*time.Minute, breathing.WorstObserved())
			require.NoError(t, err)
			if a.High >= 25 {
				require.True(t, f.Reached)
				require.InDelta(t, float64(i-30), f.In.Minutes(), 1.3)
				return
			}
		}
		require.True(t, !f.Reached || f.In > 58*time.Minute)
	})
}

func TestForecastRefuses(t *testing.T) {
	tape := lay(t, 10*time.Minute, 1, 2, 3, 4) // silent at the end
	below := lay(t, 0, 1, 2, 3, 4, 5, 6)
	require.NoError(t, below.Sampled(time.Minute, breathing.BelowDetection(1)))
	for _, bad := range []breathing.Tape{tape, {}, lay(t, 0, 1, 2), below} {
		_, err := bad.Forecast(15, 15*time.Minute, 5*time.Minute, breathing.WorstObserved())
		require.ErrorIs(t, err, breathing.ErrNoForecast)
	}
	tape = lay(t, 0, 1, 2, 3, 4, 5, 6, 7)
	_, err := tape.Forecast(0, 15*time.Minute, 5*time.Minute, breathing.WorstObserved())
	require.ErrorContains(t, err, "limit")
	_, err = tape.Forecast(15, 15*time.Minute, 5*time.Minute, breathing.Bound{})
	require.ErrorIs(t, err, breathing.ErrNoBound)
}

func TestOpenTraysWithoutProvenFlow(t *testing.T) {
	var tally breathing.TrayTally
	require.Equal(t, "No tray was uncovered.", tally.Sentence().String())
	tally = tally.Add(30*time.Minute, 3, 0).Add(12*time.Minute, 3, 3).Add(10*time.Minute, 0, 0).
		Add(8*time.Minute, 1, 1).Add(-time.Hour, 3, 3)
	require.Equal(t, breathing.TrayTally{Open: 50 * time.Minute, Unproven: 20 * time.Minute, TrayUnproven: 44 * time.Minute}, tally)
	require.Equal(t, "Trays were uncovered for 50 min, 20 min without proven airflow.", tally.Sentence().String())
}

func stopBath() breathing.StopBathModel {
	return breathing.StopBathModel{On: true, Area: 0.2, Strength: 10, Temp: 20, Volume: 30, Flow: 300}
}

func TestStopBathModelArithmetic(t *testing.T) {
	// The model is derived and from memory: only its arithmetic is checked. 1 % w/v:
	// headspace 41 ppm at 25 °C and 28 at 20 °C; 0.20 m2 at 20 °C: 283 mg/h;
	// 30 m3 settle at 0.38 ppm with 10 air changes an hour, 3.8 with one.
	m := stopBath()
	for temp, want := range map[quantity.Celsius]float64{25: 41, 20: 28} {
		m.Temp = temp
		ppm, err := m.Headspace()
		require.NoError(t, err)
		require.InDelta(t, want, float64(ppm), 0.5)
	}
	for temp, is := range map[quantity.Celsius]bool{4.9: false, 5: true, 40: true, 40.1: false} {
		m.Temp = temp
		_, err := m.Headspace()
		require.Equal(t, is, err == nil, "%v °C", temp)
	}
	m = stopBath()
	rate, err := m.Emission()
	require.NoError(t, err)
	require.InDelta(t, 283, rate, 2)
	for flow, want := range map[quantity.CubicMetrePerHour]float64{300: 0.38, 30: 3.8} {
		m.Flow = flow
		e, err := m.After(24 * time.Hour)
		require.NoError(t, err)
		require.InEpsilon(t, want, float64(e.Value()), 0.02)
		require.Contains(t, e.Said().String(), "estimate from a model, not measured")
	}
}

func TestStopBathModelIsSilentUnlessSwitchedOn(t *testing.T) {
	m := stopBath()
	m.On = false
	_, err := m.After(time.Hour)
	require.ErrorIs(t, err, breathing.ErrModelOff)
	for _, spoil := range []func(*breathing.StopBathModel){
		func(m *breathing.StopBathModel) { m.Strength = 0 },
		func(m *breathing.StopBathModel) { m.Strength = 800 },
		func(m *breathing.StopBathModel) { m.Temp = 80 },
		func(m *breathing.StopBathModel) { m.Area = 0 },
		func(m *breathing.StopBathModel) { m.Volume = 0 },
		func(m *breathing.StopBathModel) { m.Flow = -1 },
	} {
		m := stopBath()
		spoil(&m)
		_, err := m.After(time.Hour)
		require.Error(t, err)
	}
	for _, last := range []func(*breathing.StopBathModel){
		func(m *breathing.StopBathModel) { m.Strength = 60 },
		func(m *breathing.StopBathModel) { m.Temp = 5 },
		func(m *breathing.StopBathModel) { m.Temp = 40 },
		func(m *breathing.StopBathModel) { m.Flow = 0 },
	} {
		m := stopBath()
		last(&m)
		_, err := m.After(time.Hour)
		require.NoError(t, err)
	}
	for _, beyond := range []func(*breathing.StopBathModel){
		func(m *breathing.StopBathModel) { m.Strength = 60.1 },
		func(m *breathing.StopBathModel) { m.Temp = 4.9 },
		func(m *breathing.StopBathModel) { m.Temp = 40.1 },
		func(m *breathing.StopBathModel) { m.Area = -1 },
	} {
		m := stopBath()
		beyond(&m)
		_, err := m.After(time.Hour)
		require.Error(t, err)
	}
}

func TestStatementSaysWhatThisIsNot(t *testing.T) {
	require.Contains(t, breathing.Statement().String(), "aid")
	require.Contains(t, breathing.Statement().String(), "neither a life-safety device nor a personal breathing-exposure measurement")
}

// An estimate can't be printed without its label.
func ExampleEstimate() {
	e, err := breathing.StopBathModel{On: true, Area: 0.2, Strength: 10, Temp: 20, Volume: 30, Flow: 300}.After(time.Hour)
	fmt.Println(e, err)
	// Output: about 0.38 ppm (estimate from a model, not measured) <nil>
}
