package air

import (
	"context"
	"slices"

	"go.uber.org/zap"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/record"
)

type recorded[A rules.Act] struct {
	record.Record
	act A
}

// earlier are the acts of a kind in a room that are on record, the newest first.
func earlier[A rules.Act](ctx context.Context, s *Pages, room string) ([]recorded[A], error) {
	var none A
	records, err := s.Readings.Records(ctx, web.RecordsQuery{Room: room, Kinds: []string{none.Kind()}})
	if err != nil {
		s.Log.Error("records of the book can't be read", zap.String("kind", none.Kind()), zap.Error(err))
		return nil, err
	}
	var acts []recorded[A]
	for _, r := range slices.Backward(records) {
		act, err := rules.DecodeAct(r.Kind, r.Content)
		if a, is := act.(A); is && err == nil {
			acts = append(acts, recorded[A]{r, a})
		}
	}
	return acts, nil
}
