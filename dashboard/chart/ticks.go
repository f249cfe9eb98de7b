package chart

import (
	"math"
	"time"
)

// valueTicks are round values at 1, 2 or 5 times a power of ten, about as many
// as wanted, the first at or below the extent and the last at or above it.
func valueTicks(e Band, wanted int) (ticks []float64, digits int) {
	raw := (e.High - e.Low) / float64(wanted)
	power := math.Floor(math.Log10(raw))
	step := math.Pow(10, power)
	for _, factor := range []float64{1, 2, 5, 10} {
		if step = factor * math.Pow(10, power); step >= raw*0.999 {
			break
		}
	}
	first, last := math.Floor(e.Low/step+1e-9), math.Ceil(e.High/step-1e-9)
	if last <= first {
		last = first + 1
	}
	for i := first; i <= last; i++ {
		ticks = append(ticks, i*step)
	}
	return ticks, int(max(0, -math.Floor(math.Log10(step)+1e-9)))
}

// timeTick is a place on the time axis with its label.
type timeTick struct {
	At    time.Time
	Label string
}

// axis is the zone of the labels and how many of them there is room for.
type axis struct {
	zone *time.Location
	most int
}

// stride is a step of the calendar: some seconds of the day, days or months.
type stride struct {
	seconds, days, months int
	format                string
}

// about is the usual length of a stride.
func (s stride) about() time.Duration {
	return time.Duration(s.seconds+s.days*86400+s.months*2629746) * time.Second
}

func strides() []stride {
	const minute, hour = 60, 3600
	var list []stride
	for _, s := range []int{1, 2, 5, 10, 15, 30} {
		list = append(list, stride{seconds: s, format: "15:04:05"})
	}
	for _, s := range []int{minute, 2 * minute, 5 * minute, 10 * minute, 15 * minute, 30 * minute,
		hour, 2 * hour, 3 * hour, 6 * hour, 12 * hour} {
		list = append(list, stride{seconds: s, format: "15:04"})
	}
	for _, d := range []int{1, 2, 7, 14} {
		list = append(list, stride{days: d, format: "2 Jan"})
	}
	return append(list, stride{months: 1, format: "Jan"}, stride{months: 2, format: "Jan"}, stride{months: 3, format: "Jan"},
		stride{months: 6, format: "Jan"}, stride{months: 12, format: "2006"}, stride{months: 24, format: "2006"},
		stride{months: 60, format: "2006"})
}

// timeTicks are round local times within the span.
func timeTicks(from, to time.Time, a axis) []timeTick {
	list := strides()
	step := list[len(list)-1]
	for _, s := range list {
		if to.Sub(from) <= time.Duration(a.most)*s.about() {
			step = s
			break
		}
	}
	var ticks []timeTick
	for at := step.first(from.In(a.zone)); !at.After(to); at = step.next(at) {
		if !at.Before(from) {
			ticks = append(ticks, timeTick{at, step.label(at)})
		}
	}
	return ticks
}

// first is a round time at or before t.
func (s stride) first(t time.Time) time.Time {
	y, m, d := t.Date()
	switch {
	case s.months >= 12:
		return time.Date(y-y%(s.months/12), 1, 1, 0, 0, 0, 0, t.Location())
	case s.months > 0:
		return time.Date(y, 1, 1, 0, 0, 0, 0, t.Location())
	case s.days > 0:
		return time.Date(y, m, d-s.days, 0, 0, 0, 0, t.Location())
	}
	return time.Date(y, m, d, 0, 0, 0, 0, t.Location())
}

// next goes by the local clock, so that ticks keep to round hours over the nights
// in which the clock is changed; there a step may be longer or shorter.
func (s stride) next(t time.Time) time.Time {
	y, m, d := t.Date()
	if s.months > 0 || s.days > 0 {
		return time.Date(y, m+time.Month(s.months), d+s.days, 0, 0, 0, 0, t.Location())
	}
	of := t.Hour()*3600 + t.Minute()*60 + t.Second() + s.seconds
	n := time.Date(y, m, d, 0, 0, of, 0, t.Location())
	if !n.After(t) || n.Sub(t) > 2*time.Duration(s.seconds)*time.Second+time.Hour {
		return t.Add(time.Duration(s.seconds) * time.Second)
	}
	return n
}

// label names the day at midnight and the year in January.
func (s stride) label(t time.Time) string {
	switch {
	case s.seconds > 0 && t.Hour() == 0 && t.Minute() == 0 && t.Second() == 0:
		return t.Format("Mon 2 Jan")
	case s.months > 0 && s.months < 12 && t.Month() == time.January:
		return t.Format("Jan 2006")
	}
	return t.Format(s.format)
}

// zoneName names the zone of the span, both of its names when the clock is changed in it.
func zoneName(from, to time.Time, zone *time.Location) string {
	a, _ := from.In(zone).Zone()
	b, _ := to.In(zone).Zone()
	if a == b {
		return a
	}
	return a + ", " + b
}
