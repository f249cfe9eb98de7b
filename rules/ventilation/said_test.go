package ventilation_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

// A fall of 5 % of the first flow counts, and less does not, in whatever order the evenings come.
func TestADeclineIsAFallByATwentiethOfTheFirstFlow(t *testing.T) {
	for _, c := range []struct {
		flow, falls float64 // m³/h, over five weeks
		falling     bool
		says        string
	}{
		{300, 15.2, true, "The flow declines: -3.0 m³/h a week (-3.0 to -3.0) from 6 sessions over 35 days, low about"},
		{300, 14.8, false, "The flow shows no clear decline: -3.0 m³/h a week"},
		{200, 10.2, true, "The flow declines: -2.0 m³/h a week"}, {200, 9.8, false, "The flow shows no clear decline: -2.0 m³/h a week"},
	} {
		var days []ventilation.DayFlow
		for i := range 6 {
			days = append(days, ventilation.DayFlow{At: evening().AddDate(0, 0, 7*i),
				Flow: quantity.CubicMetrePerHour(c.flow - c.falls*float64(i)/5)})
		}
		for range 2 {
			slices.Reverse(days)
			trend, err := ventilation.FitTrend(days, limits(t))
			require.NoError(t, err)
			require.Equal(t, c.falling, trend.Falling, "%+v", c)
			require.Contains(t, trend.Sentence().String(), c.says)
			require.Equal(t, 35*24*time.Hour, trend.Span)
		}
	}
}

func TestSentencesGiveTheFiguresThatAPersonCanCheck(t *testing.T) {
	require.Equal(t, "not commissioned; low below the required 240.3 m³/h, moving again from 252.3 m³/h, stopped below 24.0 m³/h",
		ventilation.RequiredLimits(240.26).Derivation.String())
	_, err := ventilation.VelocityFromPressure(-1.44, 1.2)
	require.EqualError(t, err, "a velocity pressure of -1.44 Pa is not usable: expected zero or more; check whether the two hoses are "+
		"exchanged")
	dead := commissioning(t)
	dead.InstrumentUncertainty = 0.5
	require.NoError(t, second(dead.Evaluate()), "an instrument may be as good as that")
	dead.Velocities, dead.AtProbe = slices.Repeat([]quantity.MetrePerSecond{4.04}, len(dead.Points)), 2.015
	require.EqualError(t, second(dead.Evaluate()),
		"the fixed probe shows 2.02 m/s while the mean is 4.04 m/s: the probe is in dead air: move the probe")
	_, err = ventilation.AirDensity(-51, 101325)
	require.EqualError(t, err, "an air temperature of -51 °C is not usable: expected -50 to 100 °C")

	decay := ventilation.Decay{AirChanges: 10, Low: 9, High: 11}
	for byFlow, says := range map[quantity.PerHour]string{
		10: "They agree: decay 10.0 air changes an hour (9.0 to 11.0), flow 10.0 (9.0 to 11.0).",
		20: "They contradict each other: decay 10.0 air changes an hour (9.0 to 11.0), flow 20.0 (18.0 to 22.0). The air at the sensor changes " +
			"less than the flow says: poor mixing, a short cut from inlet to outlet, or a flow probe that reads high.",
	} {
		require.Equal(t, says, decay.Compare(byFlow, 10).Sentence.String())
	}
	stopped := ventilation.Prove(roomOf(t, room{flow: "12.6", fan: "on"}))
	require.Equal(t, "The fan is switched on but the duct reads 13 m³/h: look at the belt, the damper, the breaker and the probe.",
		stopped.Contradictions[0].Sentence.String())
	for flow, says := range map[string]string{ // commissioned at 300, stopped below 30, low below 240, moving again from 255 m³/h
		"29.4": "No air moves: 29 m³/h, commissioned 300 m³/h.", "239.4": "Too little air: 239 m³/h, low below 240 m³/h.",
		"290.6": "Air is moving: 291 m³/h, 97 % of the commissioned flow.",
	} {
		require.Equal(t, says, ventilation.Prove(roomOf(t, room{flow: flow})).Sentence.String())
	}
	for flow, says := range map[string]string{"31.4": "No air to speak of: 31 m³/h, moving again from 60 m³/h.",
		"241.4": "Still too little air: 241 m³/h, moving again from 255 m³/h."} {
		after := roomOf(t, room{flow: flow})
		after.Before = ventilation.Stopped
		require.Equal(t, says, ventilation.Prove(after).Sentence.String())
	}
	blocked := ventilation.Prove(roomOf(t, room{flow: "290", pressure: "-11"}))
	require.Contains(t, blocked.Contradictions[0].Sentence.String(), "the flow is 97 % of the commissioned one", "290 of 300")
	var days []ventilation.DayFlow
	for i := range 5 {
		days = append(days, ventilation.DayFlow{At: evening().Add(time.Duration(i) * 75 * time.Hour), Flow: 300})
	}
	_, err = ventilation.FitTrend(days, limits(t))
	require.ErrorContains(t, err, "at least two weeks, there are 12 days", "300 h are 12.5 days")
	short := ventilation.Evidence{Limits: limits(t), MakeUpAsked: 90,
		Signs: ventilation.Signs{ventilation.GoodSign(ventilation.MakeUpSign, "Supply", 50)}}
	require.Empty(t, ventilation.Prove(short).Contradictions, "no flow is known that the supply could be short of")
	out := ventilation.Prove(roomOf(t, room{flow: "290", pressure: "0.64"}))
	require.Contains(t, out.Contradictions[0].Sentence.String(), "the room is 0.6 Pa above its neighbours")
}

