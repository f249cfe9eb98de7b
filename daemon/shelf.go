package daemon

import (
	"context"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	shelfpage "wetside/dashboard/shelf"
	"wetside/rules/access"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// shelf is the loop of the book of chemistry of a site: one goroutine owns the book. An entry
// is one step of the loop, from its check to its record to its effect. Pages and rooms read
// the book that was shown last, which nobody changes any more.
type shelf struct {
	clock sensors.Clock
	store *history.Store
	log   *zap.Logger
	site  *site

	steps chan func(*bookkeeper)
	ready chan struct{} // closed once the book is read
	ended chan struct{} // closed once the loop carries out no further step
	loop  sync.WaitGroup
	stop  context.CancelFunc
	shown atomic.Pointer[chemistry]
}

var _ shelfpage.Shelf = (*shelf)(nil)

func newShelf(o Options, store *history.Store, s *site) *shelf {
	return &shelf{clock: o.Clock, store: store, log: o.Log.Named("shelf"), site: s, stop: func() {},
		steps: make(chan func(*bookkeeper)), ready: make(chan struct{}), ended: make(chan struct{})}
}

// firstPatience is how long a start waits for the book of the shelf. A book of many
// years is read on beside it; its pages wait until then.
const firstPatience = 50 * time.Millisecond

// start starts the loop, which reads the whole book first. It turns until end.
func (s *shelf) start(ctx context.Context, c config.Config) error {
	ctx, s.stop = context.WithCancel(context.WithoutCancel(ctx))
	k := &bookkeeper{shelf: s, chemistry: newChemistry(c)}
	s.loop.Go(func() { k.run(ctx) })
	select {
	case <-s.ready:
		return s.shown.Load().unread
	case <-time.After(firstPatience):
		s.log.Info("the book of the shelf is long: the rest is read while the program runs")
		return nil
	}
}

// end ends the loop after the step that it carries out, or while it still reads.
func (s *shelf) end() {
	s.stop()
	s.loop.Wait()
}

var errShelfEnded = phrase.Errorf("the program ends: nothing was recorded; enter it again once the program runs")

// ask runs a step in the loop. A step that the loop has begun is always carried out.
func (s *shelf) ask(ctx context.Context, step func(*bookkeeper) error) error {
	reply := make(chan error, 1)
	select {
	case s.steps <- func(k *bookkeeper) { reply <- step(k) }:
		return <-reply
	case <-s.ended:
		return errShelfEnded
	case <-ctx.Done():
	}
	select {
	case <-s.ready:
		return phrase.Errorf("another entry is still being written: try again")
	default:
		return phrase.Errorf("the book of the shelf is still being read: try again in a moment")
	}
}

// reconfigure has the book read by the settings of another configuration.
func (s *shelf) reconfigure(ctx context.Context, c config.Config) error {
	return s.ask(ctx, func(k *bookkeeper) error {
		k.configure(c, s.log)
		k.show()
		return nil
	})
}

// Names are the people who wrote into the book last; none while the book is being read.
func (s *shelf) Names() []string {
	shown := s.shown.Load()
	if shown == nil {
		return nil
	}
	return cards.LastNames(shown.records)
}

// Book is the book as it stands.
func (s *shelf) Book() *cards.ShelfBook {
	<-s.ready
	return s.shown.Load().page(s.clock.Now().Wall)
}

// Shelf is the book of chemistry of the site; see [shelf.Shelf].
func (d *Daemon) Shelf() shelfpage.Shelf { return d.site.shelf }

// ShelfEntry is what somebody wants to have written into the book of the shelf.
type ShelfEntry = cards.ShelfEntry

// Enter hands an entry to the shelf; see [shelf.Shelf].
func (d *Daemon) Enter(ctx context.Context, e ShelfEntry) (cards.ShelfReceipt, error) {
	return d.site.shelf.Enter(ctx, e)
}

// Enter takes an entry, and has the room set up where the entry opens a session.
func (s *shelf) Enter(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error) {
	receipt, err := s.enter(ctx, e)
	if err == nil {
		s.startInRoom(context.WithoutCancel(ctx), e)
	}
	return receipt, err
}

// enter has an entry recorded, and returns once every room shows what came of it.
func (s *shelf) enter(ctx context.Context, e cards.ShelfEntry) (receipt cards.ShelfReceipt, err error) {
	e.Person = strings.TrimSpace(e.Person)
	if e.Person == "" {
		return receipt, phrase.Errorf("your name is missing: fill it in")
	}
	if e.Act != nil {
		if err := access.Allow(ctx, ledger.LeastFor(e.Act)); err != nil {
			return receipt, err
		}
	}
	patient, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	before := s.shown.Load()
	err = s.ask(patient, func(k *bookkeeper) (err error) {
		receipt, err = k.enter(patient, e)
		return err
	})
	if s.shown.Load() != before {
		s.site.settle(context.WithoutCancel(ctx))
	}
	return receipt, err
}
