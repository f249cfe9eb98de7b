package chem_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// These times are published to the second, so that their rounding is next to nothing beside what else is uncertain.
// Invented; the slopes of their logarithm are 0.12, 0.06 and 0.09 per kelvin.
func toTheSecond(t testing.TB) chem.Table {
	t.Helper()
	table, err := chem.NewTable("invented", []chem.Point{{At: 20, Time: 36001 * time.Second}, {At: 21, Time: 31930 * time.Second},
		{At: 22, Time: 30071 * time.Second}, {At: 24, Time: 25117 * time.Second}})
	require.NoError(t, err)
	return table
}

// plusMinus is half of the interval, in the logarithm.
func plusMinus(t testing.TB, in chem.Inputs) float64 {
	t.Helper()
	low, high := chem.Tonight(in).Interval()
	require.Positive(t, low)
	return math.Log(high.Seconds()/low.Seconds()) / 2
}

// Of what lies anywhere within a limit, 95 of 100 lie within 0.95 of it; of the sum of two such, within
// 2 (1 - sqrt 0.05) of one (rectangle and triangle: JCGM 100:2008, 4.3.7 and 4.3.9); of a bell, within 1.96
// standard deviations.
func TestAnIntervalHolds95Of100WhateverIsUncertain(t *testing.T) {
	in := chem.Inputs{Table: toTheSecond(t), Temperature: chem.Measured(20.5, 0.3)}
	require.InEpsilon(t, 0.95*0.3*0.12, plusMinus(t, in), 0.01, "one hard limit: the probe's")

	same := 0.3 * 0.12
	in.Use = chem.BathUse{Used: 1, Capacity: 1, Slowing: 2 * same / (1 - 2*same)}
	require.InEpsilon(t, 2*(1-math.Sqrt(0.05))*same, plusMinus(t, in), 0.01, "two limits alike: the probe's and the count's")

	in.Use = chem.BathUse{}
	s := time.Second
	for n, sd := range map[int]float64{1: math.Sqrt2, 2: math.Sqrt(1.5), 4: math.Sqrt(1 + math.Pi/8)} {
		in.Emergence = chem.Emergence{Fresh: 10 * s, FreshAt: 20.5, Now: []time.Duration{10 * s, 10 * s, 10 * s, 10 * s}[:n]}
		require.InEpsilon(t, 1.96*0.1*sd, plusMinus(t, in), 0.01, "a tenth for a call, %d calls beside one on the fresh bath", n)
	}
}

// A probe that may read in the next stretch of the table is as uncertain as the steeper of the two makes it.
func TestTheSteepestStretchThatTheProbeMayBeInCounts(t *testing.T) {
	for _, c := range []struct {
		at              quantity.Celsius
		accuracy, slope float64
	}{{20.5, 0.4, 0.12}, {21.5, 0.4, 0.06}, {21.5, 0.6, 0.12}, {22.5, 0.4, 0.09}, {22.5, 0.6, 0.09}, {22.5, 1.6, 0.12}, {21.5, 0.5, 0.12},
		{24, 0.1, 0.09}, {20, 0.1, 0.12}, {22, 0, 0}} {
		in := chem.Inputs{Table: toTheSecond(t), Temperature: chem.Measured(c.at, c.accuracy)}
		require.InDelta(t, 0.95*c.accuracy*c.slope, plusMinus(t, in), 0.0004, "%+v", c)
	}
}