// A contact gives 1 for on and 0 for off; what lies half-way is not on.
func TestAContactIsOnBeyondHalfWay(t *testing.T) {
	for v, on := range map[float64]bool{0: false, 0.5: false, 0.51: true, 1: true} {
		e := ventilation.Evidence{Limits: limits(t), Signs: append(flowOf(290), ventilation.GoodSign(ventilation.FanContact, "Fan", v))}
		p := ventilation.Prove(e)
		require.Equal(t, on, p.State == ventilation.Moving, v)
		require.Equal(t, !on, p.State == ventilation.Disputed, v)
		e.Signs[0] = ventilation.NoSign(ventilation.FlowSign, "Duct", e.Limits.Derivation)
		require.Equal(t, on, ventilation.Prove(e).Sentence.String() !=
			"Airflow unknown: Duct is "+e.Limits.Derivation.String()+".", v)
	}
}

// 1 m/s through 1 m² are 3600 m³/h, by the definition of the hour.
func TestAFlowIsVelocityTimesArea(t *testing.T) {
	flow, err := ventilation.Duct{Area: 1, Factor: 1}.Flow(1)
	require.NoError(t, err)
	require.InDelta(t, 3600, float64(flow), 1e-9)
}

func TestAPurgeOfASmallCupboardIsDoneToo(t *testing.T) {
	c, err := ventilation.Purge{Volume: 0.2, Mixing: 1, Remove: 90, LongestGap: time.Hour}.Start()
	require.NoError(t, err)
	require.False(t, c.Done())
	c = c.Observe(evening(), ventilation.Known(quantity.CubicMetrePerHour(10)))
	c = c.Observe(evening().Add(10*time.Minute), ventilation.Known(quantity.CubicMetrePerHour(10)))
	require.True(t, c.Done(), "0.2 m³ times 2.3 were moved (ln 10)")
	require.InDelta(t, 100, float64(c.Removed()), 0.1)
	require.False(t, ventilation.Countdown{}.Done(), "nothing was asked for")
}

func TestAZeroAtTheFirstPointIsAskedAboutToo(t *testing.T) {
	c := commissioning(t)
	c.Velocities = slices.Clone(c.Velocities)
	c.Velocities[0] = 0
	_, err := c.Evaluate()
	require.ErrorContains(t, err, "point 1 reads 0 m/s")
	c.ZerosConfirmed = true
	_, err = c.Evaluate()
	require.NoError(t, err)
}
