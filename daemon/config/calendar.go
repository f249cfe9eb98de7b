package config

import (
	"strings"
	"time"

	"wetside/rules/session"
)

func readCalendar(room section, zone *time.Location) session.Calendar {
	c := session.Calendar{Zone: zone}
	for _, s := range room.tables("session") {
		c.Weekly = append(c.Weekly, session.Weekly{Title: s.text("title", false), Weekday: readWeekday(s), From: readTime(s, "from", true),
			To: readTime(s, "to", true)})
	}
	for _, s := range room.tables("break") {
		b := session.Break{First: s.date("first", zone), Last: s.date("last", zone)}
		if b.First.IsZero() || b.Last.Before(b.First) {
			s.complain("last", "a break has a first and a last day, such as first = 2026-12-21 and last = 2027-01-10")
		}
		c.Breaks = append(c.Breaks, b)
	}
	return c
}

func readWeekday(s section) time.Weekday {
	text := s.text("weekday", true)
	for d := time.Sunday; d <= time.Saturday; d++ {
		if strings.EqualFold(text, d.String()) {
			return d
		}
	}
	if text != "" {
		s.complain("weekday", "%q is not a day of the week: expected one such as \"Wednesday\"", text)
	}
	return time.Sunday
}

// readTime reads a time of the day such as "18:30" as minutes since midnight, which it is when left out.
func readTime(s section, key string, required bool) session.TimeOfDay {
	text := s.text(key, required)
	t, err := time.Parse("15:04", text)
	if err != nil && text != "" {
		s.complain(key, "%q is not a time of the day: expected one such as \"18:30\"", text)
	}
	return session.TimeOfDay(t.Hour()*60 + t.Minute())
}
