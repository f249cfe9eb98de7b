package past

import (
	"time"

	"wetside/sensors"
)

// Reading is what a probe said at a moment, as it is kept. It is short: a report of ten years
// goes through hundreds of millions.
type Reading struct {
	UnixMilli int64
	Raw       float64
	// Good is set for a reading that counts as a measurement, by what is known of the probe now.
	Good bool
}

// At is the moment.
func (r Reading) At() time.Time { return time.UnixMilli(r.UnixMilli).UTC() }

// value is a reading in the inside unit, by the correction in force at its time.
func value(c *sensors.Channel, r Reading) float64 {
	base := c.Unit.ToBase(r.Raw)
	if len(c.Corrections) == 0 {
		return base
	}
	return c.Correct(base, r.At())
}

// milliSpan is a span in whole milliseconds, as readings are dated: from is in it, to is not.
type milliSpan struct{ from, to int64 }

func (s milliSpan) holds(r Reading) bool { return r.UnixMilli >= s.from && r.UnixMilli < s.to }
