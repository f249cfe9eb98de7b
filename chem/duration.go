package chem

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// longestTime bounds what is taken for a development time.
const longestTime = 24 * time.Hour

// AmbiguousTimeError says that a time such as "9.30" can be read as 9 minutes
// 30 seconds or as 9.3 minutes: both are in print, so the writer must choose.
type AmbiguousTimeError struct {
	// Text is what was written.
	Text string
	// Readings are the times it may mean, the minutes-and-seconds reading first.
	Readings []time.Duration
}

// Error asks which reading is meant.
func (e *AmbiguousTimeError) Error() string {
	return e.sentence().String()
}

// By asks it as a place tells it.
func (e *AmbiguousTimeError) By(t phrase.Place) string { return e.sentence().By(t) }

func (e *AmbiguousTimeError) sentence() phrase.Sentence {
	if len(e.Readings) == 1 {
		return phrase.Say("%q may mean minutes and seconds or a fraction of a minute: write %s, or a unit as in %q", e.Text,
			MinutesSeconds(e.Readings[0]), e.Text+"min")
	}
	return phrase.Say("%q may mean minutes and seconds or a fraction of a minute: write %s or %s, or a unit as in %q",
		e.Text, MinutesSeconds(e.Readings[0]), MinutesSeconds(e.Readings[1]), e.Text+"min")
}

// ParseTime reads a development time: "9:30" (minutes and seconds), "9.3min",
// "580s" or "9min30s". A bare number is an error, and one with a point or comma
// is an [*AmbiguousTimeError].
func ParseTime(text string) (time.Duration, error) {
	d, err := readTime(strings.ToLower(strings.ReplaceAll(strings.TrimSpace(text), " ", "")))
	if err != nil {
		return 0, err
	}
	if d <= 0 || d > longestTime {
		return 0, phrase.Errorf("%q is not a development time: it must be more than 0 and at most 24 h", text)
	}
	return d, nil
}

func readTime(s string) (time.Duration, error) {
	if m := regexp.MustCompile(`^(\d{1,4}):([0-5]\d)$`).FindStringSubmatch(s); m != nil {
		return minutesAndSeconds(m[1], m[2]), nil
	}
	if m := regexp.MustCompile(`^(\d{1,4})m(?:in)?([0-5]?\d)s$`).FindStringSubmatch(s); m != nil {
		return minutesAndSeconds(m[1], m[2]), nil
	}
	if m := regexp.MustCompile(`^(\d+(?:[.,]\d+)?)(min|m|sec|s)$`).FindStringSubmatch(s); m != nil {
		return withUnit(m[1], m[2])
	}
	if m := regexp.MustCompile(`^(\d{1,4})[.,](\d{1,9})$`).FindStringSubmatch(s); m != nil {
		return 0, ambiguous(s, m[1], m[2])
	}
	return 0, phrase.Errorf("%q is not a development time: write 9:30, 9.5min or 570s", s)
}

// minutesAndSeconds takes digits only, so that the conversions cannot fail.
func minutesAndSeconds(minutes, seconds string) time.Duration {
	m, _ := strconv.Atoi(minutes)
	s, _ := strconv.Atoi(seconds)
	return time.Duration(m)*time.Minute + time.Duration(s)*time.Second
}

func withUnit(number, unit string) (time.Duration, error) {
	v, err := quantity.Number(number)
	if err != nil {
		return 0, err
	}
	seconds := v
	if strings.HasPrefix(unit, "m") {
		seconds = v * 60
	}
	return fromSeconds(min(seconds, 2*longestTime.Seconds())), nil
}

func ambiguous(text, whole, decimals string) error {
	e := &AmbiguousTimeError{Text: text}
	if len(decimals) == 2 && decimals < "60" {
		e.Readings = append(e.Readings, minutesAndSeconds(whole, decimals))
	}
	v, err := quantity.Number(whole + "." + decimals)
	if err != nil {
		return err
	}
	decimal := fromSeconds(v * 60)
	if len(e.Readings) == 0 || e.Readings[0] != decimal {
		e.Readings = append(e.Readings, decimal)
	}
	return e
}

// fromSeconds turns seconds into a duration, rounded to the nanosecond.
func fromSeconds(s float64) time.Duration { return time.Duration(math.Round(s * float64(time.Second))) }

// MinutesSeconds writes a time as it is spoken over a tray: "2:10". It rounds to
// the whole second; a negative time has a minus sign.
func MinutesSeconds(d time.Duration) string {
	sign, s := "", int(d.Round(time.Second)/time.Second)
	if s < 0 {
		sign, s = "-", -s
	}
	return fmt.Sprintf("%s%d:%02d", sign, s/60, s%60)
}
