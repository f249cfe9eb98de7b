package daemon

import (
	"context"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/class"
	"wetside/rules"
	"wetside/rules/timers"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

var _ class.Timers = (*site)(nil)

// Timers are the development timers of a room as they stood at its last turn; none
// for a room that is not there.
func (s *site) Timers(id string) timers.View {
	r, err := s.room(id)
	if err != nil {
		return timers.View{}
	}
	if v := r.timersShown.Load(); v != nil {
		return *v
	}
	return timers.View{}
}

// PressTimer carries out a press in the room's loop. Timers are no records of the
// book: they end with the daemon.
func (s *site) PressTimer(ctx context.Context, id string, p timers.Press) error {
	r, err := s.room(id)
	if err != nil {
		return err
	}
	return r.ask(ctx, func(r *room) error {
		snapshot, now := r.shown.Load(), r.clock.Now()
		var in chem.Inputs
		if p.Act == timers.Start {
			b, err := bathOf(snapshot, p.Bath)
			if err != nil {
				return err
			}
			if in, err = b.Developing(); err != nil {
				in.Refusal = phrase.Say("%v", err)
			}
		}
		after, err := r.timers.Press(p, timers.Known{Inputs: in, Line: snapshot.BehindDeveloper}, now.Mono)
		r.timers = after
		return err
	})
}

func bathOf(s *rules.Snapshot, id string) (rules.BathView, error) {
	for _, b := range s.Baths {
		if b.Bath.ID == id && b.Bath.Role == rules.Developer {
			return b, nil
		}
	}
	return rules.BathView{}, phrase.Errorf("there is no developer %q in this room: reload the page", id)
}

// advanceTimers takes the development timers along to the present turn, each with
// the temperature of its bath if that is known.
func (r *room) advanceTimers(s *rules.Snapshot, now sensors.Instant) {
	r.timers = r.timers.Advance(now.Mono, func(bath string) chem.BathTemperature {
		if b, err := bathOf(s, bath); err == nil {
			if c, known := b.Temperature(); known {
				return chem.Measured(c, b.Bath.Accuracy)
			}
		}
		return chem.BathTemperature{}
	}).Follow(now.Mono, s.BehindDeveloper)
	v := r.timers.View(now.Mono)
	r.timersShown.Store(&v)
}

// paperTonight is the paper of the work that is booked in a room about now, and which work that
// is; none where nothing is booked, or work on different papers.
func (b *chemistry) paperTonight(room string, now time.Time) (work string, paper chem.Paper) {
	papers := map[ledger.Material]chem.Paper{ledger.ResinCoated: chem.ResinCoated, ledger.FibreBased: chem.FibreDoubleWeight}
	for _, w := range (cards.BookCards{Book: b.page(now)}).TonightsWork(room) {
		if paper != 0 && papers[w.Material] != paper {
			return "", 0
		}
		work, paper = w.Booking, papers[w.Material]
	}
	return work, paper
}

// carryTimers lets the timers of a room run on when its configuration was read
// again. The loops of both must stand still.
func carryTimers(from, to []*room) {
	for _, old := range from {
		for _, r := range to {
			if r.config.ID == old.config.ID {
				r.timers = old.timers
			}
		}
	}
}
