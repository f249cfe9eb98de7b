package daemon

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/timers"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/pace"
	"wetside/sensors/quantity/phrase"
)

// mostRest is how long a reading waits at most to be judged together with others: rooms of many
// channels are judged for a twentieth of the time, as long as that is so.
const mostRest = 20 * time.Millisecond

// room is the loop of one room: the one goroutine that owns its board. Readings,
// ticks and commands come in by one select; each turn records first, then shows.
type room struct {
	config   config.Room
	clock    sensors.Clock
	store    *history.Store
	recalls  *recalls
	log      *zap.Logger
	shelf    *shelf
	changed  func() // tells the pages of a newer snapshot
	updates  chan sensors.Update
	spares   spares
	commands chan command
	// doing lets one person's act through at a time, from its check to its record.
	doing chan struct{}
	// retired is closed once no loop of this room will turn again, so that nobody waits for one.
	retired chan struct{}

	shown       atomic.Pointer[rules.Snapshot]
	timersShown atomic.Pointer[timers.View]
	turns       turnStats
	patience    time.Duration // how long a turn waits for the disk

	pace    pace.Pace // of judging what comes in
	keeper  keeper
	watch   *truth.Watch      // of the loop's goroutine alone
	board   rules.Board       // likewise
	timers  timers.Set        // likewise
	book    *chemistry        // from which the board knows what is in the trays
	bookAt  time.Time         // the minute at which the board knows that
	poured  map[string]uint64 // what stood in each bath at the last turn, by its record
	flatAt  time.Duration     // when it was last worked out how long values may stand still
	stepped bool              // the wall clock was set and nobody has confirmed it since
	before  sensors.Instant
}

func newRoom(c config.Room, o Options, recalls *recalls) *room {
	store := recalls.store
	return &room{
		config: c, clock: o.Clock, store: store, recalls: recalls,
		log:     o.Log.With(zap.String("room", c.ID)),
		updates: make(chan sensors.Update, gather), spares: make(spares, gather), commands: make(chan command), doing: make(chan struct{}, 1),
		retired: make(chan struct{}),
		keeper:  keeper{store: store, room: c.ID}, board: rules.NewBoard(), patience: patience,
		pace: pace.Pace{Rest: 19, Most: mostRest},
	}
}

// prepare brings back what stood in the trays and shows a first snapshot.
func (r *room) prepare(ctx context.Context) error {
	if err := r.store.RegisterChannels(ctx, r.config.ID, r.config.Channels); err != nil {
		return err
	}
	r.board.Probes, r.watch = truth.Open(r.config.Channels), truth.NewWatch(r.config.Channels)
	if err := r.recall(ctx); err != nil {
		return err
	}
	r.board.History = rules.HistoryView{Kept: true}
	r.before = r.clock.Now()
	r.turns.last.Store(int64(r.before.Mono))
	r.showFirst()
	return nil
}

func showFirst(rooms []*room) {
	for _, r := range rooms {
		r.showFirst()
	}
}

// showFirst shows what is known before the loop turns for the first time.
func (r *room) showFirst() {
	r.readShelf(r.before)
	snapshot, _, _ := rules.Evaluate(r.config.Room, r.board, r.before)
	r.shown.Store(snapshot)
}

func (r *room) run(ctx context.Context) {
	ticks := r.nextTick()
	var waiting <-chan time.Time // set while readings wait to be judged together
	for {
		var reply func()
		due := false
		select {
		case <-ctx.Done():
			r.keepRest(ctx)
			return
		case u := <-r.updates:
			r.receive(u)
			r.receiveWaiting()
			if left := time.Until(r.pace.Next()); left > 0 {
				if waiting == nil {
					waiting = time.After(left)
				}
				continue
			}
		case <-waiting:
		case c := <-r.commands:
			reply = r.obey(c)
		case <-ticks:
			ticks, due = r.nextTick(), true
		}
		waiting = nil
		r.turn(ctx, due)
		if reply != nil {
			reply()
		}
	}
}

// nextTick comes at whole seconds, so that all rooms of a site are written in one commit.
func (r *room) nextTick() <-chan time.Time { return r.clock.After(tick - r.clock.Now().Mono%tick) }

// keepRest writes at the end what still waited, for more or for the disk.
func (r *room) keepRest(ctx context.Context) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), slowFor)
	defer cancel()
	unwritable := r.keeper.note(r.board.Memory.LeftToCount(r.config.ID))
	if err := r.keeper.keep(ctx, r.clock.Now()); errors.Join(unwritable, err) != nil {
		r.log.Error("history is not being kept", zap.Error(errors.Join(unwritable, err)))
	}
}

func (r *room) receive(u sensors.Update) {
	r.board.Lines[u.Status.ID] = u.Status
	for _, reading := range u.Readings {
		reading = r.board.Probes.Reread(r.board.Probes.Placed(reading))
		r.watch.Take(reading) // also while the channel is suspected, so that its end is seen
		reading = r.board.Probes.Unbelieved(reading)
		r.board.Take(reading)
		r.keeper.add(reading)
	}
	r.spares.back(u.Readings)
}

