package truth

import (
	"iter"
	"maps"
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Stamp is what the record book says of an act beside its content.
type Stamp struct {
	// Record is the number of the act's record, zero before it has one.
	Record uint64
	Person string
	// At is when it was recorded, UTC.
	At time.Time
}

// Book is what is known of the probes of a room. A value of it is never changed once
// made; [Book.With] gives the next one. The zero Book knows no channel.
type Book struct {
	order []sensors.ChannelID
	lives map[sensors.ChannelID]*Life
	found []Offer
	// doubts are worked out from found and lives by [Book.weighed].
	doubts map[sensors.ChannelID][]Doubt
}

// Life is what is known of one channel: its devices one after another, their checks,
// the corrections, and what hand thermometers said.
type Life struct {
	Channel  sensors.Channel
	Fittings []Fitting // oldest first
	Checks   []Check   // in the order of their records
	Hands    []Hand    // in the order of their records
	// Corrections are in the order in which they come into force; of two from the same
	// moment the one recorded later holds.
	Corrections []Correction
	// now is the channel as readings take it; nil while that is what the configuration says.
	now *sensors.Channel
}

// Open is a book in which nothing is recorded yet. The corrections of the
// configuration are the first ones.
func Open(channels []sensors.Channel) Book {
	b := Book{lives: make(map[sensors.ChannelID]*Life, len(channels))}
	for _, c := range channels {
		l := &Life{Channel: c}
		for _, k := range c.Corrections {
			l.Corrections = append(l.Corrections, Correction{Correction: k})
		}
		b.order = append(b.order, c.ID)
		b.lives[c.ID] = l
	}
	return b
}

// Lives gives the channels in the order of the configuration.
func (b Book) Lives() iter.Seq[Life] {
	return func(yield func(Life) bool) {
		for _, id := range b.order {
			if !yield(*b.lives[id]) {
				return
			}
		}
	}
}

// Life gives one channel; false for one that the book does not know.
func (b Book) Life(id sensors.ChannelID) (Life, bool) {
	if l, known := b.lives[id]; known {
		return *l, true
	}
	return Life{}, false
}

// Changed is a channel as readings take it, nil while that is what the configuration says; out
// says whether its device was taken out.
func (b Book) Changed(id sensors.ChannelID) (now *sensors.Channel, out bool) {
	if l, known := b.lives[id]; known {
		return l.now, l.Out()
	}
	return nil, false
}

// Knows says whether a channel is one of the book's.
func (b Book) Knows(id sensors.ChannelID) bool {
	_, known := b.lives[id]
	return known
}

// With is the book after an act that is on record. An act on a channel that has left
// the configuration changes nothing.
func (b Book) With(act Act, s Stamp) Book {
	l, known := b.lives[act.channel()]
	if !known {
		return b.decide(act, s)
	}
	b.lives = maps.Clone(b.lives)
	if f, ok := act.(FitProbe); ok {
		b.takeFromElsewhere(f, s)
		l = b.lives[f.Channel]
	}
	next := act.apply(*l, s)
	b.lives[act.channel()] = &next
	if _, ok := act.(FitProbe); ok {
		return b.weighed()
	}
	return b
}

// takeFromElsewhere ends the fitting of a device that is now fitted in another place.
// The lives were cloned by the caller.
func (b Book) takeFromElsewhere(f FitProbe, s Stamp) {
	for id, l := range b.lives {
		if now, fitted := l.Fitted(); fitted && id != f.Channel && strings.EqualFold(now.Probe, f.Probe) {
			ended := l.ended(orRecorded(f.From, s), phrase.Say("fitted at %s", f.Channel))
			b.lives[id] = &ended
		}
	}
}

// True is the channel with the corrections of the book in the place of its own.
func (l Life) True() sensors.Channel {
	if l.now != nil {
		return *l.now
	}
	return l.Channel
}

// Placed doubts a reading of a device that was taken out: it is none of its place.
func (b Book) Placed(r sensors.Reading) sensors.Reading {
	if r.Grade == sensors.Good && b.Out(r.Channel) {
		r.Grade, r.Reason = sensors.Suspect, sensors.OutOfService
	}
	return r
}

// Reread gives a reading its value by the correction in force. What is not good keeps no value.
func (b Book) Reread(r sensors.Reading) sensors.Reading {
	if l, known := b.lives[r.Channel]; known && r.Grade == sensors.Good && l.now != nil {
		r.Value = l.now.Correct(l.Channel.Unit.ToBase(r.Raw), r.At.Wall)
	}
	return r
}
