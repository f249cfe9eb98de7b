package truth

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// FindingKind is what the readings give away.
type FindingKind string

// The kinds of finding.
const (
	FlatLine  FindingKind = "flat line"
	Jump      FindingKind = "jump"
	Drift     FindingKind = "drift against hand readings"
	OutOfBath FindingKind = "probe out of the liquid"
	Exchanged FindingKind = "two probes exchanged"
	LostNoise FindingKind = "noise lost"
	EndStop   FindingKind = "stuck at one end"
)

func (k FindingKind) Said() phrase.Sentence { return phrase.Plain(string(k)) }

// Finding is something found from the data. It changes nothing: a person confirms or
// dismisses it.
type Finding struct {
	// ID names it within the room, for ever.
	ID   string      `json:"id"`
	What FindingKind `json:"what"`
	// Channels are one, or the two that were exchanged.
	Channels []sensors.ChannelID `json:"channels"`
	// From is when it began; UTC. To is when it was over by itself, zero where it is not.
	From time.Time `json:"from"`
	To   time.Time `json:"to,omitzero"`
	// Doubts is set where no figure may rest on the channels until a person has judged
	// the finding. Records from before there were doubts have none.
	Doubts bool `json:"doubts,omitempty"`
	// Confidence is 0 to 1, by the reckoning in Basis.
	Confidence float64 `json:"confidence"`
	// Text says what was seen, Basis how the confidence was reckoned.
	Text  phrase.Sentence `json:"text"`
	Basis phrase.Sentence `json:"basis"`
}

// Offer is a finding with what a person said of it.
type Offer struct {
	Finding
	// Decided is when somebody confirmed or dismissed it; zero while it waits.
	Decided   time.Time
	Confirmed bool
	// Still is set where the probe was still wrong when somebody confirmed it.
	Still   bool
	By, Why string
	Record  uint64
}

// Open says whether nobody has judged it yet.
func (o Offer) Open() bool { return o.Decided.IsZero() }

func (f Finding) named() Finding {
	f.From, f.To = f.From.UTC().Truncate(time.Second), f.To.UTC().Truncate(time.Second)
	f.Doubts = f.What.doubts() && f.Confidence >= SuspectFrom
	f.ID = fmt.Sprintf("%s:%s:%s", strings.ReplaceAll(string(f.What), " ", "-"), phrase.Join("+", f.Channels...),
		f.From.Format("20060102T150405Z"))
	return f
}

// mostCertain is the highest confidence that is ever stated: nothing found from
// readings alone is certain.
const mostCertain = 0.99

// certain turns the odds against a finding into a stated confidence.
func certain(against float64) float64 { return min(mostCertain, 1/(1+max(0, against))) }

// Percent is the confidence as a whole number of per cent.
func (f Finding) Percent() int { return int(math.Round(100 * f.Confidence)) }

// ConfirmFinding says that a finding is true.
type ConfirmFinding struct {
	Finding Finding `json:"finding"` // as it was offered; the room fills it in from the ID
	Why     string  `json:"why"`     // what was seen or done
	// Still says that the probe is still wrong: nothing rests on it until the same is
	// confirmed once more as put right, or another device is fitted.
	Still bool `json:"still,omitempty"`
}

// DismissFinding says that a finding is not true, or means nothing.
type DismissFinding struct {
	Finding Finding `json:"finding"`
	Why     string  `json:"why"`
}

func (ConfirmFinding) Kind() string { return "finding confirmed" }

func (ConfirmFinding) What(func(sensors.ChannelID) string) phrase.Sentence {
	return phrase.Say("the finding was confirmed")
}

func (a ConfirmFinding) Texts() []Text { return []Text{{phrase.Say("reason"), a.Why}} }

func (DismissFinding) Kind() string { return "finding dismissed" }

func (DismissFinding) What(func(sensors.ChannelID) string) phrase.Sentence {
	return phrase.Say("the finding was dismissed")
}

func (a DismissFinding) Texts() []Text { return []Text{{phrase.Say("reason"), a.Why}} }

// decision is what both have in common.
type decision interface {
	Act
	about() (id, why string)
	confirms() (yes, still bool)
}

func (a ConfirmFinding) about() (string, string) { return a.Finding.ID, a.Why }
func (a DismissFinding) about() (string, string) { return a.Finding.ID, a.Why }
func (a ConfirmFinding) confirms() (bool, bool)  { return true, a.Still }
func (DismissFinding) confirms() (bool, bool)    { return false, false }