// Times that are printed to the half minute may be a quarter of a minute off, and so on.
func TestTheRoundingOfThePrintedTimesIsInTheInterval(t *testing.T) {
	for _, c := range []struct {
		cold, warm, step time.Duration
	}{{510, 450, 30}, {525, 450, 15}, {520, 450, 10}, {525, 455, 5}, {526, 450, 1}} {
		table, err := chem.NewTable("invented", []chem.Point{{At: 20, Time: c.cold * time.Second}, {At: 24, Time: c.warm * time.Second}})
		require.NoError(t, err)
		half := c.step.Seconds() / 2 * float64(time.Second)
		for at, time := range map[quantity.Celsius]time.Duration{19.996: c.cold, 20: c.cold, 24: c.warm, 24.004: c.warm} {
			in := chem.Inputs{Table: table, Temperature: chem.Measured(at, 0)}
			require.InEpsilon(t, 0.95*half/float64(time), plusMinus(t, in), 0.005, "%+v", c)
		}
		between := plusMinus(t, chem.Inputs{Table: table, Temperature: chem.Measured(22, 0)})
		alike := half / 2 * (1/float64(c.cold) + 1/float64(c.warm)) / 2
		require.InEpsilon(t, 2*(1-math.Sqrt(0.05))*alike, between, 0.02, "half of each of two limits nearly alike: %+v", c)
	}
	steps, err := chem.NewTable("invented", []chem.Point{{At: 20, Time: 3600 * time.Second}, {At: 22, Time: 900 * time.Second},
		{At: 24, Time: 300 * time.Second}})
	require.NoError(t, err)
	for at, time := range map[quantity.Celsius]float64{20: 3600, 22: 900, 24: 300} {
		require.InEpsilon(t, 0.95*15/time, plusMinus(t, chem.Inputs{Table: steps, Temperature: chem.Measured(at, 0)}), 0.005, "%v", at)
	}
	one := chem.Inputs{Table: singlePoint(t, 20, 480*time.Second), Temperature: chem.Measured(20, 0)}
	require.InEpsilon(t, 0.95*15/480, plusMinus(t, one), 0.005)
}

// A coefficient between 0.0395 and 0.1225 per kelvin holds every slope read in print (0.035 to 0.118, but for the flattest).
func TestTheGeneralRuleIsAsUncertainAsPublishedSlopesDiffer(t *testing.T) {
	one := singlePoint(t, 20, 36001*time.Second)
	for at, kelvin := range map[quantity.Celsius]float64{18: 2, 22: 2, 24: 4} {
		require.InEpsilon(t, 0.95*0.0415*kelvin, plusMinus(t, chem.Inputs{Table: one, Temperature: chem.Measured(at, 0)}), 0.01)
	}
	require.InEpsilon(t, 0.95*0.5*0.081, plusMinus(t, chem.Inputs{Table: one, Temperature: chem.Measured(20, 0.5)}), 0.01)
	alike := 0.0415 * 2
	require.InEpsilon(t, 2*(1-math.Sqrt(0.05))*alike, plusMinus(t, chem.Inputs{Table: one, Temperature: chem.Measured(22, alike/0.081)}), 0.01,
		"two limits alike: the rule's over two kelvin and the probe's")
}

// From 60 °F, where hydroquinone loses its power, to 80 °F (sources beside the limits), and not a tenth further.
func TestTheGeneralRuleEndsAtItsLimits(t *testing.T) {
	for f, can := range map[float64]bool{59.9: false, 60: true, 80: true, 80.1: false} {
		at := quantity.FromFahrenheit(f)
		_, bath := chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, time.Hour), Temperature: chem.Measured(at, 0)}).Time()
		require.Equal(t, can, bath, "the bath at %v °F", f)
		_, point := chem.Tonight(chem.Inputs{Table: singlePoint(t, at, time.Hour), Temperature: chem.Measured(20, 0)}).Time()
		require.Equal(t, can, point, "the point at %v °F", f)
	}
	require.Contains(t, chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, time.Hour), Temperature: chem.Measured(27, 0)}).Refusal().String(),
		"27.0 °C lies outside the general rule's range, 15.6 to 26.7 °C")
}

