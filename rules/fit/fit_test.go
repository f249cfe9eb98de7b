package fit_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"wetside/rules/fit"
)

// TestTheStatisticsAreThoseOfAnIndependentLibrary: gonum.org/v1/gonum/stat.
func TestTheStatisticsAreThoseOfAnIndependentLibrary(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 1))
	for range 200 {
		n := 3 + dice.IntN(60)
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], y[i] = 1000*dice.NormFloat64()-500, 20+dice.NormFloat64()
		}
		mean, deviation := stat.MeanStdDev(y, nil)
		gotMean, gotDeviation := fit.MeanStdDev(y)
		require.InDelta(t, mean, gotMean, 1e-10)
		require.InDelta(t, deviation, gotDeviation, 1e-10)
		require.InDelta(t, mean, fit.Mean(y), 1e-10)
		a, b := stat.LinearRegression(x, y, nil, false)
		gotA, gotB := fit.Line(x, y)
		require.InDelta(t, a, gotA, 1e-9)
		require.InDelta(t, b, gotB, 1e-12)
		weights := make([]float64, n)
		for i := range weights {
			weights[i] = 0.1 + dice.Float64()
		}
		a, b = stat.LinearRegression(x, y, weights, false)
		weighted, ok := fit.Weighted(x, y, weights)
		require.True(t, ok)
		require.InDelta(t, a, weighted.Intercept, 1e-9)
		require.InDelta(t, b, weighted.Slope, 1e-12)
	}
}

// TestStudent against published quantiles, two-sided: NIST/SEMATECH e-Handbook of
// Statistical Methods, section 1.3.6.7.2 (from memory), and against the library.
func TestStudent(t *testing.T) {
	for _, c := range []struct{ confidence, freedom, want float64 }{
		{0.95, 1, 12.706}, {0.95, 2, 4.303}, {0.95, 10, 2.228}, {0.95, 30, 2.042}, {0.99, 5, 4.032}, {0.99, 100, 2.626},
	} {
		require.InDelta(t, c.want, fit.Student(c.confidence, c.freedom), 0.0006)
		require.InDelta(t, distuv.StudentsT{Mu: 0, Sigma: 1, Nu: c.freedom}.Quantile(0.5+c.confidence/2),
			fit.Student(c.confidence, c.freedom), 1e-9)
	}
}

// norris are the data of the linear regression named Norris in the Statistical
// Reference Datasets of NIST, as y and x (from memory; that the certified figures
// come out to ten digits shows that they were remembered right).
func norris() (x, y []float64) {
	for _, p := range [][2]float64{{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5}, {668.5, 666.3},
		{998.5, 996.3},
		{449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4}, {0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0},
		{448.9, 447.5}, {10.8, 11.6},
		{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3}, {0.6, 0.3}, {557.6, 556.8},
		{339.3, 339.1}, {888.0, 887.2},
		{998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}} {
		y, x = append(y, p[0]), append(x, p[1])
	}
	return x, y
}

func TestALineHasTheCertifiedFiguresOfNorris(t *testing.T) {
	x, y := norris()
	line, ok := fit.Regress(x, y)
	require.True(t, ok)
	require.InEpsilon(t, -0.262323073774029, line.Intercept, 1e-9)
	require.InEpsilon(t, 1.00211681802045, line.Slope, 1e-10)
	require.InEpsilon(t, 0.429796848199937e-3, line.SlopeError, 1e-9)
	_, ok = fit.Regress([]float64{1, 1, 1}, []float64{1, 2, 3})
	require.False(t, ok, "one place makes no line")
}
