package daemon

import (
	"context"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/class"
	"wetside/rules"
	"wetside/rules/clocks"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

var _ class.Clocks = (*site)(nil)

// Clocks are the development clocks of a room as they stood at its last turn; none
// for a room that is not there.
func (s *site) Clocks(id string) clocks.View {
	r, err := s.room(id)
	if err != nil {
		return clocks.View{}
	}
	if v := r.clocksShown.Load(); v != nil {
		return *v
	}
	return clocks.View{}
}

// PressClock carries out a press in the room's loop. Clocks are no records of the
// book: they end with the daemon.
func (s *site) PressClock(ctx context.Context, id string, p clocks.Press) error {
	r, err := s.room(id)
	if err != nil {
		return err
	}
	return r.ask(ctx, func(r *room) error {
		snapshot, now := r.shown.Load(), r.clock.Now()
		var in chem.Inputs
		if p.Act == clocks.Start {
			b, err := bathOf(snapshot, p.Bath)
			if err != nil {
				return err
			}
			if in, err = b.Developing(); err != nil {
				in.Refusal = phrase.Say("%v", err)
			}
		}
		after, err := r.clocks.Press(p, clocks.Known{Inputs: in, Line: snapshot.BehindDeveloper}, now.Mono)
		r.clocks = after
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

// advanceClocks takes the development clocks along to the present turn, each with
// the temperature of its bath if that is known.
func (r *room) advanceClocks(s *rules.Snapshot, now sensors.Instant) {
	r.clocks = r.clocks.Advance(now.Mono, func(bath string) chem.BathTemperature {
		if b, err := bathOf(s, bath); err == nil {
			if c, known := b.Temperature(); known {
				return chem.Measured(c, b.Bath.Accuracy)
			}
		}
		return chem.BathTemperature{}
	}).Follow(now.Mono, s.BehindDeveloper)
	v := r.clocks.View(now.Mono)
	r.clocksShown.Store(&v)
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

// carryClocks lets the clocks of a room run on when its configuration was read
// again. The loops of both must stand still.
func carryClocks(from, to []*room) {
	for _, old := range from {
		for _, r := range to {
			if r.config.ID == old.config.ID {
				r.clocks = old.clocks
			}
		}
	}
}
