package daemon

import (
	"context"
	"time"

	"wetside/daemon/history"
	"wetside/rules/access"
)

// filedFor is how far back forms are looked for that a run before recorded: a page is
// rarely left open for longer before its button is pressed again.
const filedFor = 24 * time.Hour

// filed are the forms of the runs before that led to a record, with the number of the
// record. It never changes once read.
type filed map[access.Form]uint64

func readFiled(ctx context.Context, book *history.Store, now time.Time) (filed, error) {
	found := filed{}
	for r, err := range book.EachRecord(ctx, history.Query{From: now.Add(-filedFor)}) {
		if err != nil {
			return nil, err
		}
		if r.Form != "" {
			found[access.Form(r.Form)] = r.Number
		}
	}
	return found, nil
}

// of gives the form that was sent with a token, and the number of its record.
func (f filed) of(token string) (form access.Form, number uint64, found bool) {
	for form, number := range f {
		if form.Of(token) {
			return form, number, true
		}
	}
	return "", 0, false
}
