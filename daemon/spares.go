package daemon

import (
	"slices"

	"wetside/sensors"
)

// spares are slices in which readings go from a line to the loop of a room, used
// again and again, so that a frame in its usual course takes no new memory.
type spares chan []sensors.Reading

// copyOf gives a copy of readings; whoever is done with it gives it back.
func (s spares) copyOf(readings []sensors.Reading) []sensors.Reading {
	if len(readings) == 0 {
		return nil
	}
	select {
	case spare := <-s:
		return append(spare[:0], readings...)
	default:
		return slices.Clone(readings)
	}
}

func (s spares) back(spare []sensors.Reading) {
	if cap(spare) == 0 {
		return
	}
	select {
	case s <- spare:
	default: // there are enough
	}
}
