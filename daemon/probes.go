package daemon

import (
	"slices"
	"time"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
)

// find puts on the board what the readings give away, and gives the records of it.
func (r *room) find(now sensors.Instant) []rules.Event {
	if r.board.FlatAfter == nil || now.Mono-r.flatAt >= time.Minute {
		r.board.FlatAfter, r.flatAt = r.watch.FlatAfters(), now.Mono
	}
	var events []rules.Event
	for _, f := range r.watch.Find(r.board.Probes, now) {
		r.board.Probes = r.board.Probes.Offered(f)
		events = append(events, rules.FoundEvent(f))
	}
	return events
}

// noteBaths tells whoever watches the probes of each bath whose content has changed by
// an entry, so that what follows from it is not taken for a fault.
func (r *room) noteBaths(s *rules.Snapshot, now sensors.Instant) {
	if r.poured == nil {
		r.poured = make(map[string]uint64, len(s.Baths))
	}
	for i := range s.Baths {
		b := &s.Baths[i]
		var record uint64
		if b.Portion != nil {
			record = b.Portion.Record
		}
		if record != r.poured[b.Bath.ID] && b.Bath.Channel != "" {
			r.watch.Done(b.Bath.Channel, now)
		}
		_, known := r.board.Shelf.LastFill[b.Bath.ID] // of a tray that nobody enters the book can't say that it is empty
		r.watch.Empty(b.Bath.Channel, known && b.Portion == nil)
		r.poured[b.Bath.ID] = record
	}
}

// recordedCorrections are those that people put in force on a channel.
func (s *site) recordedCorrections(channel string) []sensors.Correction {
	for _, r := range s.everyRoom() {
		if l, known := r.shown.Load().Probes.Life(sensors.ChannelID(channel)); known {
			return l.Recorded()
		}
	}
	return nil
}

// datesWithin are the dates inside a time at which another correction comes into force.
func datesWithin(c sensors.Channel, from, to time.Time) []time.Time {
	var dates []time.Time
	for _, k := range c.Corrections {
		if k.From.After(from) && k.From.Before(to) {
			dates = append(dates, k.From)
		}
	}
	return slices.Compact(dates)
}

// clockView is what the record book says of the clock at this moment.
func (r *room) clockView() rules.ClockView {
	says := r.store.ClockSays()
	confirmed := says == history.ClockConfirmed
	r.stepped = r.stepped && !confirmed
	return rules.ClockView{Confirmed: confirmed, Behind: says == history.ClockBehind, Stepped: r.stepped}
}
