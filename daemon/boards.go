package daemon

import (
	"context"
	"maps"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors/quantity/phrase"
)

// boards brings boards of the past back from the record book. It keeps one every so many
// records, so that a moment is reached from the nearest one before it. Its methods may be
// called from any goroutine.
type boards struct {
	store *history.Store

	mu    sync.Mutex
	rooms map[string]keptBoards
}

// keptBoards are the boards of a room, in the order of their records, by the configuration
// with which they were begun.
type keptBoards struct {
	of   *room
	list []keptBoard
}

// keptBoard is a board as the records up to a number had brought it, none of them later
// than a moment. Nothing in it is ever changed.
type keptBoard struct {
	number uint64
	latest time.Time
	board  rules.Board
}

// keepEvery is how many records lie between two boards that are kept: reading so many on
// takes some milliseconds.
const keepEvery = 500

func newBoards(store *history.Store) *boards {
	return &boards{store: store, rooms: map[string]keptBoards{}}
}

// at is the board of a room as its records had brought it to a moment.
func (b *boards) at(ctx context.Context, r *room, at time.Time) (rules.Board, error) {
	from := b.nearest(r, at)
	var fresh []keptBoard
	since := 0
	q := history.Query{Room: r.config.ID, Kinds: rules.RecalledKinds(), AfterNumber: from.number, To: at}
	for rec, err := range b.store.EachTold(ctx, q) {
		if err != nil {
			return rules.Board{}, phrase.Errorf("the record book can't be read: %w", err)
		}
		from = keptBoard{rec.Number, laterOf(from.latest, rec.At), rules.Recall(from.board, rec)}
		if since++; since%keepEvery == 0 {
			fresh = append(fresh, from)
		}
	}
	b.keep(r, fresh)
	board := from.board
	board.Readings, board.LastGood = maps.Clone(board.Readings), maps.Clone(board.LastGood)
	return board, nil
}

// nearest is the last board that is kept of which every record was written before a moment.
func (b *boards) nearest(r *room, at time.Time) keptBoard {
	b.mu.Lock()
	defer b.mu.Unlock()
	if kept := b.rooms[r.config.ID]; kept.of == r {
		for i := len(kept.list) - 1; i >= 0; i-- {
			if kept.list[i].latest.Before(at) {
				return kept.list[i]
			}
		}
	}
	first := rules.NewBoard()
	first.Probes = truth.Open(r.config.Channels)
	return keptBoard{board: first}
}

// keep takes boards that lie beyond those that are kept.
func (b *boards) keep(r *room, fresh []keptBoard) {
	b.mu.Lock()
	defer b.mu.Unlock()
	kept := b.rooms[r.config.ID]
	if kept.of != r {
		kept = keptBoards{of: r}
	}
	for _, f := range fresh {
		if n := len(kept.list); n == 0 || f.number > kept.list[n-1].number {
			kept.list = append(kept.list, f)
		}
	}
	b.rooms[r.config.ID] = kept
}

func laterOf(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
