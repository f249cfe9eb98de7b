package audit

import (
	"context"
	"encoding/json"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/sensors/quantity/phrase"
)

// DutiesDone reads from the book when each duty was done.
func DutiesDone(ctx context.Context, book *history.Reader) ([]duty.Done, error) {
	var list []duty.Done
	for r, err := range book.EachRecord(ctx, history.Query{Kinds: []string{duty.Kind}}) {
		if err != nil {
			return nil, err
		}
		list = doneBy(list, r)
	}
	return list, nil
}

// Duties says how the duties of the settings in force stand at a moment.
func (c *Chronicle) Duties(ctx context.Context, now time.Time) ([]duty.Standing, error) {
	inForce, err := c.Settings(ctx, now, now)
	if err != nil || len(inForce) == 0 {
		return nil, err
	}
	done, err := DutiesDone(ctx, c.book)
	return duty.Stand(inForce[len(inForce)-1].Duties, done, now), err
}

// doneBy adds when a duty was done by a record of it; one that makes no sense adds nothing.
func doneBy(list []duty.Done, r history.Record) []duty.Done {
	var n duty.Note
	if json.Unmarshal(r.Content, &n) != nil {
		return list
	}
	d := duty.Done{Duty: n.Duty, At: r.At, By: r.Person, Evidence: n.Evidence, Record: r.Number}
	if !r.Happened.IsZero() {
		d.At = r.Happened
	}
	return append(list, d)
}

// duties says how the duties of the place stood at the end of the time, or stand now
// when that is still to come.
func (g *gathering) duties() error {
	end := g.To.Add(-time.Millisecond)
	if g.Now.Before(end) {
		end = g.Now
	}
	last := g.known.At(end)
	if last == nil || !g.begun.Before(g.To) { // what was due before the book began is not known
		return nil
	}
	for _, s := range duty.Stand(last.Duties, g.dutiesDone, end.In(g.zone())) {
		out := report.Duty{Name: s.Name, Owner: s.Owner, Room: s.Room, Every: s.Every.Said(), Why: s.Why, Due: s.Due, Overdue: s.Overdue}
		if s.Last != nil {
			out.Last = s.Last.At
		}
		for _, d := range g.dutiesDone {
			if d.Duty == s.ID && g.inside(d.At) {
				out.Done = append(out.Done, report.DutyDone{At: d.At, Person: d.By, Evidence: d.Evidence, Record: d.Record})
			}
		}
		g.data.Duties = append(g.data.Duties, out)
	}
	for _, r := range last.Rooms {
		if err := g.nextTraverse(r, end); err != nil {
			return err
		}
	}
	return nil
}

// nextTraverse is the day by which the duct of a room is to be traversed again, as a duty.
func (g *gathering) nextTraverse(r past.Room, end time.Time) error {
	c := r.Commissioned
	if c == nil || c.Next.IsZero() {
		return nil
	}
	by, _, err := g.author(c.Record)
	out := report.Duty{Name: "Traverse of the duct: " + r.Name, Room: r.ID, Every: phrase.Say("the day set by the last traverse"),
		Last: c.Date, Due: c.Next, Overdue: end.After(c.Next.AddDate(0, 0, 1))}
	if g.inside(c.Date) {
		out.Done = []report.DutyDone{{At: c.Date, Person: by, Evidence: "certificate " + c.Certificate, Record: c.Record}}
	}
	g.data.Duties = append(g.data.Duties, out)
	return err
}
