package people

import (
	"context"
	"encoding/json"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/history"
	"wetside/rules/access"
)

// tellWithin is how long the record book may take before somebody who signs in is
// let in all the same; what could not be told is told later.
const tellWithin = 2 * time.Second

// mostUntold bounds what waits for a record book that takes nothing.
const mostUntold = 1000

// later keeps an act for the record book.
func (r *Roster) later(kind string, who access.Person, c content) {
	n := note{Kind: kind, At: r.options.Clock.Now().Wall, By: who.Name, ByRole: who.Role, Content: c}
	if kind == KindSignInFailed {
		for i := range r.untold {
			if u := &r.untold[i]; u.Kind == kind && u.By == n.By && u.Content.From == c.From {
				u.Content.Tries++
				return
			}
		}
	}
	if len(r.untold) < mostUntold {
		r.untold = append(r.untold, n)
	}
}

// tell writes to the record book what it does not have yet. Failed tries are told
// together, so that somebody who guesses can't fill the disk with records.
func (r *Roster) tell(ctx context.Context) {
	r.telling.Lock()
	defer r.telling.Unlock()
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), tellWithin)
	defer cancel()
	r.mu.Lock()
	kept, passing := r.register.Untold, r.ripe()
	r.mu.Unlock()
	for i, n := range passing {
		if !r.record(ctx, n) {
			r.mu.Lock()
			r.untold = append(passing[i:], r.untold...)
			r.mu.Unlock()
			return
		}
	}
	told := 0
	for told < len(kept) && r.record(ctx, kept[told]) {
		told++
	}
	if told > 0 {
		r.forgetTold(told)
	}
}

// gatherFor is how long failed tries are gathered into one record.
const gatherFor = time.Minute

// ripe takes out the acts that are to be told now.
func (r *Roster) ripe() []note {
	now := r.options.Clock.Now().Wall
	var ripe, rest []note
	for _, n := range r.untold {
		if n.Kind == KindSignInFailed && now.Sub(n.At).Abs() < gatherFor {
			rest = append(rest, n)
			continue
		}
		ripe = append(ripe, n)
	}
	r.untold = rest
	return ripe
}

// forgetTold takes the first acts out of the file: they are in the book.
func (r *Roster) forgetTold(n int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	fresh, err := change(r.options.Dir, func(r *register) error {
		r.Untold = r.Untold[min(n, len(r.Untold)):]
		return nil
	})
	if err != nil {
		r.options.Log.Warn("a change of accounts will be recorded twice", zap.Error(err))
		return
	}
	r.register, r.read = fresh, markOf(r.options.Dir)
}

func (r *Roster) record(ctx context.Context, n note) bool {
	text, err := json.Marshal(n.Content)
	if err == nil {
		_, err = r.options.Book.Record(ctx, history.Entry{Kind: n.Kind, Person: n.By, Role: string(n.ByRole), Content: text})
	}
	if err != nil && !r.behind {
		r.options.Log.Warn("sign-ins and changes of accounts are not recorded yet", zap.String("kind", n.Kind), zap.Error(err))
	}
	r.behind = err != nil
	return err == nil
}
