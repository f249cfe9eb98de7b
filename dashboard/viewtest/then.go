package viewtest

import (
	"context"

	"wetside/dashboard/class"
)

// Then gives the same moment whatever is asked.
type Then struct {
	class.Moment
	Err   error
	Asked []class.ThenQuery
}

var _ class.Then = (*Then)(nil)

// Then notes the question and answers it.
func (t *Then) Then(_ context.Context, q class.ThenQuery) (class.Moment, error) {
	t.Asked = append(t.Asked, q)
	return t.Moment, t.Err
}
