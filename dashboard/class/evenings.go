package class

import (
	"context"
	"encoding/json"
	"maps"
	"sync"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

const (
	// readEvery is how old the past of a board may grow before the history is asked again; the present is always new.
	readEvery = 30 * time.Second
	// firstWait is how long a page waits for the past of its room; without one it is drawn with the present alone.
	firstWait = 150 * time.Millisecond
	// historyWithin bounds one reading of the history.
	historyWithin = 3 * time.Second
	// An evening on the board begins when the first tray was filled, within these limits.
	shortestEvening, longestEvening = 45 * time.Minute, 5 * time.Hour
	// evenSteps is in how many steps the past of a tray is drawn.
	evenSteps = 120
)

// soFar is the evening of a room up to a moment, as the history has it.
type soFar struct {
	at        sensors.Instant
	from      time.Time
	tracks    map[sensors.ChannelID]web.Series
	announced []announced
	air       []airSpan
	drawn     sync.Map // the track of each channel as it was drawn last
}

// announced is a developing time that people at a tray were told.
type announced struct {
	bath string
	at   time.Time
	time time.Duration
}

// airSpan is a state of the air from a moment until the next one.
type airSpan struct {
	from  time.Time
	state ventilation.State
}

// Evenings reads the past of the rooms that somebody looks at. One goroutine, in Run,
// asks the history; the pages only look at what was read last.
type Evenings struct {
	past   web.Readings
	clock  sensors.Clock
	log    *zap.Logger
	wanted chan readRoom
	known  atomic.Pointer[map[string]*soFar]
}

type readRoom struct {
	snap *rules.Snapshot
	done chan struct{} // closed once read; nil where nobody waits
}

// NewEvenings reads for the pages that a kit serves; [Evenings.Run] must run beside them.
func NewEvenings(k *web.Kit, past web.Readings) *Evenings {
	e := &Evenings{past: past, clock: k.Clock, log: k.Log, wanted: make(chan readRoom, 16)}
	e.known.Store(&map[string]*soFar{})
	return e
}

// of gives the evening of a room as read last, nil before the first time, and has it read anew when it is old.
func (e *Evenings) of(snap *rules.Snapshot) *soFar {
	have, old := e.read(snap.Room)
	if old {
		select {
		case e.wanted <- readRoom{snap: snap}:
		default: // it is asked for already
		}
	}
	return have
}

// await has the evening of a room read where that is not new, and waits a moment for it.
func (e *Evenings) await(ctx context.Context, snap *rules.Snapshot) {
	if _, old := e.read(snap.Room); !old {
		return
	}
	ctx, stop := context.WithTimeout(ctx, firstWait)
	defer stop()
	done := make(chan struct{})
	select {
	case e.wanted <- readRoom{snap, done}:
	case <-ctx.Done():
		return
	}
	select {
	case <-done:
	case <-ctx.Done():
	}
}

// Run asks the history for whatever is wanted, until ctx ends.
func (e *Evenings) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case w := <-e.wanted:
			if _, old := e.read(w.snap.Room); old {
				after := maps.Clone(*e.known.Load())
				after[w.snap.Room] = e.ask(ctx, w.snap)
				e.known.Store(&after)
			}
			if w.done != nil {
				close(w.done)
			}
		}
	}
}

// read is the evening of a room as read last; old says that it is none, or one that is to be read anew.
func (e *Evenings) read(room string) (have *soFar, old bool) {
	have = (*e.known.Load())[room]
	return have, have == nil || e.clock.Now().Since(have.at) >= readEvery
}

// ask asks the history; what it can't give is left out of the picture.
func (e *Evenings) ask(ctx context.Context, snap *rules.Snapshot) *soFar {
	ctx, stop := context.WithTimeout(ctx, historyWithin)
	defer stop()
	now := e.clock.Now()
	p := &soFar{at: now, from: evenFrom(snap, now.Wall), tracks: map[sensors.ChannelID]web.Series{}}
	for _, b := range snap.Baths {
		if b.Bath.Channel == "" {
			continue
		}
		track, err := e.past.Series(ctx, web.SeriesQuery{Channel: b.Bath.Channel, From: p.from, To: now.Wall, Points: evenSteps})
		if err != nil {
			e.log.Warn("earlier readings of a tray are missing on the board", zap.String("room", snap.Room), zap.String("bath", b.Bath.ID),
				zap.Error(err))
			continue
		}
		p.tracks[b.Bath.Channel] = track
	}
	records, err := e.past.Records(ctx, web.RecordsQuery{Room: snap.Room, Kinds: []string{rules.AnnounceTime{}.Kind(), rules.AirState},
		From: p.from})
	if err != nil {
		e.log.Warn("the evening's records are missing on the board", zap.String("room", snap.Room), zap.Error(err))
	}
	p.note(records)
	return p
}

// note takes the announcements and the states of the air from their records.
func (p *soFar) note(records []record.Record) {
	for _, r := range records {
		switch r.Kind {
		case rules.AirState:
			var e rules.Event
			if json.Unmarshal(r.Content, &e) != nil {
				continue
			}
			if len(p.air) == 0 {
				p.air = append(p.air, airSpan{p.from, ventilation.State(e.From)})
			}
			p.air = append(p.air, airSpan{r.At, ventilation.State(e.To)})
		default:
			var a rules.AnnounceTime
			if json.Unmarshal(r.Content, &a) == nil {
				p.announced = append(p.announced, announced{a.Bath, r.At, time.Duration(a.Seconds * float64(time.Second))})
			}
		}
	}
}

// evenFrom is the moment at which the picture of an evening begins.
func evenFrom(snap *rules.Snapshot, now time.Time) time.Time {
	from := now.Add(-shortestEvening)
	for _, b := range snap.Baths {
		if b.Portion != nil && b.Portion.Filled.Before(from) && b.Portion.Filled.After(now.Add(-longestEvening)) {
			from = b.Portion.Filled
		}
	}
	return from.Truncate(5 * time.Minute)
}
