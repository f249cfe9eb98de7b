package truth

import (
	"slices"
	"strings"
	"time"

	"wetside/rules/access"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Act is something a person did about a probe, or said about a finding.
type Act interface {
	// Kind names the record.
	Kind() string
	// What says what it did, where name gives the name of a channel.
	What(name func(sensors.ChannelID) string) phrase.Sentence
	// Texts are what a person wrote into it, none of which may be too long.
	Texts() []Text
	// channel is the channel that it is about; empty for a finding.
	channel() sensors.ChannelID
	// check says what is wrong with it as things stand, in one sentence.
	check(l Life, s Stamp) error
	// apply is the life after it.
	apply(l Life, s Stamp) Life
}

// Text is what a person wrote, and what it is.
type Text struct {
	What phrase.Sentence
	Text string
}

// Check says whether an act can be taken as things stand. The error is one sentence.
func (b Book) Check(act Act, s Stamp) error {
	if d, ok := act.(decision); ok {
		return b.checkDecision(d)
	}
	l, known := b.lives[act.channel()]
	if !known {
		return phrase.Errorf("this room has no channel %q: choose one from the page of probes", act.channel())
	}
	return act.check(*l, s)
}

// FitProbe says that a device was fitted to a channel. What was fitted there before
// is taken out by it, and the device leaves the place in which it was.
type FitProbe struct {
	Channel sensors.ChannelID `json:"channel"`
	// Probe is the device's serial number or label, Make what it is.
	Probe string `json:"probe"`
	Make  string `json:"make,omitempty"`
	// Accuracy is the plus-or-minus that its maker states; zero when it is not known.
	Accuracy float64 `json:"accuracy,omitempty"`
	// From is when it was fitted; zero means when it was recorded.
	From time.Time `json:"from,omitzero"`
	// Uncorrected ends a correction that was found for another device: readings count as sent until this one is
	// checked. Older records lack it, and what they said of their readings stays.
	Uncorrected bool `json:"uncorrected,omitempty"`
}

// RemoveProbe says that the device of a channel was taken out. Until another is
// fitted, nothing that the channel says is a reading of its place.
type RemoveProbe struct {
	Channel sensors.ChannelID `json:"channel"`
	Why     string            `json:"why"`
	// From is when it was taken out; zero means when it was recorded.
	From time.Time `json:"from,omitzero"`
}

// Fitting is one device in one place, from and to a time; To is zero while it is fitted.
type Fitting struct {
	Probe, Make string
	Accuracy    float64
	From, To    time.Time
	By          string
	Why         phrase.Sentence // why it was taken out
	Record      uint64
	Entered     time.Time // when the fitting was recorded
}

// Late says whether the fitting was entered later than it was done.
func (f Fitting) Late() bool { return f.Entered.Sub(f.From) > time.Minute && !f.From.IsZero() }

func (FitProbe) Kind() string { return "probe fitted" }

// Least lets whoever helps in an evening enter it as it is done. With a date it changes what
// past readings are worth: only who answers for the place may enter that.
func (a FitProbe) Least() access.Role { return leastFor(a.From) }

// Since is from when on it says it holds, and how exactly; zero from its record on.
func (a FitProbe) Since() (at time.Time, within time.Duration) { return a.From, time.Minute }

func leastFor(from time.Time) access.Role {
	if from.IsZero() {
		return access.Volunteer
	}
	return access.Manager
}

func (a FitProbe) What(name func(sensors.ChannelID) string) phrase.Sentence {
	return phrase.Say("%s was fitted at %s, recorded", a.Probe, name(a.Channel))
}

func (a FitProbe) Texts() []Text {
	return []Text{{phrase.Say("label of the probe"), a.Probe}, {phrase.Say("make of the probe"), a.Make}}
}

func (RemoveProbe) Kind() string { return "probe removed" }

// Least is that of [FitProbe.Least].
func (a RemoveProbe) Least() access.Role { return leastFor(a.From) }

// Since is that of [FitProbe.Since].
func (a RemoveProbe) Since() (at time.Time, within time.Duration) { return a.From, time.Minute }

func (a RemoveProbe) What(name func(sensors.ChannelID) string) phrase.Sentence {
	return phrase.Say("the probe of %s was taken out, recorded", name(a.Channel))
}

func (a RemoveProbe) Texts() []Text { return []Text{{phrase.Say("reason"), a.Why}} }

func (a FitProbe) channel() sensors.ChannelID    { return a.Channel }
func (a RemoveProbe) channel() sensors.ChannelID { return a.Channel }

func (a FitProbe) check(l Life, s Stamp) error {
	now, fitted := l.Fitted()
	switch {
	case strings.TrimSpace(a.Probe) == "":
		return phrase.Errorf("the label or serial number of the probe is missing: fill it in")
	case !within(a.Accuracy, 0, spread(l.Channel)):
		return phrase.Errorf("the accuracy is not usable: write the plus-or-minus that the maker states, such as 0.5")
	case fitted && strings.EqualFold(now.Probe, a.Probe):
		return phrase.Errorf("%s is entered as fitted there already, since %s", a.Probe, now.From.UTC().Format(time.DateOnly))
	}
	return checkFrom(a.From, now.From, s)
}

func (a RemoveProbe) check(l Life, s Stamp) error {
	now, _ := l.Fitted()
	switch {
	case l.Out():
		return phrase.Errorf("the probe is entered as taken out already")
	case strings.TrimSpace(a.Why) == "":
		return phrase.Errorf("the reason is missing: fill it in")
	}
	return checkFrom(a.From, now.From, s)
}

// checkFrom refuses a moment that is still to come, that lies before the last change, or that
// is years ago: then its year is a slip.
func checkFrom(from, last time.Time, s Stamp) error {
	const slack, yearsBack = time.Minute, 5
	switch {
	case !from.IsZero() && from.Before(s.At.AddDate(-yearsBack, 0, 0)):
		return phrase.Errorf("%s is more than %d years ago: check the year", from.UTC().Format(time.DateOnly), yearsBack)
	case from.After(s.At.Add(slack)):
		return phrase.Errorf("that time is still to come: enter it when it has been done")
	case !from.IsZero() && from.Before(last):
		return phrase.Errorf("that is before the last change of this place, on %s: check the date", last.UTC().Format(time.DateOnly))
	}
	return nil
}

func (a FitProbe) apply(l Life, s Stamp) Life {
	from := orRecorded(a.From, s)
	if k := l.InForce(from); a.Uncorrected && l.replacedBy(a.Probe) && (k.Slope != 1 || k.Offset != 0) {
		l = l.corrected(Correction{Correction: sensors.Correction{From: from, Slope: 1}, Stamp: s,
			Why: "another probe was fitted: the correction was found for the one before"})
	}
	l = l.ended(from, phrase.Say("exchanged for %s", a.Probe))
	l.Fittings = append(l.Fittings, Fitting{Probe: a.Probe, Make: a.Make, Accuracy: a.Accuracy, From: from, By: s.Person, Record: s.Record,
		Entered: s.At})
	return l
}

// replacedBy says whether a device is another one than the last that was entered here; where none was, or the last
// without its name, it may be the same.
func (l Life) replacedBy(probe string) bool {
	n := len(l.Fittings)
	return n > 0 && l.Fittings[n-1].Probe != "" && !strings.EqualFold(l.Fittings[n-1].Probe, probe)
}

func (a RemoveProbe) apply(l Life, s Stamp) Life {
	from := orRecorded(a.From, s)
	if _, fitted := l.Fitted(); !fitted {
		// Whatever was there before anybody entered it.
		l.Fittings = append(slices.Clip(l.Fittings), Fitting{By: s.Person, Record: s.Record})
	}
	return l.ended(from, phrase.Plain(a.Why))
}

// ended is the life with the device that is fitted taken out.
func (l Life) ended(at time.Time, why phrase.Sentence) Life {
	l.Fittings = slices.Clone(l.Fittings)
	if n := len(l.Fittings); n > 0 && l.Fittings[n-1].To.IsZero() {
		l.Fittings[n-1].To, l.Fittings[n-1].Why = at, why
	}
	return l
}

// Fitted is the device that is fitted now; false when none was entered or it was taken out.
func (l Life) Fitted() (Fitting, bool) {
	if n := len(l.Fittings); n > 0 && l.Fittings[n-1].To.IsZero() {
		return l.Fittings[n-1], true
	}
	return Fitting{}, false
}

// Out says whether the device was taken out and none is entered in its place. A
// channel of which nothing was ever entered is not out.
func (l Life) Out() bool {
	n := len(l.Fittings)
	return n > 0 && !l.Fittings[n-1].To.IsZero()
}

// Out says whether the device of a channel was taken out.
func (b Book) Out(id sensors.ChannelID) bool {
	_, out := b.Changed(id)
	return out
}

func orRecorded(at time.Time, s Stamp) time.Time {
	if at.IsZero() {
		return s.At.UTC()
	}
	return at.UTC()
}

func within(v, low, high float64) bool { return v >= low && v <= high }

// spread is how far the plausible values of a channel lie apart.
func spread(c sensors.Channel) float64 { return c.Plausible.High - c.Plausible.Low }
