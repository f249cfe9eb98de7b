// Package audit gathers what an audit pack tells of a time, from the history and
// the record book alone: what was in force then counts, not what is in force today.
package audit

import (
	"context"
	"errors"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/coverage"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/truth"
	"wetside/sensors/quantity/phrase"
)

// Question is what a pack is asked for.
type Question struct {
	// From and To bound the time: From is in it, To is not.
	From, To time.Time
	Zone     *time.Location
	// Now is when it is asked; what comes later is not required.
	Now     time.Time
	Version string
	// Live are the sessions under way as their rooms know them; without one, what was recorded
	// last counts, and is told as of then.
	Live Running
	// Inspected is the last check of the whole record book, if there was one: of the records before
	// the time it need not be made again, and the report says when it was.
	Inspected history.Inspection
	// Fallback are the settings for a book that holds none; nil when there are none.
	Fallback *past.Site
}

// longestTime is the longest time that a pack is made of.
const longestTime = 100 * 366 * 24 * time.Hour

// Check says what is wrong with the time of a question, in one sentence.
func (q Question) Check() error {
	switch {
	case !q.From.Before(q.To):
		return phrase.Errorf("the period from %s to %s has no length: swap the two", q.From.Format(time.DateOnly), q.To.Format(time.DateOnly))
	case q.To.Sub(q.From) > longestTime:
		return phrase.Errorf("the period from %s to %s is longer than a hundred years: choose a shorter one", q.From.Format(time.DateOnly),
			q.To.Add(-1).Format(time.DateOnly))
	}
	return nil
}

// Gather reads everything that a pack tells.
func Gather(ctx context.Context, book *history.Reader, q Question) (report.Data, error) {
	return NewChronicle(book).Gather(ctx, q)
}

// Gather reads everything that a pack tells, but for what is known already.
func (c *Chronicle) Gather(ctx context.Context, q Question) (report.Data, error) {
	if err := q.Check(); err != nil {
		return report.Data{}, err
	}
	data, err := c.gather(ctx, q, false)
	if errors.Is(err, errOtherBook) {
		c.forget()
		return c.gather(ctx, q, true)
	}
	return data, err
}

// gather reads a pack, anew without what was kept of the book.
func (c *Chronicle) gather(ctx context.Context, q Question, anew bool) (report.Data, error) {
	g := &gathering{ctx: ctx, book: c.book, chronicle: c, Question: q, anew: anew}
	g.data = report.Data{From: q.From.UTC(), To: q.To.UTC(), Zone: q.Zone, Made: q.Now.UTC(), Version: q.Version}
	for _, step := range []func() error{g.walk, g.begin, g.fold, g.settings, g.probes, g.ahead, g.sessions, g.airStates, g.coverage,
		g.statements, g.duties} {
		if err := step(); err != nil {
			return report.Data{}, phrase.Errorf("gathering the report: %w", err)
		}
	}
	g.unmeasured()
	return g.data, nil
}

type gathering struct {
	Question
	ctx       context.Context
	book      *history.Reader
	chronicle *Chronicle
	anew      bool // nothing that was kept of the book counts
	data      report.Data
	known     past.Timeline // the settings over time
	flats     [][]field     // their versions, value by value
	evenings  []evening
	noClock   int       // records whose clock nobody had confirmed
	sounders  int       // tests of the sounder and drills
	latest    time.Time // when the newest record of the time was written
	begun     time.Time // when the first record of all was written
	// ofTheProbes are the records of the probes, dutiesDone what was done of the duties before To.
	ofTheProbes []record.Record
	dutiesDone  []duty.Done
	// unchecked are the channels whose probes nobody ever checked.
	unchecked []string
	// samples is what the book says of the samples.
	samples samplesTold
	// probesBelieved says in which times a channel was suspected.
	probesBelieved truth.Book
}

// begin finds when the book begins: of what came before nothing is known.
func (g *gathering) begin() error {
	for r, err := range g.book.EachRecord(g.ctx, history.Query{UpTo: 1}) {
		if err != nil {
			return err
		}
		g.begun = r.At
	}
	return nil
}

// fold takes what the book tells of sessions, alarms and settings.
func (g *gathering) fold() error {
	c := g.chronicle
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.readOn(g.ctx); err != nil {
		return err
	}
	over := coverage.Span{From: g.From, To: g.To}
	g.known = c.fold.Settings
	for _, e := range c.fold.Evenings(over, g.Now) {
		if g.inside(e.Last.Begun) {
			g.evenings = append(g.evenings, evening{e.Live(g.Live[e.Room]), len(g.evenings) + 1})
		}
	}
	for _, a := range c.fold.Alarms(over, g.To) {
		g.data.Alarms = append(g.data.Alarms, alarmOf(a))
	}
	for _, a := range c.fold.Asides(over, g.To) {
		g.data.Aside = append(g.data.Aside, asideOf(a))
	}
	return nil
}

func (g *gathering) sessions() error {
	for i := range g.evenings {
		e := &g.evenings[i]
		e.Settled, e.Known = g.known.At(e.Last.Begun), g.Now
		g.data.Sessions = append(g.data.Sessions, sessionOf(e.Evening, e.number))
	}
	return nil
}

// inside says whether a moment lies in the time asked for.
func (g *gathering) inside(t time.Time) bool { return !t.Before(g.From) && t.Before(g.To) }

func (g *gathering) zone() *time.Location {
	if g.Zone == nil {
		return time.UTC
	}
	return g.Zone
}
