package sites

import (
	"context"
	"strconv"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/audit"
	"wetside/daemon/centre"
	"wetside/daemon/history"
	"wetside/dashboard/record"
	"wetside/dashboard/report"
	pages "wetside/dashboard/sites"
	"wetside/rules/duty"
	"wetside/sensors/quantity/phrase"
)

// place is one site with what its book tells. Only Look changes what is read.
type place struct {
	of        *Overview
	reader    *history.Reader
	chronicle *audit.Chronicle

	mu   sync.Mutex // over what follows
	site centre.Site
	told pages.Site // what follows from the book
	read uint64     // up to which record
	// tried is when it was read last, or could not be.
	tried time.Time
	// weighed is when the book was verified and the coverage counted last, up to which record.
	weighed   time.Time
	weighedTo uint64
	whole     bool // all had arrived then
}

func newPlace(v *Overview, id int) *place {
	r := v.Books.Reader(id, history.Options{Clock: v.Clock, Zone: v.Zone})
	return &place{of: v, reader: r, chronicle: audit.NewChronicle(r)}
}

func (p *place) now(s centre.Site) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.site = s
}

func (p *place) known() centre.Site {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.site
}

// zone is that of the site; UTC where it never said one that is known here.
func zoneOf(s centre.Site) *time.Location {
	if zone, err := time.LoadLocation(s.Zone); err == nil && s.Zone != "Local" {
		return zone
	}
	return time.UTC
}

// heard is the moment up to which anything is known of a site.
func (p *place) heard(s centre.Site) time.Time {
	now := p.of.Clock.Now().Wall
	if s.Heard.IsZero() || s.Heard.After(now) {
		return now
	}
	return s.Heard
}

func (p *place) standing() pages.Site {
	p.mu.Lock()
	defer p.mu.Unlock()
	out, s := p.told, p.site
	out.ID, out.Name, out.Building, out.Simulated, out.Heard = s.ID, s.Name, s.Building, s.Simulated, s.Heard
	out.Reading = s.Kept.Number > 0 && p.read == 0
	out.Arriving = !s.Complete || !p.whole
	out.Late = !s.Heard.IsZero() && p.of.Clock.Now().Wall.Sub(s.Heard) > lateAfter
	out.Book.Refused, out.Book.Since = s.Refused, s.Since
	if s.Said.Number > s.Kept.Number {
		out.Book.Behind = s.Said.Number - s.Kept.Number
	}
	return out
}

// mustRead says whether records arrived that were not read, and when the book was read last.
func (p *place) mustRead(time.Time) (since time.Time, must bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.tried, p.site.Kept.Number != p.read
}

func (p *place) readOn(ctx context.Context) {
	s := p.known()
	told, err := p.retold(ctx, s, p.tell)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.told, p.tried = told, p.of.Clock.Now().Wall
	if err == nil {
		p.read = s.Kept.Number
	}
}

// mustWeigh says whether the book is to be verified and its coverage counted, and when that was
// done last.
func (p *place) mustWeigh(now time.Time) (since time.Time, must bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	s, ago := p.site, now.Sub(p.weighed)
	return p.weighed, s.Kept.Number > 0 && (p.weighed.IsZero() || ago >= weighAlways || s.Complete && !p.whole ||
		ago >= weighEvery && s.Kept.Number != p.weighedTo)
}

// weighOn verifies the book and counts the coverage, and tells anew what depends on the time.
func (p *place) weighOn(ctx context.Context) {
	s := p.known()
	told, err := p.retold(ctx, s, p.tell, p.weigh)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.told = told
	if err == nil {
		p.read = s.Kept.Number
	}
	p.weighed, p.weighedTo, p.whole = p.of.Clock.Now().Wall, s.Kept.Number, s.Complete // also where it failed: not at once again
}

