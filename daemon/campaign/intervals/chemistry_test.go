package intervals_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/sensors/quantity"
)

// chemistry are the intervals of developing times and of forecasts of a bath.
func chemistry() (all []stated) {
	for _, c := range []struct {
		name string
		simulation
	}{
		{"table, probe 0.5 K", simulation{accuracy: 0.5}},
		{"table, probe 0.1 K: the rounding of the table", simulation{accuracy: 0.1}},
		{"table, probe 1 K", simulation{accuracy: 1}},
		{"table, probe 0.3 K, strength 5 %", simulation{accuracy: 0.3, strength: 0.05}},
		{"table, probe 0.3 K, strength 2 %, half used", simulation{accuracy: 0.3, strength: 0.02, slowing: 0.3}},
		{"general rule from one point, probe 0.5 K", simulation{accuracy: 0.5, onePoint: true}},
		{"table, probe 0.5 K, three emergence times", simulation{accuracy: 0.5, slowing: 0.3, emergence: 3}},
		{"table, probe 0.5 K, one emergence time, use not known", simulation{accuracy: 0.5, emergence: 1}},
	} {
		all = append(all, stated{what: "developing time: " + c.name, holds: c.holds})
	}
	for _, c := range []cooling{
		{"15 min, noise 0.05 K, steps of 0.01 K", 0.05, 0.01, 15},
		{"30 min, noise 0.05 K, steps of 0.1 K", 0.05, 0.1, 30},
		{"60 min, noise 0.02 K, steps of 0.0625 K", 0.02, 0.0625, 60},
	} {
		all = append(all, stated{what: "bath leaves its range: after " + c.name, holds: c.holds})
	}
	return all
}

// A simulation is of a developer that follows its own law: the table was published from the
// law, rounded to quarters of a minute; the probe is off by up to its accuracy.
type simulation struct {
	accuracy, strength, slowing float64
	emergence                   int
	onePoint                    bool
}

// holds draws a developer and an evening, and says whether the interval holds the true time.
func (c simulation) holds(t *testing.T, r *rand.Rand) bool {
	t.Helper()
	k, at20 := 0.05+0.05*r.Float64(), 240+360*r.Float64()
	if c.onePoint {
		k = 0.0395 + 0.083*r.Float64() // as published tables have
	}
	law := func(at float64) float64 { return at20 * math.Exp(-k*(at-20)) }
	var points []chem.Point
	for _, at := range []float64{18, 20, 22, 24} {
		if !c.onePoint || at == 20 {
			rounded := time.Duration(math.Round(law(at)/15)) * 15 * time.Second
			points = append(points, chem.Point{At: quantity.Celsius(at), Time: rounded})
		}
	}
	table, err := chem.NewTable("simulated", points)
	require.NoError(t, err)
	read := 18.5 + 5*r.Float64()
	truth := law(read + evenly(r, c.accuracy))
	in := chem.Inputs{Table: table, Temperature: chem.Measured(quantity.Celsius(read), c.accuracy)}
	if c.strength > 0 {
		nominal, weak := chem.Parts{Concentrate: 1, Water: 9}, chem.Parts{Concentrate: 1, Water: 14}
		exponent := 0.3 + 0.35*r.Float64()
		longer := 300 * math.Pow(float64(weak.Strength()/nominal.Strength()), -exponent)
		in.Strength = chem.BathStrength{Nominal: nominal, Made: nominal.Strength(), Uncertainty: c.strength, Published: []chem.DilutionTime{
			{Parts: nominal, Time: 300 * time.Second}, {Parts: weak, Time: time.Duration(longer * float64(time.Second))}}}
		truth *= math.Exp(-exponent * evenly(r, c.strength))
	}
	if c.slowing > 0 {
		in.Use = chem.BathUse{Used: 0.5, Capacity: 1, Slowing: c.slowing}
		truth *= 1 + c.slowing/2 + evenly(r, c.slowing/4)
	}
	call := func(seconds float64) time.Duration {
		return time.Duration(seconds * math.Exp(0.1*r.NormFloat64()) * float64(time.Second))
	}
	if c.emergence > 0 {
		in.Emergence = chem.Emergence{Fresh: call(12), FreshAt: 20}
		for range c.emergence {
			in.Emergence.Now = append(in.Emergence.Now, call(12*truth/at20))
		}
	}
	low, high := chem.Tonight(in).Interval()
	require.Positive(t, high, chem.Tonight(in).Sentence().String())
	return truth >= low.Seconds() && truth <= high.Seconds()
}

// cooling is a bath on its way to the temperature of the room, read every ten seconds by a
// probe with noise and a resolution.
type cooling struct {
	name              string
	noise, resolution float64
	minutes           int
}

// holds says whether the stated range holds the moment at which the bath really leaves its band.
func (c cooling) holds(t *testing.T, r *rand.Rand) bool {
	t.Helper()
	tau, rest, above := 3600*(0.7+1.3*r.Float64()), 16+2*r.Float64(), 4+3*r.Float64()
	span := float64(60 * c.minutes)
	var samples []chem.Sample
	for at := 0.0; at <= span; at += 10 {
		read := rest + above*math.Exp(-at/tau) + c.noise*r.NormFloat64()
		samples = append(samples, chem.Sample{At: time.Duration(at) * time.Second,
			Temperature: quantity.Celsius(math.Round(read/c.resolution) * c.resolution)})
	}
	fitted, err := chem.FitCooling(samples, c.resolution)
	require.NoError(t, err)
	truth := 600 + 5400*r.Float64() // seconds from the last reading to the edge
	edge := rest + above*math.Exp(-(span+truth)/tau)
	stay, err := fitted.Stay(chem.Band{Low: quantity.Celsius(edge), High: 40})
	require.NoError(t, err)
	return truth >= stay.Earliest.Seconds() && (stay.MayNever || truth <= stay.Latest.Seconds()) &&
		(stay.Earliest > 0 || stay.Verdict == chem.WillLeave)
}
