package intervals_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/breathing"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// air are the intervals of flows, air changes and gases.
func air() []stated {
	return []stated{
		{what: "flow by traverse: round duct, instrument 3 %", holds: traverse{diameter: 0.25, instrument: 3}.holds},
		{what: "flow by traverse: round duct, instrument 8 %", holds: traverse{diameter: 0.25, instrument: 8}.holds},
		{what: "flow by traverse: rectangular duct, instrument 3 %", holds: traverse{width: 0.4, height: 0.3, instrument: 3}.holds},
		{what: "air changes by decay: noise, a sensor with hardly an error", holds: decay{noise: 10, off: 5}.holds},
		{what: "air changes by decay: hardly any noise, sensor off by up to 30 ppm", holds: decay{noise: 1, off: 30}.holds},
		{what: "air changes by decay: noise, sensor off by up to 50 ppm", holds: decay{noise: 15, off: 50}.holds},
		{what: "air changes by decay: few points", holds: decay{noise: 10, off: 20, points: 6}.holds},
		{what: "decline of the flow: weekly sessions of a term", holds: declineHolds},
		{what: "average of a gas over 15 min with a silence", bound: true, holds: gas{window: 15 * time.Minute}.holds},
		{what: "average of a gas over 8 h, of which 3 h were read", bound: true, holds: gas{window: 8 * time.Hour}.holds},
	}
}

// traverse is a duct whose velocity falls towards its walls by a power law (exponent 1/5 to
// 1/10, as in turbulent flow, from memory) and leans to one side; each point is read while
// the flow swirls by 5 % (field practice, from memory), with an instrument that is off as its certificate allows (k = 2).
type traverse struct {
	diameter, width, height quantity.Metre
	instrument              quantity.Percent
}

func (c traverse) holds(t *testing.T, r *rand.Rand) bool {
	t.Helper()
	power, lean, towards := 1/(5+5*r.Float64()), 0.2*r.Float64(), 2*math.Pi*r.Float64()
	at := func(x, y float64) float64 { // from -1 to 1 across the duct
		wall := (1 - x*x) * (1 - y*y)
		if c.diameter > 0 {
			wall = 1 - math.Hypot(x, y)
		}
		return 4 * math.Pow(max(wall, 0), power) * (1 + lean*(x*math.Cos(towards)+y*math.Sin(towards)))
	}
	points, err := ventilation.RectangularTraverse(c.width, c.height)
	area, across, up := c.width*c.height, c.width, c.height
	if c.diameter > 0 {
		points, err = ventilation.RoundTraverse(c.diameter)
		area, across, up = math.Pi/4*c.diameter*c.diameter, c.diameter, c.diameter
	}
	require.NoError(t, err)
	off := 1 + float64(c.instrument)/200*r.NormFloat64()
	test := ventilation.Commissioning{At: time.Unix(0, 0), By: "simulated", Instrument: "simulated", Certificate: "simulated",
		Conditions:      "simulated",
		CertificateEnds: time.Unix(0, 0), InstrumentUncertainty: c.instrument, Area: quantity.SquareMetre(area), Points: points, AtProbe: 4}
	for _, p := range points {
		v := at(float64(2*p.X/across-1), float64(2*p.Y/up-1)) * off * (1 + 0.05*r.NormFloat64())
		test.Velocities = append(test.Velocities, quantity.MetrePerSecond(v))
	}
	got, err := test.Evaluate()
	require.NoError(t, err)
	truth := 3600 * float64(area) * mean(at, c.diameter > 0)
	return math.Abs(float64(got.Flow)-truth) <= float64(got.Uncertainty)/100*truth
}

// mean is that of a velocity over a duct, by a fine grid.
func mean(at func(x, y float64) float64, round bool) float64 {
	const cells = 60
	sum, number := 0.0, 0.0
	for i := range cells {
		for j := range cells {
			x, y := (2*float64(i)+1)/cells-1, (2*float64(j)+1)/cells-1
			if !round || math.Hypot(x, y) < 1 {
				sum, number = sum+at(x, y), number+1
			}
		}
	}
	return sum / number
}

// decay is an empty room whose CO2 thins out to the outdoors, read each minute with noise by
// a sensor that is off by up to what is stated of it; the outdoor value is typed.
type decay struct {
	noise, off float64
	points     int
}

func (c decay) holds(t *testing.T, r *rand.Rand) bool {
	t.Helper()
	truth, from, off := 1.5+10*r.Float64(), 800+1500*r.Float64(), evenly(r, c.off)
	test := ventilation.DecayTest{Background: 420, SensorError: c.off, RoomEmpty: true}
	if c.points == 0 {
		c.points = 20
	}
	span := math.Log(from/(4*max(c.off, c.noise))) / truth // hours until the points stop counting
	for i := range c.points {
		after := span * float64(i) / float64(c.points)
		ppm := 420 + from*math.Exp(-truth*after) + off + c.noise*r.NormFloat64()
		test.Points = append(test.Points, ventilation.DecayPoint{After: time.Duration(after * float64(time.Hour)),
			Concentration: math.Round(ppm)})
	}
	got, err := test.AirChanges()
	require.NoError(t, err)
	return truth >= float64(got.Low) && truth <= float64(got.High)
}

// declineHolds draws the flows of twelve weekly sessions about a line.
func declineHolds(t *testing.T, r *rand.Rand) bool {
	t.Helper()
	slope, begin := -4*r.Float64(), time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC)
	var days []ventilation.DayFlow
	for week := range 12 {
		flow := 300 + slope*float64(week) + 6*r.NormFloat64()
		days = append(days, ventilation.DayFlow{At: begin.AddDate(0, 0, 7*week), Flow: quantity.CubicMetrePerHour(flow)})
	}
	got, err := ventilation.FitTrend(days, ventilation.RequiredLimits(200))
	require.NoError(t, err)
	return slope >= float64(got.Low) && slope <= float64(got.High)
}

// gas is an evening of three hours whose gas wanders within the range of its sensor, with
// minutes without readings and below the detection limit.
type gas struct{ window time.Duration }

func (c gas) holds(t *testing.T, r *rand.Rand) bool {
	t.Helper()
	const end, detection = 20.0, 0.5
	var tape breathing.Tape
	level, missing := 5*r.Float64(), 0
	var truth []float64
	for range 180 {
		level = min(max(level+0.4*r.NormFloat64(), 0), end)
		truth = append(truth, level)
		if r.IntN(30) == 0 {
			missing = 1 + r.IntN(10)
		}
		l := breathing.Measured(level)
		if level < detection {
			l = breathing.BelowDetection(detection)
		}
		if missing > 0 {
			missing--
			require.NoError(t, tape.Unsampled(time.Minute, phrase.Say("silent")))
			continue
		}
		require.NoError(t, tape.Sampled(time.Minute, l))
	}
	got, err := tape.Last(c.window, breathing.FullScale(end))
	require.NoError(t, err)
	minutes := int(c.window / time.Minute)
	sum := float64(max(minutes-len(truth), 0)) * end * r.Float64() // of the time before the first reading
	for _, v := range truth[max(len(truth)-minutes, 0):] {
		sum += v
	}
	sum /= float64(minutes)
	return sum >= got.Low-1e-9 && sum <= got.High+1e-9
}
