package ventilation_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

func limits(t testing.TB) ventilation.Limits {
	t.Helper()
	l, err := ventilation.DeriveLimits(300, ventilation.CommonShares())
	require.NoError(t, err)
	return l
}

func flowOf(v float64) ventilation.Optional[quantity.CubicMetrePerHour] {
	return ventilation.Known(quantity.CubicMetrePerHour(v))
}

func pressureOf(v float64) ventilation.Optional[quantity.Pascal] {
	return ventilation.Known(quantity.Pascal(v))
}

func speedOf(v float64) ventilation.Optional[quantity.MetrePerSecond] {
	return ventilation.Known(quantity.MetrePerSecond(v))
}

func TestJudgeStates(t *testing.T) {
	l := limits(t)
	for name, c := range map[string]struct {
		in   ventilation.Evidence
		want ventilation.State
	}{
		"nothing known":               {ventilation.Evidence{}, ventilation.NotProven},
		"fan on, flow unknown":        {ventilation.Evidence{Limits: l, FanCommand: ventilation.Known(true)}, ventilation.NotProven},
		"depression, flow unknown":    {ventilation.Evidence{Limits: l, RoomPressure: pressureOf(-5)}, ventilation.NotProven},
		"never commissioned":          {ventilation.Evidence{Flow: flowOf(300)}, ventilation.NotProven},
		"full flow":                   {ventilation.Evidence{Limits: l, Flow: flowOf(300)}, ventilation.Moving},
		"full flow, fan unknown":      {ventilation.Evidence{Limits: l, Flow: flowOf(300), Before: ventilation.NotProven}, ventilation.Moving},
		"just enough":                 {ventilation.Evidence{Limits: l, Flow: flowOf(240), Before: ventilation.Moving}, ventilation.Moving},
		"just enough at the start":    {ventilation.Evidence{Limits: l, Flow: flowOf(240)}, ventilation.Moving},
		"just too little":             {ventilation.Evidence{Limits: l, Flow: flowOf(239.9), Before: ventilation.Moving}, ventilation.Low},
		"not yet regained":            {ventilation.Evidence{Limits: l, Flow: flowOf(254.9), Before: ventilation.Low}, ventilation.Low},
		"not yet regained, from zero": {ventilation.Evidence{Limits: l, Flow: flowOf(250), Before: ventilation.Stopped}, ventilation.Low},
		"regained":                    {ventilation.Evidence{Limits: l, Flow: flowOf(255), Before: ventilation.Low}, ventilation.Moving},
		"hardly any":                  {ventilation.Evidence{Limits: l, Flow: flowOf(29.9)}, ventilation.Stopped},
		"none":                        {ventilation.Evidence{Limits: l, Flow: flowOf(0)}, ventilation.Stopped},
	} {
		t.Run(name, func(t *testing.T) {
			j := ventilation.Judge(c.in)
			require.Equal(t, c.want, j.State)
			require.NotEmpty(t, j.Sentence)
			require.Equal(t, c.want == ventilation.Moving, j.State.Proven())
			require.Empty(t, j.Contradictions)
		})
	}
	var none ventilation.State
	require.False(t, none.Proven())
}

func TestJudgeNamesContradictions(t *testing.T) {
	l := limits(t)
	for name, c := range map[string]struct {
		in    ventilation.Evidence
		state ventilation.State
		want  ventilation.Conflict
	}{
		"command with no flow": {ventilation.Evidence{Limits: l, Flow: flowOf(0), FanCommand: ventilation.Known(true)}, ventilation.Stopped, ventilation.CommandNoFlow},
		"flow with no command": {ventilation.Evidence{Limits: l, Flow: flowOf(290), FanCommand: ventilation.Known(false)}, ventilation.Moving, ventilation.FlowNoCommand},
		"make-up blocked, little flow": {ventilation.Evidence{Limits: l, Flow: flowOf(120), FanCommand: ventilation.Known(true),
			RoomPressure: pressureOf(-9), UsualPressure: pressureOf(-3)}, ventilation.Low, ventilation.MakeUpBlocked},
		"make-up blocked, flow still reads high": {ventilation.Evidence{Limits: l, Flow: flowOf(285),
			RoomPressure: pressureOf(-9), UsualPressure: pressureOf(-3)}, ventilation.Moving, ventilation.MakeUpBlocked},
		"make-up blocked, flow unknown": {ventilation.Evidence{Limits: l,
			RoomPressure: pressureOf(-9), UsualPressure: pressureOf(-3)}, ventilation.NotProven, ventilation.MakeUpBlocked},
		"room pushes out": {ventilation.Evidence{Limits: l, Flow: flowOf(290), RoomPressure: pressureOf(4)}, ventilation.Moving, ventilation.RoomPushesOut},
		"hood weak on the right": {ventilation.Evidence{Limits: l, Flow: flowOf(290),
			Hood: ventilation.Hood{Left: speedOf(0.4), Middle: speedOf(0.5), Right: speedOf(0.2)}}, ventilation.Moving, ventilation.HoodUneven},
		"hood weak on the left": {ventilation.Evidence{Limits: l, Flow: flowOf(290),
			Hood: ventilation.Hood{Left: speedOf(0.1), Middle: speedOf(0.5)}}, ventilation.Moving, ventilation.HoodUneven},
	} {
		t.Run(name, func(t *testing.T) {
			j := ventilation.Judge(c.in)
			require.Equal(t, c.state, j.State)
			require.Len(t, j.Contradictions, 1)
			require.Equal(t, c.want, j.Contradictions[0].Conflict)
			require.NotEmpty(t, j.Contradictions[0].Sentence)
		})
	}
}

