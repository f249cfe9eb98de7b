package daemon

import (
	"cmp"
	"context"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/rules"
)

// ledgerEvery is how many entries lie between two ledgers that the shelf keeps, so that a
// moment is reached from the nearest one before it: taking so many costs some milliseconds. A
// kept ledger shares its lists with that of the shelf and costs some megabytes in ten years.
const ledgerEvery = 8000

// replay takes entries into the ledger, and keeps a copy of it after every so many.
func (b *chemistry) replay(fresh []ledger.Entry, log *zap.Logger) {
	for len(fresh) > 0 {
		part := fresh[:min(len(fresh), ledgerEvery-b.since)]
		b.fold(part, log)
		fresh = fresh[len(part):]
		if b.since += len(part); b.since == ledgerEvery {
			b.kept, b.since = append(b.kept, b.ledger.Copy()), 0
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

// asOf is the book as it stood at a moment, with what had been entered by then; what was
// known of the emergence of an image it leaves out.
func (b *chemistry) asOf(at time.Time, log *zap.Logger) *chemistry {
	then := &chemistry{settings: b.settings, zone: b.zone, trays: b.trays, ledger: ledger.New(b.settings)}
	n := slices.IndexFunc(b.records, func(r cards.ShelfRecord) bool { return r.Entered.After(at) })
	if n < 0 {
		n = len(b.records)
	}
	then.records, n = b.records[:n:n], 0
	for _, k := range slices.Backward(b.kept) {
		if at, found := slices.BinarySearchFunc(then.records, k.Version(), byNumber); found {
			then.ledger, n = k.Copy(), at+1
			break
		}
	}
	then.fold(entriesOf(then.records[n:]), log)
	return then
}

// inRoomAt is what the book said of the trays of a room at a moment.
func (s *shelf) inRoomAt(ctx context.Context, room string, at time.Time) rules.Trays {
	<-s.ready
	then := s.shown.Load().asOf(at, s.log)
	then.emergence = s.emergences(ctx, then)
	return then.inRoom(room, at)
}

func byNumber(r cards.ShelfRecord, number uint64) int { return cmp.Compare(r.Number, number) }
