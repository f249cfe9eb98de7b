package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"wetside/sensors"
)

func (w *writer) changeGaps(b Batch) error {
	for _, g := range b.GapsOpened {
		if err := w.insertGap(g); err != nil {
			return err
		}
	}
	for _, g := range b.GapsClosed {
		if err := w.closeGap(g); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) insertGap(g Gap) error {
	code, to := w.state.channels[g.Channel], sql.NullInt64{Int64: g.To.UnixMilli(), Valid: !g.To.IsZero()}
	err := w.exec("INSERT INTO gap(channel, from_ms, to_ms, cause) VALUES(?, ?, ?, ?)", code, g.From.UnixMilli(), to, g.Cause)
	if err != nil || !to.Valid {
		return err
	}
	return w.touch(code, to.Int64)
}

// endGaps ends open gaps at a time, those that a condition selects, and gives how many.
// A gap never ends before it began, even when the clock was set back meanwhile.
func (w *writer) endGaps(at time.Time, condition string, args ...any) (int, error) {
	type ended struct{ code, ms int64 }
	var list []ended
	err := w.each("UPDATE gap SET to_ms = max(from_ms, ?) WHERE to_ms IS NULL AND "+condition+" RETURNING channel, to_ms",
		func(rows *sql.Rows) error {
			var e ended
			err := rows.Scan(&e.code, &e.ms)
			list = append(list, e)
			return err
		}, append([]any{at.UnixMilli()}, args...)...)
	for _, e := range list {
		err = errors.Join(err, w.touch(e.code, e.ms))
	}
	return len(list), err
}

// closeGap ends the open gaps that g means, or stores g whole when there is none.
func (w *writer) closeGap(g Gap) error {
	n, err := w.endGaps(g.To, "channel = ? AND (? = '' OR cause = ?)", w.state.channels[g.Channel], g.Cause, g.Cause)
	if err != nil || n > 0 || g.From.IsZero() {
		return err
	}
	return w.insertGap(g)
}

// noteRefused remembers from when on the samples of a failed commit are missing.
func (w *writer) noteRefused(group []*job) {
	for _, j := range group {
		for _, s := range j.samples {
			if since, ok := w.refusedSince[s.Channel]; !ok || s.At.Before(since) {
				w.refusedSince[s.Channel] = s.At
			}
		}
	}
}

// storeRefusals turns the refused time of each channel into a gap, together with
// the first sample of it that is written again.
func (w *writer) storeRefusals(group []*job) error {
	if len(w.refusedSince) == 0 {
		return nil
	}
	for channel, to := range firstSamples(group) {
		from, ok := w.refusedSince[channel]
		if !ok {
			continue
		}
		if err := w.insertGap(Gap{channel, from, slices.MaxFunc([]time.Time{to, from}, time.Time.Compare), CauseNotWritten}); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) forgetRefusals(group []*job) {
	if len(w.refusedSince) == 0 {
		return
	}
	for channel := range firstSamples(group) {
		delete(w.refusedSince, channel)
	}
}

// firstSamples gives the time of the first sample of each channel that the group stored.
func firstSamples(group []*job) map[sensors.ChannelID]time.Time {
	first := map[sensors.ChannelID]time.Time{}
	for _, j := range group {
		if j.refused != nil {
			continue
		}
		for _, s := range j.samples {
			if _, ok := first[s.Channel]; !ok {
				first[s.Channel] = s.At
			}
		}
	}
	return first
}

// machineWasOff ends the gaps that were open when the program last ended and
// stores, for every channel in service, the time since the last sign of life with its cause.
func (w *writer) machineWasOff(cause string) error {
	now := w.store.clock.Now().Wall
	alive, err := w.lastSignOfLife()
	if err != nil || alive.IsZero() || !now.After(alive) {
		return err
	}
	if _, err := w.endGaps(alive, "true"); err != nil {
		return err
	}
	off, err := w.offSince(alive)
	if err != nil {
		return err
	}
	for i := range off {
		off[i].To, off[i].Cause = now, cause
	}
	return w.changeGaps(Batch{GapsOpened: off})
}

// offSince gives, for every channel in service, the time since which it is not
// recorded: its last sample when that is fresh beside the last sign of life.
func (w *writer) offSince(alive time.Time) ([]Gap, error) {
	tail, err := w.lastOfTail()
	if err != nil {
		return nil, err
	}
	var gaps []Gap
	for id, code := range w.state.channels {
		var silence, service int64
		if err := w.row("SELECT silence_ms, in_service FROM channel WHERE code = ?", code).Scan(&silence, &service); err != nil {
			return nil, err
		}
		if service == 0 {
			continue
		}
		last, found, err := w.last(code, tail)
		if err != nil {
			return nil, err
		}
		from := alive
		if age := alive.UnixMilli() - last.At; found && age >= 0 && age <= silence {
			from = time.UnixMilli(last.At)
		}
		gaps = append(gaps, Gap{Channel: id, From: from})
	}
	return gaps, nil
}

// lastSignOfLife is the latest of the stored sign, the last record and the tail.
// It is zero for a new book.
func (w *writer) lastSignOfLife() (time.Time, error) {
	var ms int64
	err := w.row("SELECT at_ms FROM alive").Scan(&ms)
	if err != nil {
		return time.Time{}, err
	}
	tail, err := w.lastOfTail()
	for _, t := range tail {
		ms = max(ms, t.At)
	}
	if w.firstNumber > 0 {
		ms = max(ms, w.state.latest.UnixMilli())
	}
	if ms == 0 {
		return time.Time{}, err
	}
	return time.UnixMilli(ms).UTC(), err
}

// Gaps gives the gaps of a channel that overlap a time, oldest first. A gap that
// is still open has no To.
func (s *Reader) Gaps(ctx context.Context, channel sensors.ChannelID, from, to time.Time) ([]Gap, error) {
	var gaps []Gap
	err := s.view(ctx, func(v view) error {
		c, err := v.channel(channel)
		if err != nil {
			return err
		}
		gaps, err = v.gaps(c.code, channel, spanOf(from, to))
		return err
	})
	return gaps, err
}

func (v view) gaps(code int64, channel sensors.ChannelID, t span) ([]Gap, error) {
	const overlapping = `SELECT from_ms, to_ms, cause FROM gap
		WHERE channel = ? AND from_ms < ? AND (to_ms IS NULL OR to_ms > from_ms AND to_ms > ?) ORDER BY from_ms, id`
	var gaps []Gap
	err := v.each(overlapping, func(rows *sql.Rows) error {
		g := Gap{Channel: channel}
		var fromMS int64
		var toMS sql.NullInt64
		err := rows.Scan(&fromMS, &toMS, &g.Cause)
		g.From = time.UnixMilli(fromMS).UTC()
		if toMS.Valid {
			g.To = time.UnixMilli(toMS.Int64).UTC()
		}
		gaps = append(gaps, g)
		return err
	}, code, t.to, t.from)
	if err != nil {
		return nil, fmt.Errorf("reading the gaps of %q: %w", channel, err)
	}
	return gaps, nil
}
