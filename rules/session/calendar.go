package session

import (
	"slices"
	"time"
)

// Weekly is an hour of the week at which the room is booked, by local time.
type Weekly struct {
	Title   string
	Weekday time.Weekday
	// From and To are times of the day; a To at or before From is on the next day.
	From, To TimeOfDay
}

// TimeOfDay is a local time of the day in minutes since midnight, 0 to 1439.
type TimeOfDay int

// Break is a time without sessions, from the first day to the last, both included.
type Break struct{ First, Last time.Time }

// Calendar says when sessions are planned. The zero Calendar plans none.
type Calendar struct {
	Zone   *time.Location
	Weekly []Weekly
	Breaks []Break
}

// Booking is one planned session.
type Booking struct {
	Title    string    `json:"title"`
	From, To time.Time // local
}

// farthest is how many weeks ahead a booking is looked for: longer than any break of a school.
const farthest = 30

// Next gives the booking that is under way, or else the one that comes next; of
// two at the same time the first one written. False if none is planned within half a year.
func (c Calendar) Next(at time.Time) (Booking, bool) {
	if c.Zone == nil {
		return Booking{}, false
	}
	var best Booking
	for _, w := range c.Weekly {
		if b, ok := c.next(w, at.In(c.Zone)); ok && (best.From.IsZero() || b.From.Before(best.From)) {
			best = b
		}
	}
	return best, !best.From.IsZero()
}

func (c Calendar) next(w Weekly, at time.Time) (Booking, bool) {
	y, m, d := at.Date()
	first := d - 1 // a booking of yesterday may run past midnight
	ahead := int(w.Weekday - time.Date(y, m, first, 0, 0, 0, 0, time.UTC).Weekday())
	for week := range farthest {
		b := c.booking(w, y, m, first+ahead+7*week)
		if b.To.After(at) && !c.pauses(b.From) {
			return b, true
		}
	}
	return Booking{}, false
}

// booking lays an hour of the week on a date. The local clock says when it begins
// and ends, so that on the night of a clock change it is as long as that clock makes it.
func (c Calendar) booking(w Weekly, y int, m time.Month, d int) Booking {
	end := d
	if w.To <= w.From {
		end++
	}
	return Booking{w.Title, time.Date(y, m, d, 0, int(w.From), 0, 0, c.Zone), time.Date(y, m, end, 0, int(w.To), 0, 0, c.Zone)}
}

func (c Calendar) pauses(at time.Time) bool {
	day := date(at)
	return slices.ContainsFunc(c.Breaks, func(b Break) bool { return !day.Before(date(b.First)) && !day.After(date(b.Last)) })
}

// date is the calendar day alone.
func date(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
