package dashboard

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"wetside/dashboard/locale"
	"wetside/dashboard/words"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// figures writes numbers, units and times as the place wants to read them.
type figures struct {
	words words.Words
	units Units
	zone  *time.Location
	now   sensors.Instant
}

func (s *kit) figures(site *Site) figures {
	zone := site.Zone
	if zone == nil {
		zone = time.UTC
	}
	return figures{words: s.words, units: site.Units, zone: zone, now: s.Clock.Now()}
}

// unit is the unit in which people here read a dimension.
func (f figures) unit(d quantity.Dimension) quantity.Unit { return f.units.Of(d) }

// value writes a value of the inside unit in people's unit, with as many
// decimals as the resolution (in the inside unit) bears.
func (f figures) value(d quantity.Dimension, base, resolution float64) string {
	u := f.unit(d)
	if u.Symbol() == "" {
		return f.signed(strconv.FormatFloat(base, 'g', 4, 64))
	}
	step := u.FromBase(resolution) - u.FromBase(0)
	return f.number(u.FromBase(base), locale.Decimals(step))
}

// withUnit is [figures.value] followed by the unit's symbol.
func (f figures) withUnit(d quantity.Dimension, base, resolution float64) string {
	return strings.TrimSpace(f.value(d, base, resolution) + " " + locale.Symbol(f.unit(d)))
}

// channel writes a channel's value with its unit; a contact is said in words.
func (f figures) channel(c sensors.Channel, base float64) string {
	if c.Dimension == quantity.Contact {
		if base > 0.5 {
			return f.words.Say("contact.on")
		}
		return f.words.Say("contact.off")
	}
	return f.withUnit(c.Dimension, base, c.Resolution)
}

// temperature writes degrees to a tenth, without the unit.
func (f figures) temperature(c quantity.Celsius) string {
	return f.value(quantity.Temperature, float64(c), 0.1)
}

func (f figures) degrees() string { return locale.Symbol(f.unit(quantity.Temperature)) }

// kelvin turns a difference of temperature into people's degrees.
func (f figures) kelvin(k float64) float64 {
	u := f.unit(quantity.Temperature)
	return u.FromBase(k) - u.FromBase(0)
}

// clock is the time of day, such as 20:41.
func (f figures) clock(t time.Time) string { return t.In(f.zone).Format("15:04") }

// when is the time of day, with the day if it is another than today.
func (f figures) when(t time.Time) string { return f.dated(t, "15:04") }

// whenExactly is the time of day to the second, with the day if it is another than today.
func (f figures) whenExactly(t time.Time) string { return f.dated(t, "15:04:05") }

func (f figures) dated(t time.Time, layout string) string {
	local, today := t.In(f.zone), f.now.Wall.In(f.zone)
	if local.YearDay() != today.YearDay() || local.Year() != today.Year() {
		layout = "Mon 2 Jan " + layout
	}
	return local.Format(layout)
}

// moment is a full local time with the letters of its zone.
func (f figures) moment(t time.Time) string {
	return t.In(f.zone).Format("Mon 2 Jan 2006 15:04 MST")
}

// brief is a local time with the letters of its zone and without the year.
func (f figures) brief(t time.Time) string { return t.In(f.zone).Format("Mon 2 Jan 15:04 MST") }

// number writes a number with so many decimals for people, with the decimal sign of the place.
func (f figures) number(v float64, places int) string { return f.signed(number(v, places)) }

// plain writes a number as short as it is for people, with the decimal sign of the place.
func (f figures) plain(v float64) string { return f.signed(plain(v)) }

// signed puts the decimal sign of the place into a number.
func (f figures) signed(number string) string { return f.units.Sign(number) }

// local gives a sentence of the rules as the place reads it: they tell quantities in the
// inside units and with a point, whatever the place has set. A number without a unit, such
// as that of a standard, stays as it is.
func (f figures) local(sentence string) string { return f.units.Sentence(sentence) }

// number writes a number with so many decimals and never as "-0", for drawings and addresses.
func number(v float64, places int) string { return locale.Units{}.Number(v, places) }

// plain writes a number as short as it is, for addresses and what is typed back.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// beforeUnit is the space between a number and what it counts.
var beforeUnit = regexp.MustCompile(`(\d) (°|%|s\b|min\b|L\b|mL\b|m³|m/s|cfm|parts?\b)`)

// together keeps a number and its unit on one line.
func together(sentence string) string { return beforeUnit.ReplaceAllString(sentence, "$1\u00a0$2") }
