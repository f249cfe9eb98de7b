package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"

	"wetside/sensors"
)

// RegisterChannels makes the channels of a room known before their first sample
// and takes those of the room that are no longer listed out of service. A
// channel keeps its samples for ever, also out of service. Raw values are kept
// in the unit of their channel, so a channel that has samples can't change its
// unit: that is an ErrUnitChanged, and nothing is registered.
func (s *Store) RegisterChannels(ctx context.Context, room string, channels []sensors.Channel) error {
	return s.do(ctx, true, func() error { return s.writer.register(room, channels) })
}

func (w *writer) register(room string, channels []sensors.Channel) error {
	if err := w.roomFor(channels); err != nil {
		return err
	}
	for _, c := range channels {
		if err := w.checkUnit(c); err != nil {
			return err
		}
	}
	listed := map[int64]bool{}
	for _, c := range channels {
		if err := w.registerOne(room, c); err != nil {
			return err
		}
		listed[w.state.channels[c.ID]] = true
	}
	if err := w.retire(room, listed); err != nil {
		return err
	}
	_, err := w.endGaps(w.store.clock.Now().Wall, "channel IN (SELECT code FROM channel WHERE in_service = 0)")
	return err
}

// roomFor refuses more channels than a sample of the tail can name.
func (w *writer) roomFor(channels []sensors.Channel) error {
	if len(w.state.channels)+len(channels) > math.MaxUint16 {
		return refusal{fmt.Errorf("more than %d channels: use a data folder for each group of rooms", math.MaxUint16)}
	}
	return nil
}

// retire takes the channels of a room that are no longer listed out of service.
func (w *writer) retire(room string, listed map[int64]bool) error {
	var gone []int64
	err := w.each("SELECT code FROM channel WHERE room = ? AND in_service = 1", func(rows *sql.Rows) error {
		var code int64
		err := rows.Scan(&code)
		if !listed[code] {
			gone = append(gone, code)
		}
		return err
	}, room)
	for _, code := range gone {
		err = errors.Join(err, w.exec("UPDATE channel SET in_service = 0 WHERE code = ?", code), w.redescribed(code))
	}
	return err
}

func (w *writer) registerOne(room string, c sensors.Channel) error {
	code, known := w.state.channels[c.ID]
	if !known {
		code = int64(len(w.state.channels) + 1)
		w.state.channels[c.ID] = code
	} else if err := w.redescribe(room, code, c); err != nil {
		return err
	}
	return w.exec(`INSERT INTO channel(code, id, room, name, kind, unit, silence_ms, in_service) VALUES(?, ?, ?, ?, ?, ?, ?, 1)
		ON CONFLICT(code) DO UPDATE SET room = excluded.room, name = excluded.name, kind = excluded.kind,
		unit = excluded.unit, silence_ms = excluded.silence_ms, in_service = 1`,
		code, string(c.ID), room, c.Name, string(c.Kind), c.Unit.String(), c.Silence.Milliseconds())
}

// redescribe has a channel that is now called or measured otherwise, or is back, attested again.
func (w *writer) redescribe(room string, code int64, c sensors.Channel) error {
	var same bool
	err := w.row("SELECT room = ? AND name = ? AND kind = ? AND unit = ? AND silence_ms = ? AND in_service = 1 FROM channel WHERE code = ?",
		room, c.Name, string(c.Kind), c.Unit.String(), c.Silence.Milliseconds(), code).Scan(&same)
	if err != nil || same {
		return err
	}
	return w.redescribed(code)
}

func (w *writer) redescribed(code int64) error {
	return w.touch(code, w.store.clock.Now().Wall.UnixMilli())
}

// checkUnit refuses another unit for a channel that has samples.
func (w *writer) checkUnit(c sensors.Channel) error {
	code, ok := w.state.channels[c.ID]
	if !ok {
		return nil
	}
	have, err := w.channel(c.ID)
	if err != nil || have.unit == c.Unit.String() {
		return err
	}
	if kept, err := w.hasSamples(code); err != nil || !kept {
		return err
	}
	return refusal{fmt.Errorf("%w: %q was recorded in %s and is now to be in %s: give the channel a new name, so that old values keep "+
		"their meaning",
		ErrUnitChanged, c.ID, have.unit, c.Unit)}
}

func (v view) hasSamples(code int64) (kept bool, err error) {
	keys := keysOf(code, -keyBias, keyBias)
	err = v.row("SELECT EXISTS (SELECT 1 FROM block WHERE key >= ? AND key < ?)", keys.low, keys.high).Scan(&kept)
	if err != nil || kept {
		return kept, err
	}
	err = v.eachTail(math.MinInt64, math.MaxInt64, func(t tailSample) { kept = kept || int64(t.channel) == code })
	return kept, err
}
