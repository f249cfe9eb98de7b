package web

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/report"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Figures writes numbers, units and times as the place wants to read them: a [phrase.Place], on paper of its own too.
type Figures struct {
	Units
	Zone *time.Location
	Now  sensors.Instant
}

// Figures are those of the place, at this moment.
func (s *Kit) Figures(site *Site) Figures {
	zone := site.Zone
	if zone == nil {
		zone = time.UTC
	}
	return Figures{Units: site.Units, Zone: zone, Now: s.Clock.Now()}
}

// Unit is the unit in which people here read a dimension.
func (f Figures) Unit(d quantity.Dimension) quantity.Unit { return f.Of(d) }

// Value writes a value of the inside unit in people's unit, with as many
// decimals as the resolution (in the inside unit) bears.
func (f Figures) Value(d quantity.Dimension, base, resolution float64) string {
	return f.Figure(d.Of(base, resolution).Bare())
}

// WithUnit is [Figures.Value] followed by the unit's symbol.
func (f Figures) WithUnit(d quantity.Dimension, base, resolution float64) string {
	return f.Figure(d.Of(base, resolution))
}

// Channel writes a channel's value with its unit; a contact is said in words.
func (f Figures) Channel(c sensors.Channel, base float64) string {
	if c.Dimension == quantity.Contact {
		if base > 0.5 {
			return "on"
		}
		return "off"
	}
	return f.WithUnit(c.Dimension, base, c.Resolution)
}

// Temperature writes degrees to a tenth, without the unit.
func (f Figures) Temperature(c quantity.Celsius) string {
	return f.Value(quantity.Temperature, float64(c), 0.1)
}

// Degrees is the sign of the unit of temperature.
func (f Figures) Degrees() string { return f.Unit(quantity.Temperature).Label() }

// Kelvin turns a difference of temperature into people's degrees.
func (f Figures) Kelvin(k float64) float64 {
	u := f.Unit(quantity.Temperature)
	return u.FromBase(k) - u.FromBase(0)
}

// TimeOfDay is the time of day, such as 20:41.
func (f Figures) TimeOfDay(t time.Time) string { return t.In(f.Zone).Format("15:04") }

// Until is the time of day at which something ended that began at a moment, with the day where it needs one.
func (f Figures) Until(from, to time.Time) string {
	if report.NeedsDay(from, to) {
		return f.Brief(to)
	}
	return f.TimeOfDay(to)
}

// When is the time of day, with the day if it is another than today.
func (f Figures) When(t time.Time) string { return f.dated(t, "15:04") }

// WhenExactly is the time of day to the second, with the day if it is another than today.
func (f Figures) WhenExactly(t time.Time) string { return f.dated(t, "15:04:05") }

func (f Figures) dated(t time.Time, layout string) string {
	local, today := t.In(f.Zone), f.Now.Wall.In(f.Zone)
	if local.YearDay() != today.YearDay() || local.Year() != today.Year() {
		layout = "Mon 2 Jan " + layout
	}
	return local.Format(layout)
}

// Moment is a full local time with the letters of its zone.
func (f Figures) Moment(t time.Time) string {
	return t.In(f.Zone).Format("Mon 2 Jan 2006 15:04 MST")
}

// Date is a day of the place without the day of the week.
func (f Figures) Date(t time.Time) string { return t.In(f.Zone).Format("2 Jan 2006") }

// Day is a day of the place.
func (f Figures) Day(t time.Time) string { return t.In(f.Zone).Format("Mon 2 Jan 2006") }

// Brief is a local time with the letters of its zone and without the year.
func (f Figures) Brief(t time.Time) string { return t.In(f.Zone).Format("Mon 2 Jan 15:04 MST") }

// Count writes how many there are of something: one is the form for exactly one, many for any
// other number. Each form has a %d for the number.
func Count(n int, one, many string) string {
	if n == 1 {
		return fmt.Sprintf(one, n)
	}
	return fmt.Sprintf(many, n)
}

// Number writes a number with so many decimals and never as "-0", for drawings and addresses.
func Number(v float64, places int) string { return quantity.Digits(v, places) }

// Plain writes a number as short as it is, for addresses and what is typed back.
func Plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// Text gives a sentence as the place reads it.
func (f Figures) Text(s phrase.Sentence) string { return s.By(f) }

// InUnits is a sentence that has been told, in the place of the one that it was.
func (f Figures) InUnits(s phrase.Sentence) phrase.Sentence { return phrase.Plain(f.Text(s)) }

// ErrorText is what a person reads of an error: the ledger's own two sentences, or a sentence
// made of it.
func (f Figures) ErrorText(err error) string {
	if problem := (ledger.Problem{}); errors.As(err, &problem) {
		return problem.By(f)
	}
	return SentenceCase(phrase.Error(err, f))
}

// ErrorText is the same where there are no figures at hand.
func (s *Kit) ErrorText(err error) string { return s.Figures(s.View.Now()).ErrorText(err) }

// Word gives the words of a state as the place reads them.
func (f Figures) Word(state phrase.Spoken) string { return f.Text(state.Said()) }

// Texts gives sentences as the place reads them.
func (f Figures) Texts(all []phrase.Sentence) []string {
	told := make([]string, len(all))
	for i, s := range all {
		told[i] = f.Text(s)
	}
	return told
}

// Lines are sentences, each on a line of its own.
func (f Figures) Lines(all []phrase.Sentence) string { return strings.Join(f.Texts(all), "\n") }
