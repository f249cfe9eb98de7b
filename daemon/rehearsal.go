package daemon

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"wetside/rules"
	"wetside/sensors"
)

// Rehearsal is a site whose past is played before anybody looks at it, for a
// demonstration: readings and acts go through the same loops, book and keeper as those of
// a real evening, at the times of a clock that only moves when it is told to.
type Rehearsal struct {
	daemon  *Daemon
	clock   *playedClock
	sources map[string]source // by the probe's address on its line
	kept    sensors.Instant   // when samples were written last
	heard   map[sensors.LineID]sensors.Instant
}

// source is a probe of the room that is played.
type source struct {
	line sensors.LineID
	gate *sensors.Gate
}

// playedClock is a clock that stands still between two moves. Nothing waits for it.
type playedClock struct {
	now atomic.Pointer[sensors.Instant]
}

func newPlayedClock(from time.Time) *playedClock {
	c := &playedClock{}
	c.now.Store(&sensors.Instant{Wall: from})
	return c
}

// Now is the moment to which the clock was moved.
func (c *playedClock) Now() sensors.Instant { return *c.now.Load() }

func (c *playedClock) pass(d time.Duration) {
	now := c.Now()
	c.now.Store(&sensors.Instant{Wall: now.Wall.Add(d), Mono: now.Mono + d})
}

// After never delivers: nobody looks at the site while its past is played.
func (*playedClock) After(time.Duration) <-chan time.Time { return nil }

// writeEvery is how long readings of a rehearsal wait to be written together.
const writeEvery = 10 * time.Minute

// Rehearse plays a past of the site from a time on. What went wrong in play ends it.
func Rehearse(ctx context.Context, o Options, from time.Time, play func(context.Context, *Rehearsal) error) (err error) {
	if len(o.Config.Rooms) != 1 {
		return errors.New("the past of one room can be played")
	}
	r := &Rehearsal{clock: newPlayedClock(from)}
	o.Clock = r.clock
	r.daemon = &Daemon{options: o}
	defer func() { err = errors.Join(err, r.daemon.closeOpened()) }()
	if err := r.daemon.openSite(ctx); err != nil {
		return err
	}
	if err := play(ctx, r); err != nil {
		return err
	}
	r.endEvening(ctx)
	r.daemon.store.Settle(ctx)
	return nil
}

// BeginEvening starts the program anew at a later time, as on a computer that is
// switched on for each evening.
func (r *Rehearsal) BeginEvening(ctx context.Context, at time.Time) error {
	r.endEvening(ctx)
	r.clock.pass(at.Sub(r.Now()))
	r.kept, r.sources, r.heard = r.clock.Now(), map[string]source{}, map[sensors.LineID]sensors.Instant{}
	d := r.daemon
	rooms, err := d.build(ctx, d.options.Config)
	if err != nil {
		return err
	}
	for _, room := range rooms {
		room.patience = time.Minute // nobody waits, and every record is to have its time
	}
	d.site.swap(d.options.Config, rooms)
	for _, room := range d.options.Config.Rooms {
		for _, l := range room.Lines {
			for address, c := range l.Channels {
				r.sources[address] = source{l.ID, sensors.NewGate(c)}
			}
		}
	}
	return nil
}

func (r *Rehearsal) endEvening(ctx context.Context) {
	for _, room := range r.daemon.site.everyRoom() {
		room.keepRest(ctx)
	}
}

// Now is the moment that is played.
func (r *Rehearsal) Now() time.Time { return r.clock.Now().Wall }

// Hear lets some time pass, at the end of which every probe that is plugged in says its
// value, by its address on its line. A line of which nothing is heard counts as silent.
func (r *Rehearsal) Hear(ctx context.Context, passed time.Duration, says map[string]float64) {
	r.clock.pass(passed)
	now := r.clock.Now()
	updates := map[sensors.LineID]*sensors.Update{}
	for address, s := range r.sources {
		value, heard := says[address]
		if !heard {
			continue
		}
		u := updates[s.line]
		if u == nil {
			u = &sensors.Update{Status: sensors.LineStatus{ID: s.line, State: sensors.StateLive, LastGood: now, EverGood: true}}
			updates[s.line] = u
		}
		u.Readings = append(u.Readings, s.gate.Judge(sensors.Measurement{Address: address, Value: value}, now))
	}
	due := now.Since(r.kept) >= writeEvery
	for _, room := range r.daemon.site.everyRoom() {
		for _, l := range room.config.Lines {
			last, heard := r.heard[l.ID]
			if u := updates[l.ID]; u != nil {
				room.receive(*u)
				r.heard[l.ID] = now
			} else if heard && now.Since(last) > l.Silence {
				room.receive(sensors.Update{Status: sensors.LineStatus{ID: l.ID, State: sensors.StateSilent, LastGood: last, EverGood: true}})
			}
		}
		room.turn(ctx, due)
	}
	if due {
		r.kept = now
	}
}

// Do hands a person's act to its room.
func (r *Rehearsal) Do(ctx context.Context, c rules.Command) error {
	return r.answering(ctx, func() error {
		_, err := r.daemon.site.Do(ctx, c)
		return err
	})
}

// Enter hands an entry to the shelf.
func (r *Rehearsal) Enter(ctx context.Context, e ShelfEntry) error {
	return r.answering(ctx, func() error {
		_, err := r.daemon.Enter(ctx, e)
		return err
	})
}

// Site is the site as it is at the moment that is played, for its duties and its board.
func (r *Rehearsal) Site() *Daemon { return r.daemon }

// answering lets the rooms answer what an act asks of them, in place of their loops.
func (r *Rehearsal) answering(ctx context.Context, act func() error) error {
	done := make(chan error, 1)
	go func() { done <- act() }()
	room := r.daemon.site.everyRoom()[0]
	for {
		select {
		case c := <-room.commands:
			reply := room.obey(c)
			room.turn(ctx, false)
			reply()
		case err := <-done:
			return err
		}
	}
}
