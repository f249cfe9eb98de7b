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
	// others are the few channels of which something else holds than the configuration says, and
	// due is when the first check is due, zero where none is: both are asked for at each turn.
	others map[sensors.ChannelID]other
	due    time.Time
}

type other struct {
	now *sensors.Channel
	out bool
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
	c := b.others[id]
	return c.now, c.out
}

// Overdue gives the channels whose check was due before a moment, and by when.
func (b Book) Overdue(now time.Time) iter.Seq2[Life, time.Time] {
	return func(yield func(Life, time.Time) bool) {
		if b.due.IsZero() || now.Before(b.due) {
			return
		}
		for l := range b.Lives() {
			if due, overdue, ok := l.Due(now); ok && overdue && !yield(l, due) {
				return
			}
		}
	}
}

// noted is the book with what is asked for at each turn worked out anew, after an act.
func (b Book) noted() Book {
	b.others, b.due = map[sensors.ChannelID]other{}, time.Time{}
	for id, l := range b.lives {
		if l.now != nil || l.Out() {
			b.others[id] = other{l.now, l.Out()}
		}
		if due, _, ok := l.Due(time.Time{}); ok && (b.due.IsZero() || due.Before(b.due)) {
			b.due = due
		}
	}
	return b
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
	b = b.noted()
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
	if now, _ := b.Changed(r.Channel); now != nil && r.Grade == sensors.Good {
		r.Value = now.Correct(b.lives[r.Channel].Channel.Unit.ToBase(r.Raw), r.At.Wall)
	}
	return r
}
