package programs

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"time"

	"wetside/dashboard/web"
	"wetside/sensors"
)

// question is what a program asks of /api/series.
type question struct {
	channel    sensors.Channel
	span       Span
	resolution resolution
	csv        bool
}

// resolution is how finely a series is given, and over how long a time at most.
type resolution struct {
	name    string
	longest time.Duration
	// within says the longest time in words.
	within string
}

const oneDay = 24 * time.Hour

func resolutions() []resolution {
	return []resolution{
		{raw, 7 * oneDay, "7 days"},
		{quarter, 400 * oneDay, "400 days"},
		{day, 3660 * oneDay, "3660 days"},
	}
}

// The names of the resolutions.
const (
	raw     = "raw"
	quarter = "quarter"
	day     = "day"
)

// ask reads a question; wrong is one sentence for whoever wrote the program.
func ask(q url.Values, site *web.Site, now time.Time) (out question, wrong string) {
	for _, name := range slices.Sorted(maps.Keys(q)) {
		if !slices.Contains([]string{"channel", "from", "to", "resolution", "format"}, name) {
			return out, fmt.Sprintf("There is no parameter %q: expected channel, from, to, resolution or format.", web.Clip(name))
		}
	}
	at := slices.IndexFunc(resolutions(), func(r resolution) bool { return r.name == q.Get("resolution") })
	if at < 0 {
		return out, "The resolution is missing or unknown: expected resolution=raw, quarter or day."
	}
	out.resolution = resolutions()[at]
	switch q.Get("format") {
	case "", "json":
	case "csv":
		out.csv = true
	default:
		return out, "The format is unknown: expected format=json or csv."
	}
	out.span = Span{Channel: sensors.ChannelID(q.Get("channel")), From: now.Add(-oneDay), To: now}
	for _, end := range []struct {
		name string
		at   *time.Time
	}{{"from", &out.span.From}, {"to", &out.span.To}} {
		if wrong := moment(q.Get(end.name), site.Zone, end.at); wrong != "" {
			return out, wrong
		}
	}
	switch length := out.span.To.Sub(out.span.From); {
	case length <= 0:
		return out, "The end must be after the beginning: to is not in the time, from is."
	case length > out.resolution.longest:
		return out, fmt.Sprintf("The time is too long: at most %s at the resolution %s. Ask for it in parts.", out.resolution.within,
			out.resolution.name)
	}
	out.span = out.resolution.whole(out.span, site.Zone)
	return out, ""
}

// whole widens a time to the quarters of an hour or the days of the place that it touches.
func (r resolution) whole(s Span, zone *time.Location) Span {
	begin := func(t time.Time) time.Time { return t }
	next := begin
	switch r.name {
	case quarter:
		begin = func(t time.Time) time.Time { return t.Truncate(15 * time.Minute) }
		next = func(t time.Time) time.Time { return t.Add(15 * time.Minute) }
	case day:
		begin = func(t time.Time) time.Time { return midnight(t, zone, 0) }
		next = func(t time.Time) time.Time { return midnight(t, zone, 1) }
	}
	s.From = begin(s.From)
	if to := begin(s.To); to.Before(s.To) {
		s.To = next(to)
	}
	return s
}

// midnight is when the day of a moment begins, or one that comes some days later.
func midnight(t time.Time, zone *time.Location, later int) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d+later, 0, 0, 0, 0, zone)
}

// moment reads a time as RFC 3339 or as a day of the place; an empty text leaves it as it is.
func moment(text string, zone *time.Location, at *time.Time) (wrong string) {
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t, err = time.ParseInLocation(time.DateOnly, text, zone)
	}
	if err != nil || t.Year() < 1970 || t.Year() > 9999 {
		return fmt.Sprintf("%q is not a time: expected one such as 2026-01-15T18:00:00Z (write a + as %%2B), or a day such as 2026-01-15.",
			web.Clip(text))
	}
	*at = t
	return ""
}
