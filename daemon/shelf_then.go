package daemon

import (
	"context"
	"slices"
	"sync"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/sensors"
)

// stoppedClock shows one moment for ever.
type stoppedClock struct {
	sensors.Clock
	at time.Time
}

// Now is the moment at which the clock was stopped.
func (c stoppedClock) Now() sensors.Instant { return sensors.Instant{Wall: c.at} }

// pastLedgers keep the ledger of the shelf as it was after every so many entries, so that a
// moment is reached from the nearest one before it.
type pastLedgers struct {
	mu   sync.Mutex
	of   *ledger.Ledger // of the shelf: another one after the configuration was read again
	list []*ledger.Ledger
}

// ledgerEvery is how many entries lie between two ledgers that are kept: taking so many
// costs some milliseconds, and a ledger of ten years some megabytes.
const ledgerEvery = 8000

// before gives the ledger after the first entries of a book, and how many entries it holds.
func (p *pastLedgers) before(book *shelf, entries int) (*ledger.Ledger, int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.of != book.ledger {
		p.of, p.list = book.ledger, nil
	}
	for n := len(p.list); (n+1)*ledgerEvery <= entries; n++ {
		next := &shelf{log: book.log, ledger: ledger.New(book.settings)}
		if n > 0 {
			next.ledger = p.list[n-1].Copy()
		}
		next.replay(entriesOf(book.records[n*ledgerEvery : (n+1)*ledgerEvery]))
		p.list = append(p.list, next.ledger)
	}
	n := entries / ledgerEvery
	if n == 0 {
		return ledger.New(book.settings), 0
	}
	return p.list[n-1].Copy(), n * ledgerEvery
}

func entriesOf(records []cards.ShelfRecord) []ledger.Entry {
	entries := make([]ledger.Entry, len(records))
	for i, r := range records {
		entries[i] = r.Entry
	}
	return entries
}

// asOf is the book of the shelf as it stood at a moment, with what had been entered by then.
func (s *shelf) asOf(ctx context.Context, at time.Time) *shelf {
	then := &shelf{clock: stoppedClock{s.clock, at}, store: s.store, log: s.log, site: s.site}
	s.Look(func(*cards.ShelfBook) {
		then.settings, then.zone, then.trays, then.ledger = s.settings, s.zone, s.trays, s.ledger
		n := slices.IndexFunc(s.records, func(r cards.ShelfRecord) bool { return r.Entered.After(at) })
		if n < 0 {
			n = len(s.records)
		}
		then.records = s.records[:n:n]
	})
	from, held := s.past.before(then, len(then.records))
	then.ledger = from
	then.replay(entriesOf(then.records[held:]))
	then.emergence = then.emergences(ctx)
	return then
}