// receiveWaiting takes what else has come in meanwhile, so that a burst is one turn.
func (r *room) receiveWaiting() {
	for range gather {
		select {
		case u := <-r.updates:
			r.receive(u)
		default:
			return
		}
	}
}

// turn judges the room by what came in, records what changed, and only then shows it.
// Samples that are due are recorded in any case.
func (r *room) turn(ctx context.Context, due bool) {
	now := r.clock.Now()
	r.watchClock(ctx, now)
	r.board.Clock = r.clockView()
	r.readShelf(now)
	found := r.find(now)
	began := time.Now()
	snapshot, memory, events := rules.Evaluate(r.config.Room, r.board, now)
	r.pace.Done(began, time.Now())
	r.board.Memory = memory
	r.noteBaths(snapshot, now)
	events = append(events, found...)
	unwritable := r.keeper.note(events)
	asked, failed := r.keep(ctx, now, due)
	if asked || unwritable != nil {
		r.judgeHistory(errors.Join(unwritable, failed), now)
	}
	if due {
		r.lookAtHistory(asked, now)
	}
	snapshot.History = r.board.History
	r.tell(events)
	r.advanceTimers(snapshot, now)
	r.shown.Store(snapshot)
	r.turns.end(now.Mono, r.clock.Now().Mono)
	r.changed()
}

// keep waits for the disk as long as a turn may. Most turns have nothing to write and need no timer.
func (r *room) keep(ctx context.Context, now sensors.Instant, due bool) (asked bool, err error) {
	if !r.keeper.mustKeep(due) {
		return false, nil
	}
	ctx, cancel := context.WithTimeout(ctx, r.patience)
	defer cancel()
	return true, r.keeper.keep(ctx, now)
}

// readShelf takes over what the book of the shelf says of the trays: when a newer one is shown,
// and every minute of the wall clock, by which the book counts ages.
func (r *room) readShelf(now sensors.Instant) {
	b, minute := r.shelf.shown.Load(), now.Wall.Truncate(time.Minute)
	if b != nil && (b != r.book || minute != r.bookAt) {
		r.book, r.bookAt, r.board.Shelf = b, minute, b.inRoom(r.config.ID, now.Wall)
		r.timers = r.timers.Expect(b.paperTonight(r.config.ID, now.Wall))
	}
	if b != nil {
		s, known := b.ledger.Session(r.board.Memory.Session.ID)
		r.board.Shelf.SignedOff = !known || !s.Closed.IsZero()
	}
}

// judgeHistory notes on the board whether history is kept, and tells the log when that changes.
func (r *room) judgeHistory(failed error, now sensors.Instant) {
	was, broken := r.board.History.Kept, r.board.History.Broken
	r.board.History = r.keeper.judge(failed, now)
	r.board.History.Broken = broken
	switch is := r.board.History.Kept; {
	case was && !is:
		r.log.Error("history is not being kept", zap.Error(failed))
	case is && !was:
		r.log.Info("history is being kept again")
	}
}

// lookAtHistory asks how the history does, also while the room has nothing to write: a
// file that was removed is said at once, and so is a book that does not hold.
func (r *room) lookAtHistory(judged bool, now sensors.Instant) {
	problem, broken := r.store.Trouble()
	switch kept := r.board.History.Kept; {
	case judged:
	case kept && problem != "":
		r.judgeHistory(errors.New(problem), now)
	case !kept && problem == "" && !r.keeper.late:
		r.judgeHistory(nil, now)
	}
	if broken != "" && r.board.History.Broken.IsZero() {
		r.log.Error("the record book fails verification", zap.String("why", broken))
	}
	r.board.History.Broken = phrase.Plain(broken)
}

// watchClock makes a step of the wall clock a record of its own.
func (r *room) watchClock(ctx context.Context, now sensors.Instant) {
	step := now.Wall.Sub(r.before.Wall) - now.Since(r.before)
	if step > 2*time.Second || step < -2*time.Second {
		r.log.Warn("the wall clock was stepped", zap.Duration("by", step))
		r.stepped = true
		if step > 0 {
			r.timers = r.timers.Doubt(step)
		}
		ctx, cancel := context.WithTimeout(ctx, r.patience)
		defer cancel()
		_, _ = r.store.NoteClock(ctx, r.before.Wall.Add(now.Since(r.before)), now.Wall)
	}
	r.before = now
}

// tell writes each change to the log once; what repeats is counted in the metrics.
func (r *room) tell(events []rules.Event) {
	for _, e := range events {
		r.log.Info(e.Kind, zap.String("subject", e.Subject), zap.String("from", e.From), zap.String("to", e.To), zap.String("cause", e.Cause))
	}
}

// turnStats says how the loop of a room is doing. Written by the loop, read by anyone.
type turnStats struct {
	last  atomic.Int64 // monotonic time of the last turn
	count atomic.Uint64
	spent atomic.Int64 // time spent in turns, all together
}

func (t *turnStats) end(from, to time.Duration) {
	t.last.Store(int64(to))
	t.count.Add(1)
	t.spent.Add(int64(to - from))
}
