package audit

import (
	"encoding/json"
	"slices"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/alarm"
)

// alarms follows every alarm from its rise to its end. Those that were up when the
// time began belong to it as well.
func (g *gathering) alarms() error {
	l := newLives()
	for r, err := range g.book.EachRecord(g.ctx, history.Query{Kinds: []string{rules.AlarmChange}, To: g.To}) {
		if err != nil {
			return err
		}
		var e rules.Event
		if json.Unmarshal(r.Content, &e) == nil && e.Alarm != nil {
			l.step(r, e)
		}
	}
	for _, a := range l.alarms {
		if a.Raised.Before(g.From) && !a.Cleared.IsZero() && a.Cleared.Before(g.From) {
			continue
		}
		g.data.Alarms = append(g.data.Alarms, *a)
	}
	for _, a := range l.asides {
		if a.Back.IsZero() || !a.Back.Before(g.From) {
			g.data.Aside = append(g.data.Aside, *a)
		}
	}
	slices.SortStableFunc(g.data.Alarms, func(a, b report.Alarm) int { return a.Raised.Compare(b.Raised) })
	return nil
}

// lives are the alarms being followed, by room and ID.
type lives struct {
	alarms []*report.Alarm
	asides []*report.Aside
	up     map[string]*report.Alarm
	aside  map[string]*report.Aside
}

func newLives() *lives {
	return &lives{up: map[string]*report.Alarm{}, aside: map[string]*report.Aside{}}
}

func (l *lives) step(r history.Record, e rules.Event) {
	key := r.Room + " " + e.Subject
	if back := l.aside[key]; back != nil && alarm.State(e.To) != alarm.Shelved && alarm.State(e.To) != alarm.OutOfService {
		back.Back = r.At
		delete(l.aside, key)
	}
	switch to := alarm.State(e.To); to {
	case alarm.Unacknowledged:
		l.rise(key, r, e)
	case alarm.Acknowledged:
		l.answer(key, r, e)
	case alarm.Returned, alarm.LatchedUnacknowledged:
		l.clear(key, r)
	case alarm.LatchedAcknowledged:
		l.answer(key, r, e)
		l.clear(key, r)
	case alarm.Normal, alarm.Suppressed:
		l.end(key, r, e)
	case alarm.Shelved, alarm.OutOfService:
		a := &report.Aside{Room: r.Room, ID: e.Subject, State: to.Said(), By: e.Alarm.By, Why: e.Alarm.Note, From: r.At, Record: r.Number}
		l.asides = append(l.asides, a)
		l.aside[key] = a
		l.end(key, r, e)
	}
}

// rise begins an alarm; one that comes back before anybody answered is the same.
func (l *lives) rise(key string, r history.Record, e rules.Event) {
	if a := l.up[key]; a != nil && a.Answered.IsZero() {
		return
	}
	a := &report.Alarm{Room: r.Room, ID: e.Subject, Text: e.Alarm.Text, Cause: e.Cause, Urgent: e.Alarm.Urgent, Raised: r.At, Record: r.Number}
	l.alarms = append(l.alarms, a)
	l.up[key] = a
}

func (l *lives) answer(key string, r history.Record, e rules.Event) {
	if a := l.up[key]; a != nil && a.Answered.IsZero() {
		a.Answered, a.By, a.Done = r.At, e.Alarm.By, e.Alarm.Note
	}
}

func (l *lives) clear(key string, r history.Record) {
	if a := l.up[key]; a != nil && a.Cleared.IsZero() {
		a.Cleared = r.At
	}
}

// end is the end of an alarm's life. From "returned, not yet seen" only a person's
// answer leads there; a room that was left drops what nobody had answered.
func (l *lives) end(key string, r history.Record, e rules.Event) {
	a := l.up[key]
	if a == nil {
		return
	}
	l.clear(key, r)
	switch {
	case alarm.State(e.To) == alarm.Normal && alarm.State(e.From) == alarm.Returned:
		l.answer(key, r, e)
	case alarm.State(e.To) == alarm.Suppressed && a.Answered.IsZero():
		a.Dropped = true
	}
	delete(l.up, key)
}
