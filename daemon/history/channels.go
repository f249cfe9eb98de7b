package history

import (
	"context"
	"math"

	"fmt"

	"wetside/sensors"
)

// RegisterChannels makes the channels of a room known before their first sample
// and takes those of the room that are no longer listed out of service. A
// channel keeps its samples for ever, also out of service.
func (s *Store) RegisterChannels(ctx context.Context, room string, channels []sensors.Channel) error {
	return s.do(ctx, true, func() error { return s.writer.register(room, channels) })
}

func (w *writer) register(room string, channels []sensors.Channel) error {
	if len(w.state.channels)+len(channels) > math.MaxUint16 {
		return refusal{fmt.Errorf("more than %d channels: use a data folder for each group of rooms", math.MaxUint16)}
	}
	if err := w.exec("UPDATE channel SET in_service = 0 WHERE room = ?", room); err != nil {
		return err
	}
	for _, c := range channels {
		code, ok := w.state.channels[c.ID]
		if !ok {
			code = int64(len(w.state.channels) + 1)
			w.state.channels[c.ID] = code
		}
		err := w.exec(`INSERT INTO channel(code, id, room, name, kind, unit, silence_ms, in_service) VALUES(?, ?, ?, ?, ?, ?, ?, 1)
			ON CONFLICT(code) DO UPDATE SET room = excluded.room, name = excluded.name, kind = excluded.kind,
			unit = excluded.unit, silence_ms = excluded.silence_ms, in_service = 1`,
			code, string(c.ID), room, c.Name, string(c.Kind), c.Unit.String(), c.Silence.Milliseconds())
		if err != nil {
			return err
		}
	}
	now := w.store.clock.Now().Wall.UnixMilli()
	return w.exec(`UPDATE gap SET to_ms = max(from_ms, ?) WHERE to_ms IS NULL
		AND channel IN (SELECT code FROM channel WHERE in_service = 0)`, now)
}