func TestJudgeSeesNoContradictionInTheUsual(t *testing.T) {
	l := limits(t)
	for name, in := range map[string]ventilation.Evidence{
		"on and moving": {Limits: l, Flow: flowOf(290), FanCommand: ventilation.Known(true), RoomPressure: pressureOf(-3.5), UsualPressure: pressureOf(-3),
			Hood: ventilation.Hood{Left: speedOf(0.3), Middle: speedOf(0.5), Right: speedOf(0.3)}},
		"off and still":              {Limits: l, Flow: flowOf(0), FanCommand: ventilation.Known(false), RoomPressure: pressureOf(0.3), UsualPressure: pressureOf(-3)},
		"small depression doubles":   {Limits: l, Flow: flowOf(290), RoomPressure: pressureOf(-1), UsualPressure: pressureOf(-0.4)},
		"usual pressure not known":   {Limits: l, Flow: flowOf(290), RoomPressure: pressureOf(-20)},
		"still room above neighbour": {Limits: l, Flow: flowOf(0), RoomPressure: pressureOf(4)},
		"middle of the hood unknown": {Limits: l, Flow: flowOf(290), Hood: ventilation.Hood{Left: speedOf(0.1)}},
	} {
		require.Empty(t, ventilation.Judge(in).Contradictions, name)
	}
}

func TestLimits(t *testing.T) {
	l := limits(t)
	require.InDelta(t, 240, float64(l.Low), 1e-9) // 80 %, common practice
	require.Contains(t, l.Derivation.String(), "low below 80 % of it = 240.0 m³/h")

	require.Equal(t, l, l.Require(200), "a required flow below the low limit changes nothing")
	lifted := l.Require(280)
	require.InDelta(t, 280, float64(lifted.Low), 1e-9)
	require.InDelta(t, 295, float64(lifted.Clear), 1e-9)
	require.Contains(t, lifted.Derivation.String(), "required 280.0")

	asked := ventilation.RequiredLimits(200)
	require.Equal(t, ventilation.Low, ventilation.Judge(ventilation.Evidence{Limits: asked, Flow: flowOf(199)}).State)
	moving := ventilation.Judge(ventilation.Evidence{Limits: asked, Flow: flowOf(220)})
	require.Equal(t, "Air is moving: 220 m³/h, 110 % of the required flow.", moving.Sentence.String())
	require.Zero(t, ventilation.RequiredLimits(0))

	for _, s := range []ventilation.Shares{{}, {Low: 80, Clear: 70, Stopped: 10}, {Low: 80, Clear: 110, Stopped: 10}, {Low: 10, Clear: 20, Stopped: 10}} {
		_, err := ventilation.DeriveLimits(300, s)
		require.Error(t, err)
	}
	_, err := ventilation.DeriveLimits(0, ventilation.CommonShares())
	require.ErrorContains(t, err, "commissioned flow")
}

func TestNoiseWithinTheHysteresisNeverChatters(t *testing.T) {
	l := limits(t)
	rapid.Check(t, func(t *rapid.T) {
		noise := rapid.SliceOfN(rapid.Float64Range(float64(l.Low)-7, float64(l.Clear)-0.01), 1, 200).Draw(t, "flows")
		state, changes := ventilation.Moving, 0
		for _, q := range noise {
			next := ventilation.Judge(ventilation.Evidence{Limits: l, Flow: flowOf(q), Before: state}).State
			if next != state {
				changes++
			}
			state = next
		}
		require.LessOrEqual(t, changes, 1)
	})
}

func TestWithoutAFlowNothingIsProven(t *testing.T) {
	l := limits(t)
	rapid.Check(t, func(t *rapid.T) {
		in := ventilation.Evidence{Limits: l, Before: ventilation.State(rapid.SampledFrom([]string{"", "moving", "low", "stopped", "not proven"}).Draw(t, "before"))}
		if rapid.Bool().Draw(t, "command known") {
			in.FanCommand = ventilation.Known(rapid.Bool().Draw(t, "command"))
		}
		in.RoomPressure = pressureOf(rapid.Float64Range(-50, 50).Draw(t, "pressure"))
		require.Equal(t, ventilation.NotProven, ventilation.Judge(in).State)
	})
}

// A fan that is switched on while nothing moves.
func ExampleJudge() {
	limits, _ := ventilation.DeriveLimits(300, ventilation.CommonShares())
	j := ventilation.Judge(ventilation.Evidence{
		Flow:       ventilation.Known(quantity.CubicMetrePerHour(0)),
		Limits:     limits,
		FanCommand: ventilation.Known(true),
	})
	fmt.Println(j.State)
	fmt.Println(j.Sentence)
	fmt.Println(j.Contradictions[0].Conflict)
	// Output:
	// stopped
	// No air moves: 0 m³/h, commissioned 300 m³/h.
	// fan on, no flow
}
