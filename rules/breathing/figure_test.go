package breathing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules/breathing"
)

func TestFiguresHaveNoExponent(t *testing.T) {
	for v, want := range map[float64]string{5000: "5000 ppm", 1274.9: "1270 ppm", 0.00012345: "0.000123 ppm", 0: "0 ppm", 37: "37 ppm",
		0.1: "0.1 ppm"} {
		require.Equal(t, want, breathing.Measured(v).Text("ppm").String())
	}
}
