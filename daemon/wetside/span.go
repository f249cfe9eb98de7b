package main

import (
	"fmt"
	"time"
)

type spanFlags struct {
	From string `placeholder:"TIME" help:"From when, such as 2026-09-01 or 2026-09-01T18:00:00Z."`
	To   string `placeholder:"TIME" help:"Until when; of a day, until its midnight."`
	Zone string `placeholder:"NAME" help:"The zone of days and local times, such as Europe/Lisbon; the place's own when left out."`
}

// span is a time on the command line, read; an end that was left out is zero.
type span struct {
	from, to time.Time
	zone     *time.Location
}

// read gives the span; days are of the place's zone unless another is asked for.
func (f spanFlags) read(place *time.Location) (span, error) {
	s := span{zone: place}
	var err error
	if f.Zone != "" {
		if s.zone, err = time.LoadLocation(f.Zone); err != nil {
			return s, unusable("--zone %q is not a time zone: expected a name such as Europe/Lisbon", f.Zone)
		}
	}
	if s.from, err = moment(f.From, s.zone, 0); err != nil {
		return s, usageError{fmt.Errorf("--from %w", err)}
	}
	if s.to, err = moment(f.To, s.zone, 1); err != nil {
		return s, usageError{fmt.Errorf("--to %w", err)}
	}
	if !s.from.IsZero() && !s.to.IsZero() && !s.from.Before(s.to) {
		return s, unusable("--from %s is not before --to %s: swap the two", f.From, f.To)
	}
	return s, nil
}

// moment reads a day, or a time with its offset. A day means its beginning, or that of
// a later one: an end that is a day includes it whole.
func moment(text string, zone *time.Location, days int) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, text, zone)
	if err != nil {
		return t, fmt.Errorf("%q is not a time: expected a day such as 2026-09-01, or a time with its offset such as 2026-09-01T18:00:00Z", text)
	}
	return t.AddDate(0, 0, days), nil
}
