package viewtest

import (
	"context"

	"wetside/dashboard"
)

// Then gives the same moment whatever is asked.
type Then struct {
	dashboard.Moment
	Err   error
	Asked []dashboard.ThenQuery
}

var _ dashboard.Then = (*Then)(nil)

// Then notes the question and answers it.
func (t *Then) Then(_ context.Context, q dashboard.ThenQuery) (dashboard.Moment, error) {
	t.Asked = append(t.Asked, q)
	return t.Moment, t.Err
}
