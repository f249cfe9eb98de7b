package past

import (
	"sort"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
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

// Track is what one channel measured over a time, for whoever needs its value at a moment.
// Values are added in the order of time.
type Track struct {
	// Silence is how long a value holds at most.
	Silence time.Duration
	values  []trackValue
}

type trackValue struct {
	at    int64 // nanoseconds
	value float64
	good  bool
}

// Reset forgets the readings, to take those of another time in the same memory.
func (t *Track) Reset(silence time.Duration) { t.Silence, t.values = silence, t.values[:0] }

// Add notes a reading in the inside unit; one that is not good ends the one before.
func (t *Track) Add(at time.Time, value float64, good bool) {
	t.values = append(t.values, trackValue{at.UnixNano(), value, good})
}

// Read is [Track.Add] of a reading of a channel as it is kept.
func (t *Track) Read(c *sensors.Channel, r Reading) {
	t.values = append(t.values, trackValue{r.UnixMilli * int64(time.Millisecond), value(c, r), r.Good})
}

// At gives the value that a reading says of a moment, as the board would have shown it then.
func (t *Track) At(at time.Time) (float64, bool) {
	nanos := at.UnixNano()
	i := sort.Search(len(t.values), func(i int) bool { return t.values[i].at > nanos }) - 1
	if i < 0 || !t.values[i].good || time.Duration(nanos-t.values[i].at) > t.Silence {
		return 0, false
	}
	return t.values[i].value, true
}

// Temperatures are the tracks of the air's temperature in the room's order.
type Temperatures []*Track

// At gives the temperature of the air at a moment, by the first channel that had one.
func (list Temperatures) At(at time.Time) ventilation.Optional[quantity.Celsius] {
	for _, t := range list {
		if v, known := t.At(at); known {
			return ventilation.Known(quantity.Celsius(v))
		}
	}
	return ventilation.Optional[quantity.Celsius]{}
}
