package truth

import (
	"iter"
	"slices"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// SuspectFrom is the confidence from which a finding takes a channel out of use: no
// figure rests on it until a person has confirmed or dismissed the finding. It is a
// choice of this program.
const SuspectFrom = 0.90

// doubts says whether a finding of this kind means that the readings are no
// measurement of their place. A drift is a known difference: a check puts it right.
func (k FindingKind) doubts() bool { return k != Drift && k != "" }

// Doubt is a time in which the readings of a channel are no measurement; To is zero
// while it lasts.
type Doubt struct {
	From, To time.Time
	Finding  Finding
}

func (d Doubt) holds(at time.Time) bool {
	return !at.Before(d.From) && (d.To.IsZero() || at.Before(d.To))
}

// Touches says whether some part of a time lies in the doubt.
func (d Doubt) Touches(from, to time.Time) bool {
	return to.After(d.From) && (d.To.IsZero() || from.Before(d.To))
}

// Why is the doubt in few words.
func (d Doubt) Why() phrase.Sentence {
	return phrase.Say("%s, %d %% likely", d.Finding.What, d.Finding.Percent())
}

// Suspected says whether nothing may rest on a channel now, and why.
func (b Book) Suspected(id sensors.ChannelID) (Doubt, bool) {
	for _, d := range b.doubts[id] {
		if d.To.IsZero() {
			return d, true
		}
	}
	return Doubt{}, false
}

// Doubts gives the times in which a channel was suspected, in the order of their
// findings: none for a finding that a person dismissed.
func (b Book) Doubts(id sensors.ChannelID) []Doubt { return slices.Clone(b.doubts[id]) }

// Unbelieved takes a good reading of a suspected channel out of use; its raw value stays.
func (b Book) Unbelieved(r sensors.Reading) sensors.Reading {
	if _, suspected := b.Suspected(r.Channel); suspected && r.Grade == sensors.Good {
		r.Grade, r.Reason = sensors.Suspect, sensors.LooksWrong
	}
	return r
}

// weighed is the book with its doubts worked out anew, after a finding or a decision.
func (b Book) weighed() Book {
	b.doubts = map[sensors.ChannelID][]Doubt{}
	for _, o := range b.found {
		if !o.Doubts || !o.Open() && !o.Confirmed {
			continue
		}
		for _, id := range o.Channels {
			b.doubts[id] = append(b.doubts[id], Doubt{o.From, b.overAt(o, id), o.Finding})
		}
	}
	return b
}

// overAt is when the doubt of a finding was over on a channel: when the readings showed
// it, when another device was fitted, or when a person confirmed the finding and had put
// the probe right. Zero while it lasts.
func (b Book) overAt(o Offer, id sensors.ChannelID) time.Time {
	ends := []time.Time{o.To}
	if o.Confirmed && !o.Still {
		ends = append(ends, o.Decided)
	}
	life, _ := b.Life(id)
	for _, f := range life.Fittings {
		if f.Probe != "" && f.From.After(o.From) {
			ends = append(ends, f.From)
		}
	}
	ends = slices.DeleteFunc(ends, time.Time.IsZero)
	if len(ends) == 0 {
		return time.Time{}
	}
	return slices.MinFunc(ends, time.Time.Compare)
}

// Stretch is a time in which the readings of a channel were all of one grade and reason.
type Stretch struct {
	From, To time.Time
	Grade    sensors.Grade
	Reason   sensors.Reason
}

// Trust says which kept readings of a channel count as a measurement, by what is known of the
// probe now.
type Trust struct{ doubts []Doubt }

func (b Book) Trust(id sensors.ChannelID) Trust { return Trust{b.doubts[id]} }

// Always says that the probe was never suspected: a reading counts if it was good as it came.
func (t Trust) Always() bool { return len(t.doubts) == 0 }

// Believed parts a stretch of kept readings by what is known of the probe now: what was
// good is doubted from when a fault began, also where the fault was found later; what
// was doubted as it came is good again where a person has dismissed the finding.
func (t Trust) Believed(s Stretch) iter.Seq[Stretch] {
	return func(yield func(Stretch) bool) {
		if s.Grade != sensors.Good && s.Reason != sensors.LooksWrong {
			yield(s)
			return
		}
		for from := s.From; ; {
			piece := t.pieceFrom(s, from)
			if !yield(piece) || !piece.To.Before(s.To) {
				return
			}
			from = piece.To
		}
	}
}

// Counts says whether a kept reading counts as a measurement; see [Trust.Believed].
func (t Trust) Counts(at time.Time, grade sensors.Grade, reason sensors.Reason) bool {
	if grade != sensors.Good && reason != sensors.LooksWrong {
		return false
	}
	return !slices.ContainsFunc(t.doubts, func(d Doubt) bool { return d.holds(at) })
}

// pieceFrom is the part of a stretch from a moment on that is believed, or doubted, as a whole.
func (t Trust) pieceFrom(s Stretch, from time.Time) Stretch {
	piece := Stretch{From: from, To: s.To, Grade: sensors.Good}
	for _, d := range t.doubts {
		if d.holds(from) {
			piece.Grade, piece.Reason = sensors.Suspect, sensors.LooksWrong
		}
		for _, edge := range []time.Time{d.From, d.To} {
			if edge.After(from) && edge.Before(piece.To) {
				piece.To = edge
			}
		}
	}
	return piece
}
