package daemon

import (
	"cmp"
	"context"
	"slices"
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

// ledgerEvery is how many entries lie between two ledgers that the shelf keeps, so that a
// moment is reached from the nearest one before it: taking so many costs some milliseconds. A
// kept ledger shares its lists with that of the shelf and costs some megabytes in ten years.
const ledgerEvery = 8000

// replay takes entries into the ledger, and keeps a copy of it after every so many.
func (s *shelf) replay(fresh []ledger.Entry) {
	for len(fresh) > 0 {
		part := fresh[:min(len(fresh), ledgerEvery-s.since)]
		s.fold(part)
		fresh = fresh[len(part):]
		if s.since += len(part); s.since == ledgerEvery {
			s.kept, s.since = append(s.kept, s.ledger.Copy()), 0
		}
	}
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
	var kept []*ledger.Ledger
	s.Look(func(*cards.ShelfBook) {
		then.settings, then.zone, then.trays, kept = s.settings, s.zone, s.trays, s.kept
		n := slices.IndexFunc(s.records, func(r cards.ShelfRecord) bool { return r.Entered.After(at) })
		if n < 0 {
			n = len(s.records)
		}
		then.records = s.records[:n:n]
	})
	then.ledger = ledger.New(then.settings)
	n := 0
	for _, k := range slices.Backward(kept) {
		if at, found := slices.BinarySearchFunc(then.records, k.Version(), byNumber); found {
			then.ledger, n = k.Copy(), at+1
			break
		}
	}
	then.fold(entriesOf(then.records[n:]))
	then.emergence = then.emergences(ctx)
	return then
}

func byNumber(r cards.ShelfRecord, number uint64) int { return cmp.Compare(r.Number, number) }
