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
	}
}

// TestStudent against published quantiles, two-sided: NIST/SEMATECH e-Handbook of
// Statistical Methods, section 1.3.6.7.2 (from memory), and against the library.
func TestStudent(t *testing.T) {
	for _, c := range []struct{ confidence, freedom, want float64 }{
		{0.95, 1, 12.706}, {0.95, 2, 4.303}, {0.95, 10, 2.228}, {0.95, 30, 2.042}, {0.99, 5, 4.032}, {0.99, 100, 2.626},
	} {
		require.InDelta(t, c.want, fit.Student(c.confidence, c.freedom), 0.0006)
		require.InDelta(t, distuv.StudentsT{Mu: 0, Sigma: 1, Nu: c.freedom}.Quantile(0.5+c.confidence/2), fit.Student(c.confidence, c.freedom), 1e-9)
	}
}
