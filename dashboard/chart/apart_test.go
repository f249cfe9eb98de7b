package chart_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestWhatWasNotMeasuredHereIsAHollowLine draws an hour of which the middle came from
// elsewhere: nothing joins it to the rest, and it differs by its shape.
func TestWhatWasNotMeasuredHereIsAHollowLine(t *testing.T) {
	c := evening(t)
	points := c.Line.Points[:9]
	for i := range points {
		points[i].At = c.From.Add(time.Duration(i) * time.Minute)
		points[i].Apart = i >= 3 && i < 6
	}
	c.Line.Points, c.Line.Gaps = points, nil
	svg := draw(t, c)
	require.Equal(t, 2, strings.Count(svg, `class="chart-line"`))
	require.Equal(t, 1, strings.Count(svg, `class="chart-apart"`))
	require.Equal(t, 1, strings.Count(svg, `class="chart-apart-core"`))

	for i := range points {
		points[i].Apart = i == 4
	}
	svg = draw(t, c)
	require.Equal(t, 1, strings.Count(svg, `class="chart-box"`), "one that stands alone is a box")
	require.NotContains(t, svg, `class="chart-dot"`)
}
