package cards

import (
	"fmt"
	"net/url"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// hotTap is the temperature of the water for a jacket until somebody types another:
// common practice for a hot tap, and stated beside every volume worked out with it.
const hotTap quantity.Celsius = 45

// soon is how far ahead a forecast is told in minutes; farther ahead it is tonight no longer.
const soon = 3 * time.Hour

// near is when the board says that a bath leaves its range: later, there is nothing to do about it yet.
const near = time.Hour

// ForecastLine is where a bath's temperature goes, and what would bring it back.
type ForecastLine struct {
	Text string
	// Jacket is the hot water that restores a cold bath, Href where it is worked out for another tap.
	Jacket, Href string
}

// leaves is the forecast in the few words of the board; empty when there is nothing to say.
func (f Figures) leaves(fc rules.Forecast) string {
	s := fc.Stay
	switch {
	case s.Verdict == chem.WillLeave && s.In < soon:
		return fmt.Sprintf("%d min until out of range", minutes(s.In))
	case s.Verdict == chem.WillLeave || s.Verdict == chem.WillNotLeave && s.Earliest == 0:
		return "will stay in range"
	}
	return ""
}

// Forecast is the whole forecast of a bath, with its interval; nil for a bath without a band or probe.
func (f Figures) Forecast(b rules.BathView) *ForecastLine {
	at, known := b.Temperature()
	if !known || !b.Forecast.Known() && b.Forecast.Refusal.IsZero() {
		return nil
	}
	line := &ForecastLine{Text: f.Stay(b.Forecast)}
	stay := b.Forecast.Stay
	cold := stay.Verdict == chem.WillLeave && stay.In < soon && float64(stay.Edge) <= b.Bath.Band.Low || b.Band == rules.BelowBand
	if cold && b.Portion != nil && b.Portion.Volume > 0 {
		target := quantity.Celsius((b.Bath.Band.Low + b.Bath.Band.High) / 2)
		f.jacket(line, chem.VolumeAt{Volume: b.Portion.Volume, Temperature: at}, target)
	}
	return line
}

func (f Figures) jacket(line *ForecastLine, bath chem.VolumeAt, target quantity.Celsius) {
	hot, err := chem.Jacket(bath, target, hotTap)
	if err != nil || hot <= 0 {
		return
	}
	line.Jacket = fmt.Sprintf("Hot-water jacket: at least %s of water at %s around the tray brings the bath to %s.", f.Volume(hot),
		f.degree(hotTap), f.degree(target))
	line.Href = "/mix?" + url.Values{"do": {"jacket"}, "make": {f.TypedVolume(bath.Volume)}, "bath": {f.typedDegree(bath.Temperature)},
		"target": {f.typedDegree(target)}, "hot": {f.typedDegree(hotTap)}}.Encode() + "#jacket"
}

// Stay is a forecast in a sentence.
func (f Figures) Stay(fc rules.Forecast) string {
	s := fc.Stay
	switch s.Verdict {
	case chem.OutsideNow:
		return "Out of range now"
	case chem.WillLeave:
		if s.In >= soon {
			return fmt.Sprintf("Should stay in range for %d hours; at the earliest out in %d min", int(soon.Hours()), minutes(s.Earliest))
		}
		if s.MayNever {
			return fmt.Sprintf("%d min until out of range at %s (in %d min at the earliest, or not at all)", minutes(s.In), f.degree(s.Edge),
				minutes(s.Earliest))
		}
		return fmt.Sprintf("%d min until out of range at %s (between %d and %d min)", minutes(s.In), f.degree(s.Edge), minutes(s.Earliest),
			minutes(s.Latest))
	case chem.WillNotLeave:
		if s.Earliest > 0 {
			return fmt.Sprintf("Should stay in range, but could leave it after %d min", minutes(s.Earliest))
		}
		return "Will stay in range"
	}
	return fmt.Sprintf("Too early to say: %s", f.Text(fc.Refusal))
}

func (f Figures) degree(c quantity.Celsius) string { return f.Temperature(c) + " " + f.Degrees() }

// typedDegree is a temperature as a field is filled with it.
func (f Figures) typedDegree(c quantity.Celsius) string {
	return f.Temperature(c) + " " + f.Unit(quantity.Temperature).Symbol()
}
