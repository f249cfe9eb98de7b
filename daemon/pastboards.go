package daemon

import (
	"context"
	"maps"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/truth"
	"wetside/sensors/quantity/phrase"
)

// boards brings boards of the past back from the record book. It keeps one every so many
// records, so that a moment is reached from the nearest one before it. Its methods may be
// called from any goroutine.
type boards struct {
	store *history.Store

	reading sync.Mutex // held while the book is read on
	mu      sync.Mutex
	rooms   map[string]keptBoards
}

// keptBoards are the boards of a room, in the order of their records, by the configuration
// with which they were begun; rest is the board after the last record that was read for them,
// number read.
type keptBoards struct {
	of   *room
	list []*keptBoard
	rest keptBoard
	read uint64
}

// keptBoard is a board as the records up to a number had brought it, none of them later
// than a moment; least is the earliest time of the records since the kept board before, of
// which there are so many. Nothing in it is ever changed.
type keptBoard struct {
	number        uint64
	latest, least time.Time
	since         int
	board         rules.Board
}

// keepEvery is how many records lie between two boards that are kept: reading so many on
// takes a millisecond or two.
const keepEvery = 200

func newBoards(store *history.Store) *boards {
	return &boards{store: store, rooms: map[string]keptBoards{}}
}

func (b keptBoard) include(rec record.Record) keptBoard {
	if b.least.IsZero() || rec.At.Before(b.least) {
		b.least = rec.At
	}
	if rec.At.After(b.latest) {
		b.latest = rec.At
	}
	return keptBoard{rec.Number, b.latest, b.least, b.since + 1, rules.Recall(b.board, rec)}
}

// at is the board of a room as its records had brought it to a moment.
func (b *boards) at(ctx context.Context, r *room, at time.Time) (rules.Board, error) {
	if err := b.readOn(ctx, r); err != nil {
		return rules.Board{}, err
	}
	board, spans := b.nearest(r, at)
	for _, span := range spans {
		q := history.Query{Room: r.config.ID, Kinds: rules.RecalledKinds(), AfterNumber: span.after, UpTo: span.upto, To: at}
		for rec, err := range b.store.EachTold(ctx, q) {
			if err != nil {
				return rules.Board{}, errUnread(err)
			}
			board = rules.Recall(board, rec)
		}
	}
	board.Readings, board.LastGood = maps.Clone(board.Readings), maps.Clone(board.LastGood)
	return board, nil
}

func errUnread(err error) error { return phrase.Errorf("the record book can't be read: %w", err) }

// readOn keeps the boards of the records that were written since it did so last, once these
// are so many that a board is due.
func (b *boards) readOn(ctx context.Context, r *room) error {
	b.reading.Lock()
	defer b.reading.Unlock()
	kept, last := b.of(r), b.store.Checkpoint().Number
	if last < kept.read+keepEvery {
		return nil
	}
	at := kept.rest
	for rec, err := range b.store.EachTold(ctx, history.Query{Room: r.config.ID, Kinds: rules.RecalledKinds(), AfterNumber: kept.read,
		UpTo: last}) {
		if err != nil {
			return errUnread(err)
		}
		if at = at.include(rec); at.since == keepEvery {
			due := at
			kept.list = append(kept.list[:len(kept.list):len(kept.list)], &due)
			at.since, at.least = 0, time.Time{}
		}
	}
	kept.rest, kept.read = at, last
	b.mu.Lock()
	defer b.mu.Unlock()
	b.rooms[r.config.ID] = kept
	return nil
}

// opening is a board before the first record.
func opening(r *room) rules.Board {
	board := rules.NewBoard()
	board.Probes = truth.Open(r.config.Channels)
	return board
}

// of gives what is kept of a room by its present configuration.
func (b *boards) of(r *room) keptBoards {
	b.mu.Lock()
	defer b.mu.Unlock()
	if kept := b.rooms[r.config.ID]; kept.of == r {
		return kept
	}
	return keptBoards{of: r, rest: keptBoard{board: opening(r)}}
}

// numbers are those of records after one and up to another, which is zero for the last.
type numbers struct{ after, upto uint64 }

// nearest is the last board that is kept of which every record was written before a moment,
// and where the records are that follow it: those between two kept boards that were all
// written at the moment or later are passed over.
func (b *boards) nearest(r *room, at time.Time) (rules.Board, []numbers) {
	kept := b.of(r)
	list := kept.list
	if kept.rest.since > 0 {
		list = append(list[:len(list):len(list)], &kept.rest)
	}
	end := len(list)
	for end > 0 && !list[end-1].least.Before(at) {
		end--
	}
	from := &keptBoard{board: opening(r)}
	for i := end - 1; i >= 0; i-- {
		if list[i].latest.Before(at) {
			from = list[i]
			break
		}
	}
	var spans []numbers
	if end > 0 && from.number < list[end-1].number {
		spans = append(spans, numbers{from.number, list[end-1].number})
	}
	return from.board, append(spans, numbers{kept.read, 0})
}
