package breathing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules/breathing"
	"wetside/sensors/quantity"
)

func TestFiguresHaveNoExponent(t *testing.T) {
	for v, want := range map[float64]string{5000: "5000 ppm", 1274.9: "1270 ppm", 0.00012345: "0.000123 ppm", 0: "0 ppm", 37: "37 ppm",
		0.1: "0.1 ppm"} {
		require.Equal(t, want, breathing.Measured(v).Text("ppm").String())
	}
}

// A range is written outward, to two digits of its upper end.
func TestARangeIsWrittenToTwoDigits(t *testing.T) {
	a := breathing.Average{Low: 12.34, High: 56.78, Coverage: 0.9}
	require.Equal(t, "between 12 and 57 ppm", a.Text("ppm").String())
}

// An average is written no finer than a hundredth of its limit, and what is less as below that: 0.004 ppm of an acid whose
// limit is 10 ppm are no figure that a sensor in steps of 0.1 ppm could have read. A bound is never rounded inward.
func TestAnAverageIsWrittenAsFineAsItsLimit(t *testing.T) {
	ppm, err := quantity.ParseUnit("ppm")
	require.NoError(t, err)
	for _, c := range []struct {
		low, high, limit float64
		open             bool
		want             string
	}{
		{0.00403, 0.00403, 10, false, "below 0.1 ppm"}, {1.0419, 1.0419, 10, false, "1 ppm"}, {803.4, 803.4, 5000, false, "800 ppm"},
		{0.00403, 0.00403, 0.25, false, "0.004 ppm"}, {0.34, 0.83, 15, false, "between 0.3 and 0.9 ppm"}, {0, 0.004, 2, false, "below 0.01 ppm"},
		{0.75, 0.75, 10, true, "at least 0.7 ppm"},
	} {
		f := breathing.Finding{Limit: breathing.Limit{Value: c.limit, Unit: ppm}, Verdict: breathing.Within,
			Average: breathing.Average{Low: c.low, High: c.high, Open: c.open, Coverage: 1}}
		require.Equal(t, c.want, f.Figure().String())
	}
}
