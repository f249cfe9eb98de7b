// Package sites works out how many sites stand, from the books that a centre keeps of them.
// It reads what arrived and nothing else: of a site that is not heard nothing is known of now.
package sites

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/centre"
	"wetside/daemon/history"
	pages "wetside/dashboard/sites"
	"wetside/rules/access"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	// lookEvery is how often it is looked what arrived.
	lookEvery = 5 * time.Second
	// lateAfter is how long a site may be silent: it speaks once a minute at least, and waits a
	// minute at most to try again.
	lateAfter = 3 * time.Minute
	// weighEvery is how often the book of a site is verified and its coverage counted where
	// records came, and weighAlways where none did: samples come without records.
	weighEvery  = time.Minute
	weighAlways = 15 * time.Minute
)

// Books are the books of all sites.
type Books interface {
	// Sites gives every site, those of a building together.
	Sites(ctx context.Context) ([]centre.Site, error)
	// Reader reads the book and the samples of a site.
	Reader(site int, o history.Options) *history.Reader
}

// Options are what an overview needs.
type Options struct {
	Books   Books
	Clock   sensors.Clock
	Zone    *time.Location // of the centre
	Version string
	Log     *zap.Logger
}

// Overview knows how the sites stand. Its methods may be called from any goroutine; Run keeps
// it up to date.
type Overview struct {
	Options
	shown  atomic.Pointer[pages.Standing]
	making chan struct{} // one report is made at a time

	mu     sync.Mutex
	places map[int]*place
}

var _ pages.Sites = (*Overview)(nil)

// New knows no site yet.
func New(o Options) *Overview {
	v := &Overview{Options: o, making: make(chan struct{}, 1), places: map[int]*place{}}
	v.shown.Store(&pages.Standing{})
	return v
}

// Standing says how the sites stand, as it was last worked out.
func (v *Overview) Standing() pages.Standing { return *v.shown.Load() }

// Run looks what arrived until ctx ends.
func (v *Overview) Run(ctx context.Context) {
	for ctx.Err() == nil {
		v.Look(ctx)
		sensors.Pause(ctx, v.Clock, lookEvery)
	}
}

// Look works out once how the sites stand.
func (v *Overview) Look(ctx context.Context) {
	list, err := v.Books.Sites(ctx)
	if err != nil {
		if ctx.Err() != nil {
			return
		}
		v.Log.Error("the sites can't be read", zap.Error(err))
		now := *v.shown.Load()
		now.Problem = phrase.Say("The sites can't be read; what is shown is from before: %s", err.Error())
		v.shown.Store(&now)
		return
	}
	places := make([]*place, 0, len(list))
	for _, s := range list {
		places = append(places, v.place(s))
	}
	v.show(list)
	v.takeTurns(ctx, places, (*place).mustRead, (*place).readOn)
	v.show(list)
	v.takeTurns(ctx, places, (*place).mustWeigh, (*place).weighOn)
	v.show(list)
}

// takeTurns does something for each place for which it is due, beginning with the one that waits
// longest, and stops after a while: with many sites the others' turn comes at the next look.
func (v *Overview) takeTurns(ctx context.Context, places []*place, due func(*place, time.Time) (since time.Time, is bool),
	do func(*place, context.Context)) {
	type turn struct {
		of    *place
		since time.Time
	}
	var turns []turn
	begun := v.Clock.Now()
	for _, p := range places {
		if since, is := due(p, begun.Wall); is {
			turns = append(turns, turn{p, since})
		}
	}
	slices.SortStableFunc(turns, func(a, b turn) int { return a.since.Compare(b.since) })
	for _, t := range turns {
		if ctx.Err() != nil || v.Clock.Now().Since(begun) > lookEvery {
			return
		}
		do(t.of, ctx)
	}
}

func (v *Overview) show(list []centre.Site) {
	now := pages.Standing{Sites: make([]pages.Site, 0, len(list))}
	for _, s := range list {
		if s.Closed.IsZero() {
			now.Sites = append(now.Sites, v.place(s).standing())
		}
	}
	v.shown.Store(&now)
}

// place is what is known of a site; the site as the centre has it now.
func (v *Overview) place(s centre.Site) *place {
	v.mu.Lock()
	defer v.mu.Unlock()
	p := v.places[s.ID]
	if p == nil {
		p = newPlace(v, s.ID)
		v.places[s.ID] = p
	}
	p.now(s)
	return p
}

func (v *Overview) known(id int) *place {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.places[id]
}

// seen is the place of a number that whoever asks may see. What may not be seen is answered like
// what is not there.
func (v *Overview) seen(ctx context.Context, id int) *place {
	if p := v.known(id); p != nil && p.shownTo(ctx) {
		return p
	}
	return nil
}

// shownTo says whether whoever asks may see the site.
func (p *place) shownTo(ctx context.Context) bool {
	s := p.known()
	return access.SitesOf(ctx).Show(s.Name, s.Building)
}

// errActsAtTheSite refuses every act: what happens at a site is entered there.
func errActsAtTheSite() error { return phrase.Errorf("enter this at the site: the centre only reads") }
