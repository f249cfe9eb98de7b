package intake

import (
	"fmt"
	"time"
)

// forms are the ways in which a time may be written without its offset.
func forms() []string {
	return []string{"2006-01-02 15:04:05.999999999", "2006-01-02T15:04:05.999999999", "2006-01-02 15:04", "2006-01-02T15:04"}
}

// moment reads a time with its offset, or one of the zone that the clock showed once
// and once only.
func (f *file) moment(text string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339, text)
	if err == nil {
		return checked(text, t)
	}
	for _, form := range forms() {
		t, err := time.ParseInLocation(form, text, f.Zone)
		if err != nil {
			continue
		}
		wall := t.Format(time.DateTime)
		if read, _ := time.Parse(form, text); read.Format(time.DateTime) != wall {
			return t, fmt.Errorf("no clock in %s ever showed %s: the hour was left out for daylight saving", f.Zone, text)
		}
		for _, other := range []time.Duration{-time.Hour, time.Hour} {
			if t.Add(other).Format(time.DateTime) == wall {
				return t, fmt.Errorf("the clocks in %s showed %s twice: write the time with its offset, such as 2026-10-25T02:30:00+01:00", f.Zone,
					text)
			}
		}
		return checked(text, t)
	}
	return t, fmt.Errorf("%q is not a time: expected one such as 2026-09-01T18:00:00Z or 2026-09-01 18:00:00", text)
}

// checked refuses a year that the history can't hold.
func checked(text string, t time.Time) (time.Time, error) {
	if year := t.UTC().Year(); year < 1 || year > 9999 {
		return t, fmt.Errorf("%q lies outside the years 1 to 9999", text)
	}
	return t.UTC().Truncate(time.Millisecond), nil
}