func (ConfirmFinding) channel() sensors.ChannelID { return "" }
func (DismissFinding) channel() sensors.ChannelID { return "" }
func (ConfirmFinding) check(Life, Stamp) error    { return nil }
func (DismissFinding) check(Life, Stamp) error    { return nil }
func (ConfirmFinding) apply(l Life, _ Stamp) Life { return l }
func (DismissFinding) apply(l Life, _ Stamp) Life { return l }

func (b Book) checkDecision(d decision) error {
	id, why := d.about()
	o, known := b.Offer(id)
	switch {
	case !known:
		return phrase.Errorf("that finding is not there any more: reload the page")
	case !o.Open() && !o.Still:
		return phrase.Errorf("%s has judged that finding already: reload the page", o.By)
	case strings.TrimSpace(why) == "":
		return phrase.Errorf("the reason is missing: write what you saw or did")
	}
	return nil
}

// decide notes what a person said of a finding.
func (b Book) decide(act Act, s Stamp) Book {
	d, ok := act.(decision)
	if !ok {
		return b
	}
	id, why := d.about()
	at := slices.IndexFunc(b.found, func(o Offer) bool { return o.ID == id })
	if at < 0 || !b.found[at].Open() && !b.found[at].Still {
		return b
	}
	b.found = slices.Clone(b.found)
	o := &b.found[at]
	o.Confirmed, o.Still = d.confirms()
	o.Decided, o.By, o.Why, o.Record = s.At.UTC(), s.Person, why, s.Record
	return b.weighed()
}

// Offered is the book with one more finding. One of a name that is known changes nothing.
func (b Book) Offered(f Finding) Book {
	if _, known := b.Offer(f.ID); known {
		return b
	}
	b.found = append(slices.Clip(b.found), Offer{Finding: f})
	return b.weighed()
}

// Offer gives a finding by its name.
func (b Book) Offer(id string) (Offer, bool) {
	at := slices.IndexFunc(b.found, func(o Offer) bool { return o.ID == id })
	if at < 0 {
		return Offer{}, false
	}
	return b.found[at], true
}

// Findings gives every finding, the newest first.
func (b Book) Findings() []Offer {
	list := slices.Clone(b.found)
	slices.Reverse(list)
	return list
}

// Waiting gives the findings that nobody has judged yet, the newest first.
func (b Book) Waiting() []Offer {
	return slices.DeleteFunc(b.Findings(), func(o Offer) bool { return !o.Open() })
}

// Filled gives a decision the finding that it is about, for the record.
func (b Book) Filled(act Act) Act {
	switch a := act.(type) {
	case ConfirmFinding:
		if o, known := b.Offer(a.Finding.ID); known {
			a.Finding = o.Finding
		}
		return a
	case DismissFinding:
		if o, known := b.Offer(a.Finding.ID); known {
			a.Finding = o.Finding
		}
		return a
	}
	return act
}

// quietFor is for how long the same is not offered again, judged or not.
const quietFor = 12 * time.Hour

// fresh leaves out what is offered already. Whatever moved a channel at once is one
// thing, however it is called.
func (b Book) fresh(found []Finding) []Finding {
	var list []Finding
	for _, f := range found {
		known := func(o Finding) bool {
			alike := o.What == f.What || lifeless(o.What) && lifeless(f.What) ||
				(sudden(o.What) || lifeless(o.What)) && sudden(f.What) && f.What != Exchanged && near(o.From, f.From, time.Hour)
			return alike && near(o.From, f.From, quietFor) && slices.ContainsFunc(o.Channels,
				func(id sensors.ChannelID) bool { return slices.Contains(f.Channels, id) })
		}
		again := func(o Offer) bool { return o.Confirmed && !o.Still && f.From.After(o.Decided) } // after it was put right
		if !slices.ContainsFunc(b.found, func(o Offer) bool { return known(o.Finding) && !again(o) }) && !slices.ContainsFunc(list, known) {
			list = append(list, f.named())
		}
	}
	return list
}

func lifeless(k FindingKind) bool { return k == FlatLine || k == LostNoise || k == EndStop }

func sudden(k FindingKind) bool { return k == Jump || k == OutOfBath || k == Exchanged }

func near(a, b time.Time, within time.Duration) bool {
	d := a.Sub(b)
	return d < within && d > -within
}
