package past

import (
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
	sum       float64
}

// Mean of the readings.
func (m AirMinute) Mean() float64 { return m.sum / float64(m.Readings) }

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
				m.list = append(m.list, AirMinute{At: at})
			}
		}
	}
	return m
}

// Counts says whether a reading of a moment counts in one of the minutes.
func (m *AirMinutes) Counts(at time.Time) bool { return m.counting(at) >= 0 }

// counting finds the minute in which a reading counts; -1 when there is none.
func (m *AirMinutes) counting(at time.Time) int {
	if slices.ContainsFunc(m.disputed, func(s coverage.Span) bool { return !at.Before(s.From) && at.Before(s.To) }) {
		return -1
	}
	return m.index(at)
}

// Add counts the air changes of a reading in its minute, if it counts.
func (m *AirMinutes) Add(at time.Time, changes float64) {
	i := m.counting(at)
	if i < 0 {
		return
	}
	p := &m.list[i]
	if p.Readings == 0 {
		p.Low, p.High = changes, changes
	}
	p.Low, p.High = min(p.Low, changes), max(p.High, changes)
	p.sum, p.Readings = p.sum+changes, p.Readings+1
}

// index finds the minute of a moment; -1 when there is none.
func (m *AirMinutes) index(at time.Time) int {
	if m.last < len(m.list) {
		if into := at.Sub(m.list[m.last].At); into >= 0 && into < time.Minute {
			return m.last
		}
	}
	i, found := slices.BinarySearchFunc(m.list, at, func(p AirMinute, at time.Time) int { return p.At.Compare(at) })
	if !found {
		i--
	}
	if i < 0 || at.Sub(m.list[i].At) >= time.Minute {
		return -1
	}
	m.last = i
	return i
}

// List gives the minutes in order.
func (m *AirMinutes) List() []AirMinute { return m.list }
