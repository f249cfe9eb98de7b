package daemon

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/sensors"
)

// watching is every goroutine of the present configuration: a watch a line and a
// loop a room. Lines end before the loops that they deliver to.
type watching struct {
	lines, loops     sync.WaitGroup
	endLines, endAll context.CancelFunc
}

func (w *watching) start(ctx context.Context, s *site, o Options) {
	loops, endAll := context.WithCancel(ctx)
	lines, endLines := context.WithCancel(loops)
	w.endLines, w.endAll = endLines, endAll
	for _, r := range s.everyRoom() {
		w.loops.Go(func() { r.run(loops) })
		for _, l := range r.config.Lines {
			w.lines.Go(func() { watchLine(lines, r, l, o) })
		}
	}
}

// stop ends the lines, all at once, then the loops, and waits for them.
func (w *watching) stop() {
	w.endLines()
	w.lines.Wait()
	w.endAll()
	w.loops.Wait()
}

// retire tells whoever waits for one of these rooms that it will turn no more.
func retire(rooms []*room) {
	for _, r := range rooms {
		close(r.retired)
	}
}

func watchLine(ctx context.Context, r *room, l config.Line, o Options) {
	watch, err := newWatch(r, l, o)
	if err != nil {
		o.Log.Error("a line can't be watched", zap.String("line", string(l.ID)), zap.Error(err))
		return
	}
	if err := watch.Run(ctx); err != nil && ctx.Err() == nil {
		o.Log.Error("a line is no longer watched", zap.String("line", string(l.ID)), zap.Error(err))
	}
}

func newWatch(r *room, l config.Line, o Options) (*sensors.Watch, error) {
	decoder, err := l.Decoder()
	if err != nil {
		return nil, fmt.Errorf("line %s: %w", l.ID, err)
	}
	return sensors.NewWatch(sensors.WatchOptions{
		ID: l.ID, Settings: l.Settings, Dialect: string(l.Dialect), Opener: l.Opener(o.Opener), Decoder: decoder,
		Channels: l.Channels, Clock: o.Clock, Silence: l.Silence,
		Deliver: func(ctx context.Context, u sensors.Update) error {
			u.Readings = r.spares.copyOf(u.Readings)
			select {
			case r.updates <- u:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		},
	})
}

// spares are slices in which readings go from a line to the loop of a room, used
// again and again, so that a frame in its usual course takes no new memory.
type spares chan []sensors.Reading

// copyOf gives a copy of readings; whoever is done with it gives it back.
func (s spares) copyOf(readings []sensors.Reading) []sensors.Reading {
	if len(readings) == 0 {
		return nil
	}
	select {
	case spare := <-s:
		return append(spare[:0], readings...)
	default:
		return slices.Clone(readings)
	}
}

func (s spares) back(spare []sensors.Reading) {
	if cap(spare) == 0 {
		return
	}
	select {
	case s <- spare:
	default: // there are enough
	}
}
