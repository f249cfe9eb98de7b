package daemon_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Somebody lays a lid on one end of the hood: the flow in the duct is as before, and only
// the probes along the hood can tell.
func TestAnEndOfTheHoodThatDoesNotDrawIsNamed(t *testing.T) {
	e := newEvening(t, "20s block hood-left 20s")
	e.until(15 * time.Second)
	_, page := e.get("/rooms/practice/air")
	require.Contains(t, page, "MOVING")
	require.NotContains(t, page, "trays there are not served")
	e.until(30 * time.Second)
	_, page = e.get("/rooms/practice/air")
	require.Contains(t, page, "MOVING")
	require.Regexp(t, `The hood draws 0\.(4|5)\d m/s in the middle but 0\.(0|1)\d m/s at its left end: trays there are not served`, page)
	require.Empty(t, e.now().Rooms[0].Alarms, "nobody has to act at once")
	e.until(50 * time.Second)
	_, page = e.get("/rooms/practice/air")
	require.NotContains(t, page, "trays there are not served")
}