// retold is what the book tells after some steps; where one fails, what was told before, with the problem.
func (p *place) retold(ctx context.Context, s centre.Site,
	steps ...func(context.Context, centre.Site, *pages.Site) error) (pages.Site, error) {
	p.mu.Lock()
	told := p.told
	p.mu.Unlock()
	told.Problem = phrase.Sentence{}
	for _, step := range steps {
		err := step(ctx, s, &told)
		if err == nil {
			continue
		}
		if ctx.Err() == nil {
			p.of.Log.Error("the book of a site can't be read", zap.String("site", s.Name), zap.Error(err))
			told.Problem = phrase.Say("The book can't be read: %s", err.Error())
		}
		return told, err
	}
	return told, nil
}

func (p *place) tell(ctx context.Context, s centre.Site, told *pages.Site) error {
	zone, heard := zoneOf(s), p.heard(s)
	sitting, err := p.chronicle.Between(ctx, "", audit.Question{From: time.Unix(0, 0), To: heard, Now: heard})
	if err != nil {
		return err
	}
	told.Last, told.Week, told.Alarms, told.Overdue, told.Air = nil, nil, nil, nil, phrase.Sentence{}
	for i, e := range sitting.Sessions {
		if told.Last == nil || e.Begun.After(told.Last.Begun) {
			told.Last = &sitting.Sessions[i]
		}
		if !e.Begun.Before(record.Monday(heard.In(zone))) {
			told.Week = append(told.Week, e)
		}
	}
	for _, a := range sitting.Alarms {
		if a.Ended.IsZero() {
			told.Alarms = append(told.Alarms, a)
		}
	}
	if told.Last != nil && told.Last.Running {
		if told.Air, err = p.chronicle.AirAt(ctx, told.Last.Room, heard); err != nil {
			return err
		}
	}
	standing, err := p.chronicle.Duties(ctx, heard.In(zone))
	for _, d := range standing {
		if d.Overdue {
			told.Overdue = append(told.Overdue, d.Name)
		}
	}
	return err
}

// sealedAfter is when the samples of a time have arrived: a quarter of an hour is sealed once it
// is over, and sent.
const sealedAfter = 30 * time.Minute

// weigh verifies the book from its first record on and counts how much was measured this week.
func (p *place) weigh(ctx context.Context, s centre.Site, told *pages.Site) error {
	heard := p.heard(s)
	d, err := p.gather(ctx, s, record.Monday(heard.In(zoneOf(s))), heard)
	if err != nil {
		return err
	}
	told.Book.Number, told.Book.Verified = numberOf(d.Book.Checkpoint), d.Made
	told.Book.Broken = ""
	if !d.Book.Holds {
		told.Book.Broken = d.Book.Problem
	}
	told.Required, told.Valid = 0, 0
	over := map[int]bool{}
	for _, e := range d.Sessions {
		over[e.Number] = !e.Running && heard.Sub(e.Ended) > sealedAfter
	}
	for _, c := range d.Coverage {
		if over[c.Session] {
			told.Required, told.Valid = told.Required+c.Required, told.Valid+c.Valid
		}
	}
	return nil
}

// gather gathers the report on a time, as far as the site was heard.
func (p *place) gather(ctx context.Context, s centre.Site, from, to time.Time) (report.Data, error) {
	heard := p.heard(s)
	d, err := p.chronicle.Gather(ctx, audit.Question{From: from, To: to, Zone: zoneOf(s), Now: heard, Version: p.of.Version})
	d.Made = p.of.Clock.Now().Wall.UTC()
	if to.After(heard.Add(-sealedAfter)) {
		d.NotMeasured = append(d.NotMeasured, phrase.Say("This site was last heard at the centre on %s. What it wrote later is not here, "+
			"nor are readings of the quarter of an hour that was not over then.", heard.In(zoneOf(s)).Format("2 Jan 2006 15:04 MST")))
	}
	return d, err
}

func (p *place) duties(ctx context.Context) ([]duty.Standing, error) {
	s := p.known()
	return p.chronicle.Duties(ctx, p.heard(s).In(zoneOf(s)))
}

func numberOf(checkpoint string) uint64 {
	text, _, _ := strings.Cut(checkpoint, ":")
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		return 0 // of a book without a record
	}
	return n
}
