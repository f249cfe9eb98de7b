package dashboard

import (
	"math"
	"strconv"
	"strings"
	"time"

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

func (s *Server) figures(site *Site) figures {
	zone := site.Zone
	if zone == nil {
		zone = time.UTC
	}
	return figures{words: s.words, units: site.Units, zone: zone, now: s.clock.Now()}
}

// unit is the unit in which people here read a dimension.
func (f figures) unit(d quantity.Dimension) quantity.Unit {
	for _, u := range []quantity.Unit{f.units.Temperature, f.units.Flow, f.units.Pressure, f.units.Velocity, f.units.Volume} {
		if u.Dimension() == d {
			return u
		}
	}
	base, _ := quantity.BaseUnit(d)
	return base
}

// value writes a value of the inside unit in people's unit, with as many
// decimals as the resolution (in the inside unit) bears.
func (f figures) value(d quantity.Dimension, base, resolution float64) string {
	u := f.unit(d)
	if u.Symbol() == "" {
		return f.signed(strconv.FormatFloat(base, 'g', 4, 64))
	}
	step := u.FromBase(resolution) - u.FromBase(0)
	return f.number(u.FromBase(base), decimals(step))
}

// withUnit is [figures.value] followed by the unit's symbol.
func (f figures) withUnit(d quantity.Dimension, base, resolution float64) string {
	return strings.TrimSpace(f.value(d, base, resolution) + " " + symbol(f.unit(d)))
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

func (f figures) degrees() string { return symbol(f.unit(quantity.Temperature)) }

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

func decimals(step float64) int {
	if !(step > 0) {
		return 1
	}
	return int(max(0, math.Ceil(-math.Log10(step)-0.25)))
}

// number writes a number with so many decimals for people, with the decimal sign of the place.
func (f figures) number(v float64, places int) string { return f.signed(number(v, places)) }

// plain writes a number as short as it is for people, with the decimal sign of the place.
func (f figures) plain(v float64) string { return f.signed(plain(v)) }

// signed puts the decimal sign of the place into a number.
func (f figures) signed(number string) string {
	if f.units.DecimalComma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// number writes a number with so many decimals and never as "-0", for drawings and addresses.
func number(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// symbol is a unit as people write it.
func symbol(u quantity.Unit) string {
	switch u.Symbol() {
	case "C", "F":
		return "°" + u.Symbol()
	case "floz":
		return "US fl oz"
	case "gal":
		return "US gal"
	case "impfloz":
		return "imp fl oz"
	case "impgal":
		return "imp gal"
	case "inwg":
		return "in. w.g."
	}
	return strings.NewReplacer("m3", "m³", "m2", "m²", "ft3", "ft³", "ft2", "ft²", "ug", "µg").Replace(u.Symbol())
}

// plain writes a number as short as it is, for addresses and what is typed back.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