// Kodak F-32 (verified): 10 min at 1+7 and 11.5 at 1+9 make the steepest exponent in print, 0.63; 0.65 stands for it.
func TestAStrengthThatIsNearlyRightWidensTheInterval(t *testing.T) {
	nominal := parts(t, "1+9")
	for _, c := range []struct {
		off, uncertainty float64
		can              bool
	}{{0.019, 0, true}, {-0.019, 0, true}, {0.021, 0, false}, {-0.021, 0, false}, {0.03, 0.04, true}, {0.05, 0.04, false}, {0, 0.04, true}} {
		in := chem.Inputs{Table: singlePoint(t, 20, 36001*time.Second), Temperature: chem.Measured(20, 0), Strength: chem.BathStrength{
			Nominal: nominal, Made: nominal.Strength() * chem.Strength(math.Exp(c.off)), Uncertainty: c.uncertainty}}
		_, ok := chem.Tonight(in).Time()
		require.Equal(t, c.can, ok, "%+v", c)
		if ok {
			require.InEpsilon(t, 0.95*0.65*math.Hypot(c.off, c.uncertainty), plusMinus(t, in), 0.01, "%+v", c)
		}
	}
	in := at1plus9(t)
	in.Table, in.Temperature, in.Strength.Uncertainty = singlePoint(t, 24, 36001*time.Second), chem.Measured(24, 0), 0.05
	require.InEpsilon(t, 0.95*0.05*math.Log(1.15)/math.Log(1.25), plusMinus(t, in), 0.01)
	for share, can := range map[float64]bool{0.0625 * 0.96: true, 0.0625 * 0.94: false, 0.125 * 1.04: true, 0.125 * 1.06: false} {
		in.Strength.Made = chem.Strength(share)
		_, ok := chem.Tonight(in).Time()
		require.Equal(t, can, ok, "%v", share)
	}
	in.Strength.Made = parts(t, "1+9").Strength()
	for nominal, can := range map[string]bool{"1+15.2": true, "1+15.5": false, "1+6.9": true, "1+6.7": false} {
		in.Strength.Nominal = parts(t, nominal)
		_, ok := chem.Tonight(in).Time()
		require.Equal(t, can, ok, "%v", nominal)
	}
}

func TestAStrengthThatCannotBeIsNotKnown(t *testing.T) {
	for _, s := range []chem.BathStrength{{Nominal: parts(t, "1+9")}, {Made: 0.1}, {Nominal: parts(t, "1+9"), Made: 1.01},
		{Nominal: parts(t, "1+9"), Made: 0.1, Uncertainty: -0.01}} {
		in := chem.Inputs{Table: toTheSecond(t), Temperature: chem.Measured(20, 0), Strength: s}
		require.Contains(t, chem.Tonight(in).Unknown(), phrase.Say("strength"), "%+v", s)
	}
	neat := chem.BathStrength{Nominal: parts(t, "1+0"), Made: 1}
	require.NotContains(t, chem.Tonight(chem.Inputs{Table: toTheSecond(t), Temperature: chem.Measured(20, 0), Strength: neat}).Unknown(),
		phrase.Say("strength"))
}

// Watkins held the factor of a developer constant at another temperature: what appears as late as it did on the
// fresh bath at 18 °C takes as long as on that bath, whatever the thermometer says now.
func TestAnImageThatComesAsOnTheFreshBathTakesAsLong(t *testing.T) {
	for freshAt, whole := range map[quantity.Celsius]float64{18: 125, 20: 108, 22: 93} {
		r := chem.Tonight(chem.Inputs{Table: printTable(t), Temperature: chem.Measured(19, 0.3),
			Emergence: chem.Emergence{Fresh: 12 * time.Second, FreshAt: freshAt, Now: []time.Duration{12 * time.Second}}})
		require.InDelta(t, whole, seconds(t, r), 0.01)
	}
}

