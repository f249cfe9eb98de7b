package web

import (
	"context"
	"sync"
	"time"

	"wetside/dashboard/locale"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/sensors"
)

// View is what every page knows of the rooms.
type View interface {
	// Now is the newest state of the site. It never waits, and what it gives is never changed.
	Now() *Site
	// Changes tells of each newer state until ctx ends; a slow receiver misses
	// states in between but never the last one.
	Changes(ctx context.Context) <-chan struct{}
	// Do hands an act to the room it is meant for and returns once it is recorded
	// for good. The error is one sentence for the person who pressed the button.
	Do(ctx context.Context, c rules.Command) (rules.Receipt, error)
}

// Listeners tells any number of receivers that something is new. It never waits:
// a receiver that is busy finds one word waiting, which stands for all it missed.
type Listeners struct {
	mu   sync.Mutex
	list map[chan struct{}]struct{}
}

// Add listens until ctx ends. The channel is never closed: its receiver has the same ctx.
func (l *Listeners) Add(ctx context.Context) <-chan struct{} {
	c := make(chan struct{}, 1)
	l.mu.Lock()
	if l.list == nil {
		l.list = map[chan struct{}]struct{}{}
	}
	l.list[c] = struct{}{}
	l.mu.Unlock()
	context.AfterFunc(ctx, func() {
		l.mu.Lock()
		delete(l.list, c)
		l.mu.Unlock()
	})
	return c
}

// Tell says that something is new.
func (l *Listeners) Tell() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for c := range l.list {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

// Readings are what was measured and recorded in a room.
type Readings interface {
	// Series gives a channel's history, raw where there are few samples and as an
	// envelope of minimum, mean and maximum where there are many.
	Series(ctx context.Context, q SeriesQuery) (Series, error)
	// Records gives what the record book holds of a room, oldest first.
	Records(ctx context.Context, q RecordsQuery) ([]record.Record, error)
}

// Site is the newest state of every room.
type Site struct {
	At        time.Time // UTC, when the newest of the snapshots was made
	Simulated bool
	Version   string
	// Address is where the pages are found from other computers, such as https://darkroom.example.org; empty where nobody said it.
	Address string
	Started time.Time // UTC
	Zone    *time.Location
	Units   Units
	Rooms   []*rules.Snapshot // in the order of the configuration
}

// Units are the units in which people want to read, from the configuration.
type Units = locale.Units

// SeriesQuery asks for a channel's history over [From, To) in about Points steps.
type SeriesQuery struct {
	Channel  sensors.ChannelID
	From, To time.Time
	Points   int
}

// RecordsQuery asks for the records of some kinds of a room, from a moment on.
type RecordsQuery struct {
	Room  string
	Kinds []string
	From  time.Time // zero: all of them
}

// Series is a channel's history, in the channel's inside unit, corrected by the record in force then.
type Series struct {
	Points []SeriesPoint
	Gaps   []SeriesGap
}

// SeriesPoint is one sample, or the envelope of Count samples from At on.
type SeriesPoint struct {
	At             time.Time
	Min, Mean, Max float64
	Count          int
	// Suspect is set when no good sample lies in the step.
	Suspect bool
	// Imported is set when some of the samples came from a file and not from the probe:
	// they are shown as such, and nothing is worked out from them.
	Imported bool
}

// SeriesGap is a time without samples, and why. To is zero while it lasts.
type SeriesGap struct {
	From, To time.Time
	Cause    string
}
