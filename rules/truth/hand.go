package truth

import (
	"math"
	"slices"
	"strings"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// HandReading is what a hand thermometer said in the place of a probe. Raw is what the
// probe said at that moment before any correction; the room adds it, and it is nil
// when the probe said nothing.
type HandReading struct {
	Channel sensors.ChannelID `json:"channel"`
	Value   float64           `json:"value"`
	// With names the thermometer, Uncertainty is its plus-or-minus.
	With        string   `json:"with"`
	Uncertainty float64  `json:"uncertainty"`
	Raw         *float64 `json:"raw,omitempty"`
}

// Hand is a hand reading on record.
type Hand struct {
	HandReading
	Stamp
}

func (HandReading) Kind() string { return "hand reading" }

func (a HandReading) What(name func(sensors.ChannelID) string) phrase.Sentence {
	if a.Raw == nil {
		return phrase.Say("a hand reading at %s, without a probe reading to compare, was recorded", name(a.Channel))
	}
	return phrase.Say("a hand reading at %s was recorded beside the reading of the probe", name(a.Channel))
}

func (a HandReading) Texts() []Text { return []Text{{phrase.Say("name of the thermometer"), a.With}} }

func (a HandReading) channel() sensors.ChannelID { return a.Channel }

func (a HandReading) check(l Life, _ Stamp) error {
	span := spread(l.Channel)
	switch {
	case !l.Channel.Plausible.Holds(a.Value):
		return phrase.Errorf("that is outside of what this channel can read: check the figure and its unit")
	case strings.TrimSpace(a.With) == "":
		return phrase.Errorf("the thermometer is missing: write which one it was")
	case !within(a.Uncertainty, 0, span/4):
		return phrase.Errorf("the plus-or-minus of the thermometer is not usable: write a figure such as 0.2")
	}
	return nil
}

func (a HandReading) apply(l Life, s Stamp) Life {
	l.Hands = append(slices.Clip(l.Hands), Hand{a, s})
	return l
}

// Beside gives an act what the board knows at its moment: to a hand reading, what the
// probe said then.
func Beside(act Act, c sensors.Channel, r sensors.Reading, now sensors.Instant) Act {
	h, ok := act.(HandReading)
	if !ok || r.Channel != h.Channel || r.Grade == sensors.Missing || now.Since(r.At) > c.Silence || math.IsNaN(r.Raw) {
		return act
	}
	raw := c.Unit.ToBase(r.Raw)
	h.Raw = &raw
	return h
}

// Difference is what the probe said less what the hand thermometer did, by the
// correction that holds for that time; ok is false when the probe said nothing.
func (l Life) Difference(h Hand) (value float64, ok bool) {
	if h.Raw == nil {
		return 0, false
	}
	return l.True().Correct(*h.Raw, h.At) - h.Value, true
}
