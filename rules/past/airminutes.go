package past

import (
	"cmp"
	"slices"
	"time"

	"wetside/rules/coverage"
)

// AirMinute is the air over one minute, in air changes an hour. Low, High and the mean
// say nothing while Readings is zero.
type AirMinute struct {
	At        time.Time
	Readings  int
	Low, High float64
	Sum       float64 // of the readings
	from      int64   // At in milliseconds
}

// Mean is the mean of the readings of the minute; no number where there is none.
func (m AirMinute) Mean() float64 { return m.Sum / float64(m.Readings) }

// AirMinutes sums up readings by the minute in which they were made.
type AirMinutes struct {
	list     []AirMinute
	disputed []coverage.Span
	last     int // the minute found last: readings come in the order of time
}

// NewAirMinutes lays out every minute of some times, which come in order, those without
// a reading too. In the disputed times no reading counts: other signs contradicted it.
func NewAirMinutes(open, disputed []coverage.Span) *AirMinutes {
	m := &AirMinutes{disputed: disputed}
	for _, span := range open {
		for at := span.From.Truncate(time.Minute); at.Before(span.To); at = at.Add(time.Minute) {
			if n := len(m.list); n == 0 || at.After(m.list[n-1].At) {
				m.list = append(m.list, AirMinute{At: at, from: at.UnixMilli()})
			}
		}
	}
	return m
}

// counting is the minute in which a reading counts; nil when there is none.
func (m *AirMinutes) counting(milli int64) *AirMinute {
	p := m.minuteOf(milli)
	if p == nil || m.isDisputed(time.UnixMilli(milli)) {
		return nil
	}
	return p
}

// Add counts the air changes of a reading in its minute, if it counts.
func (m *AirMinutes) Add(at time.Time, changes float64) {
	if p := m.counting(at.UnixMilli()); p != nil {
		p.add(changes)
	}
}

func (m *AirMinute) add(changes float64) {
	if m.Readings == 0 {
		m.Low, m.High = changes, changes
	}
	m.Low, m.High = min(m.Low, changes), max(m.High, changes)
	m.Sum, m.Readings = m.Sum+changes, m.Readings+1
}

func (m *AirMinutes) isDisputed(at time.Time) bool {
	return slices.ContainsFunc(m.disputed, func(s coverage.Span) bool { return !at.Before(s.From) && at.Before(s.To) })
}

// minuteOf finds the minute of a moment; nil when there is none.
func (m *AirMinutes) minuteOf(milli int64) *AirMinute {
	const minute = int64(time.Minute / time.Millisecond)
	if m.last < len(m.list) {
		if p := &m.list[m.last]; milli >= p.from && milli < p.from+minute {
			return p
		}
	}
	i, found := slices.BinarySearchFunc(m.list, milli, func(p AirMinute, at int64) int { return cmp.Compare(p.from, at) })
	if !found {
		i--
	}
	if i < 0 || milli-m.list[i].from >= minute {
		return nil
	}
	m.last = i
	return &m.list[i]
}

// List gives the minutes in order.
func (m *AirMinutes) List() []AirMinute { return m.list }
