package truth

import (
	"math"
	"slices"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Method is how a probe was checked.
type Method string

// The methods of a check.
const (
	// IcePoint is a slush of crushed ice and clean water, at 0 °C by its nature.
	IcePoint Method = "ice point"
	// Reference is the comparison with an instrument that has a certificate.
	Reference Method = "reference comparison"
	// ZeroPoint is a reading where there is nothing to measure: a covered probe, both ports
	// of a pressure probe open to one room, clean air at a gas cell.
	ZeroPoint Method = "zero point"
	// Switching is to switch what a contact follows, and to look whether it follows.
	Switching Method = "switching"
)

// Methods are the ways in which a kind of channel can be checked, the simplest first.
func Methods(k sensors.Kind) []Method {
	switch traits, _ := k.Traits(); {
	case k == sensors.FanCommand:
		return []Method{Switching}
	case traits.Dimension == quantity.Temperature:
		return []Method{IcePoint, Reference}
	case k.MovesWithAir() || k.IsGas():
		return []Method{ZeroPoint, Reference}
	}
	return []Method{Reference}
}

// Unchecked gives the channels whose probes nobody had checked by a moment, so that what rests
// on them rested on their makers' word.
func (b Book) Unchecked(by time.Time) []sensors.Channel {
	var list []sensors.Channel
	for l := range b.Lives() {
		if _, checked := l.LastBefore(by); !checked && !l.Out() {
			list = append(list, l.Channel)
		}
	}
	return list
}

func (m Method) Said() phrase.Sentence { return phrase.Plain(string(m)) }

// IceTemperature is the ice point in °C (ASTM E563: ice and air-saturated water at
// one atmosphere), IceUncertainty a plus-or-minus that a slush of household ice and
// clean water is held to (common practice; a careful one is far better).
const (
	IceTemperature = 0.0
	IceUncertainty = 0.1
	// wornProbe is more than a worn probe is off in ice: what reads farther from it is in no slush.
	wornProbe = 5
)

// FarFromIce says whether a probe reads what no probe in slush does, in °C.
func FarFromIce(reading float64) bool { return math.Abs(reading-IceTemperature) > wornProbe }

// CheckProbe says what a check found. Values are as the page showed them, corrected.
type CheckProbe struct {
	Channel   sensors.ChannelID `json:"channel"`
	Method    Method            `json:"method"`
	Reference float64           `json:"reference"`
	// Uncertainty is the plus-or-minus of the reference.
	Uncertainty float64 `json:"uncertainty"`
	Instrument  string  `json:"instrument,omitempty"`
	Certificate string  `json:"certificate,omitempty"`
	AsFound     float64 `json:"as_found"`
	// AsLeft is what it read after something was changed; nil when nothing was.
	AsLeft *float64 `json:"as_left,omitempty"`
	// Correct puts an offset in force with the check, by which it would have read the reference.
	Correct bool `json:"correct,omitempty"`
	// Next is the day by which the next check is due; zero when none is set.
	Next time.Time `json:"next,omitzero"`
	Note string    `json:"note,omitempty"`
}

// Check is a check on record.
type Check struct {
	CheckProbe
	Stamp
	// Probe is the device that was fitted then, empty when none was entered.
	Probe string
	// Raw is what the probe itself said, by the correction that was in force.
	Raw float64
	// Left is the reading that the check left the probe with; Calculated is set when
	// that follows from the correction and nobody read it.
	Left       float64
	Calculated bool
	Verdict    Verdict
}

// Verdict is how a check stands to what is allowed.
type Verdict struct {
	// Error is as found less reference.
	Error float64
	// Allowed is the stated accuracy of the probe plus the uncertainty of the
	// reference; Known is false when no accuracy is stated, and nothing is judged.
	Allowed float64
	Known   bool
}

// Passed says whether the error lies within what is allowed; false as well when
// nothing is allowed because nothing is stated.
func (v Verdict) Passed() bool {
	const rounding = 1e-9
	return v.Known && math.Abs(v.Error) <= v.Allowed+rounding
}

// tidy takes off what binary fractions leave behind the ninth decimal.
func tidy(v float64) float64 { return math.Round(v*1e9) / 1e9 }

func (CheckProbe) Kind() string { return "probe checked" }

func (a CheckProbe) What(name func(sensors.ChannelID) string) phrase.Sentence {
	if a.Correct {
		return phrase.Say("%s was checked, and its correction is in force, recorded", name(a.Channel))
	}
	return phrase.Say("%s was checked, recorded", name(a.Channel))
}

func (a CheckProbe) Texts() []Text {
	return []Text{{phrase.Say("reference instrument"), a.Instrument}, {phrase.Say("certificate number"), a.Certificate},
		{phrase.Say("note"), a.Note}}
}

func (a CheckProbe) channel() sensors.ChannelID { return a.Channel }

// longestToNext is how far ahead the next check may lie: beyond it is a mistyped year.
const longestToNext = 10 * 366 * 24 * time.Hour

func (a CheckProbe) check(l Life, s Stamp) error {
	span, p := spread(l.Channel), l.Channel.Plausible
	near := func(v float64) bool { return within(v, p.Low-span, p.High+span) }
	switch {
	case !slices.Contains(Methods(l.Channel.Kind), a.Method):
		return phrase.Errorf("that method does not fit this kind of probe: choose %s", phrase.Join(" or ", Methods(l.Channel.Kind)...))
	case a.Method == ZeroPoint && a.Reference != 0:
		return phrase.Errorf("the reference of a zero point is 0: for another value compare with a reference")
	case !near(a.AsFound) || a.AsLeft != nil && !near(*a.AsLeft) || !near(a.Reference):
		return phrase.Errorf("a value lies far outside of what this channel can read: check the figure and its unit")
	case !within(a.Uncertainty, 0, span):
		return phrase.Errorf("the uncertainty of the reference is not usable: write its plus-or-minus, such as 0.1")
	case a.Method == Reference && a.Instrument == "":
		return phrase.Errorf("the reference instrument is missing: write which one it was")
	case a.Correct && a.Method == IcePoint && FarFromIce(a.AsFound):
		return phrase.Errorf("that is far from the ice point: the probe was not in the slush, or it is faulty. Check it again before anything " +
			"is corrected")
	case a.Correct && math.Abs(a.AsFound-a.Reference) > span/4:
		return phrase.Errorf("the probe is so far off that a correction would hide a fault: check the probe and the figures")
	case !a.Next.IsZero() && (!a.Next.After(s.At) || a.Next.Sub(s.At) > longestToNext):
		return phrase.Errorf("the next check is due on a day to come, within ten years: check the date")
	}
	return nil
}

func (a CheckProbe) apply(l Life, s Stamp) Life {
	k := l.InForce(s.At)
	c := Check{CheckProbe: a, Stamp: s, Raw: k.back(a.AsFound), Left: a.AsFound}
	now, fitted := l.Fitted()
	c.Probe = now.Probe
	c.Verdict = Verdict{Error: tidy(a.AsFound - a.Reference), Allowed: now.Accuracy + a.Uncertainty, Known: now.Accuracy > 0}
	if !fitted {
		c.Verdict.Known = false
	}
	if a.Correct {
		k.From, k.Offset = s.At.UTC(), tidy(k.Offset-c.Verdict.Error)
		l = l.corrected(Correction{Correction: k.Correction, Stamp: s, Check: s.Record})
		c.Left, c.Calculated = a.Reference, true
	}
	if a.AsLeft != nil {
		c.Left, c.Calculated = *a.AsLeft, false
	}
	l.Checks = append(slices.Clip(l.Checks), c)
	return l
}

// Last is the last check of the device that is fitted now; false when there is none.
func (l Life) Last() (Check, bool) {
	now, _ := l.Fitted()
	for _, c := range slices.Backward(l.Checks) {
		if c.At.Before(now.From) {
			break
		}
		return c, true
	}
	return Check{}, false
}

// LastBefore gives the newest check before a moment of the device that was fitted then; false
// without one.
func (l Life) LastBefore(at time.Time) (Check, bool) {
	for _, c := range slices.Backward(l.Checks) {
		if !c.At.Before(at) {
			continue
		}
		replaced := slices.ContainsFunc(l.Fittings, func(f Fitting) bool { return f.From.After(c.At) && f.From.Before(at) })
		return c, !replaced
	}
	return Check{}, false
}

// Due is the day by which the next check is due, and whether that has gone by; ok is
// false when no check has set one, or the probe is taken out.
func (l Life) Due(now time.Time) (due time.Time, overdue, ok bool) {
	c, checked := l.Last()
	if !checked || c.Next.IsZero() || l.Out() {
		return time.Time{}, false, false
	}
	return c.Next, !now.Before(c.Next), true
}