// Two answers that are as sure as each other meet in the middle, and are together surer by the square root of two.
func TestEmergenceAndCountWeighByHowSureTheyAre(t *testing.T) {
	limit := math.Sqrt(3) * 0.1 * math.Sqrt2 // has the standard deviation of one call beside another
	slowing := 2 * limit / (1 - 2*limit)
	in := chem.Inputs{Table: singlePoint(t, 20, 36001*time.Second), Temperature: chem.Measured(20, 0),
		Use: chem.BathUse{Used: 1, Capacity: 1, Slowing: slowing}}
	at := func(ratio float64) chem.Recommendation {
		now := time.Duration(10 * ratio * float64(time.Second))
		in.Emergence = chem.Emergence{Fresh: 10 * time.Second, FreshAt: 20, Now: []time.Duration{now}}
		return chem.Tonight(in)
	}
	require.InEpsilon(t, 36001*math.Sqrt((1+slowing)*1.5), seconds(t, at(1.5)), 1e-4)
	require.InEpsilon(t, 1.96*0.1, plusMinus(t, in), 0.03)

	// 0.2 is the standard deviation of their difference: past two of them one of them is wrong, and the image is right.
	for _, off := range []float64{-0.39, 0.39, -0.41, 0.41} {
		r := at((1 + slowing) * math.Exp(off))
		require.Equal(t, math.Abs(off) > 0.4, math.Abs(math.Log(seconds(t, r)/36001/(1+slowing))-off) < 1e-4, "%v", off)
	}
	in.Use = chem.BathUse{}
	for ratio, can := range map[float64]bool{0.49: false, 0.51: true, 1.99: true, 2.01: false} {
		_, ok := at(ratio).Time()
		require.Equal(t, can, ok, "%v", ratio)
	}
}

func TestANearerPointIsTheReference(t *testing.T) {
	for _, c := range []struct {
		cold, warm quantity.Celsius
		says       string
	}{{18, 21, "at 21 °C"}, {19, 22, "at 19 °C"}, {19, 21, "at 19 °C"}, {24, 26, "at 24 °C"}} {
		table, err := chem.NewTable("invented", []chem.Point{{At: c.cold, Time: 100 * time.Second}, {At: c.warm, Time: 90 * time.Second}})
		require.NoError(t, err)
		require.Contains(t, chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(c.cold, 0)}).Sentence().String(), c.says)
	}
}

// How a time is told never depends on what it is made of: the low end is as far below it as the high end is above, in the logarithm.
func TestAnIntervalLiesEvenlyAroundItsTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := chem.Inputs{Table: singlePoint(t, 20, 36001*time.Second),
			Temperature: chem.Measured(quantity.Celsius(rapid.Float64Range(16, 26).Draw(t, "at")), rapid.Float64Range(0, 1).Draw(t, "accuracy")),
			Use:         chem.BathUse{Used: 1, Capacity: 2, Slowing: rapid.Float64Range(0, 1).Draw(t, "slowing")}}
		r := chem.Tonight(in)
		at, ok := r.Time()
		require.True(t, ok)
		low, high := r.Interval()
		require.InDelta(t, math.Log(at.Seconds()/low.Seconds()), math.Log(high.Seconds()/at.Seconds()), 1e-6)
	})
}

// Four kelvin by the flattest and the steepest of the published tables: exp 0.158 and exp 0.490.
func TestWithoutATableTheFactorHoldsEveryPublishedOne(t *testing.T) {
	least, most := chem.ByTemperature(24, 20)
	require.InDelta(t, 1.171, least, 0.001)
	require.InDelta(t, 1.632, most, 0.001)
	for name, row := range map[string][2]float64{"R1": {6.5, 5}, "R3": {6, 4}, "R5": {8.75, 6.25}, "R6": {7.75, 5.5}, "R9": {6.5, 5.5},
		"R10": {6.5, 5.5}, "Pan F+, secondary": {8, 5}} { // Kodak F-32 (verified) but for the last
		ratio := row[0] / row[1]
		require.True(t, least <= ratio && ratio <= most, "%s: %g", name, ratio)
	}
}
