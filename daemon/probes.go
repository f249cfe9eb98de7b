package daemon

import (
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
)

// find puts on the board what the readings give away, and gives the records of it.
func (r *room) find(now sensors.Instant) []rules.Event {
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
	for _, b := range s.Baths {
		var record uint64
		if b.Portion != nil {
			record = b.Portion.Record
		}
		if record != r.poured[b.Bath.ID] && b.Bath.Channel != "" {
			r.watch.Done(b.Bath.Channel, now)
		}
		r.poured[b.Bath.ID] = record
	}
}

// clockView is what the record book says of the clock at this moment.
func (r *room) clockView() rules.ClockView {
	says := r.store.ClockSays()
	confirmed := says == history.ClockConfirmed
	r.stepped = r.stepped && !confirmed
	return rules.ClockView{Confirmed: confirmed, Behind: says == history.ClockBehind, Stepped: r.stepped}
}
