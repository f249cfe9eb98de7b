package history

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"time"

	"wetside/daemon/history/pack"
)

// sealed is one quarter of an hour, packed and ready to be written.
type sealed struct {
	quarter int64
	// lastRow is the last row of the tail that is in it, bytes the size of all of them.
	lastRow, bytes int64
	blocks, days   []keyed
}

// keyed is a row to be written.
type keyed struct {
	key  int64
	data []byte
}

// lateness is how long after the end of a quarter its last samples may come.
const lateness = 5 * time.Second

// isDue says whether a quarter is over, or lies so far ahead that the clock must
// have been set back since.
func isDue(quarter int64, now time.Time) bool {
	current := floorDiv(now.Add(-lateness).UnixMilli(), quarterMillis)
	return quarter < current || quarter > current+1
}

// sealOne packs the oldest quarter of the tail that is due, or the oldest of all when
// the store closes, and hands it to the writer; more says that there was one.
func (s *Store) sealOne(ctx context.Context, closing bool) (more bool, err error) {
	var due *sealed
	err = s.view(ctx, func(v view) error {
		now := s.clock.Now().Wall
		quarter, found, err := v.dueQuarter(func(quarter int64) bool { return closing || isDue(quarter, now) })
		if err != nil || !found {
			return err
		}
		due, err = v.seal(quarter)
		return err
	})
	if err != nil || due == nil {
		return false, err
	}
	return true, s.do(ctx, false, func() error { return s.writer.writeSealed(due) })
}

// dueQuarter finds a quarter of the tail that is due: the oldest, or else the
// latest, which may lie ahead after the clock was set back.
func (v view) dueQuarter(isDue func(quarter int64) bool) (due int64, found bool, err error) {
	var oldest, latest sql.NullInt64
	err = v.db.QueryRowContext(v.ctx, "SELECT (SELECT min(id) FROM tail), (SELECT max(id) FROM tail)").Scan(&oldest, &latest)
	for _, id := range []sql.NullInt64{latest, oldest} {
		if quarter := tailQuarter(id.Int64); id.Valid && isDue(quarter) {
			due, found = quarter, true
		}
	}
	return due, found, err
}

// seal packs the samples of a quarter, channel by channel.
func (v view) seal(quarter int64) (*sealed, error) {
	out := &sealed{quarter: quarter}
	const size = "SELECT max(id), sum(length(samples)) FROM tail WHERE id >= ? AND id < ?"
	err := v.db.QueryRowContext(v.ctx, size, tailID(quarter), tailID(quarter+1)).Scan(&out.lastRow, &out.bytes)
	if err != nil {
		return nil, err
	}
	channels := map[int64][]pack.Sample{}
	err = v.eachTail(quarter, quarter+1, func(t tailSample) {
		channels[int64(t.channel)] = append(channels[int64(t.channel)], t.Sample)
	})
	if err != nil {
		return nil, err
	}
	for code, samples := range channels {
		if err := v.sealChannel(out, code, samples); err != nil {
			return nil, err
		}
	}
	byKey := func(a, b keyed) int { return compare(a.key, b.key) }
	slices.SortFunc(out.blocks, byKey)
	slices.SortFunc(out.days, byKey)
	return out, nil
}

// sealChannel packs the samples of one channel behind those that were sealed
// before for the same quarter, as happens when samples come late or twice.
func (v view) sealChannel(out *sealed, code int64, samples []pack.Sample) error {
	key := blockKey(code, out.quarter)
	earlier, err := v.block("SELECT samples FROM block WHERE key = ?", key)
	if err != nil {
		return err
	}
	samples = append(earlier, samples...)
	data, err := pack.Encode(nil, samples)
	if err != nil {
		return err
	}
	out.blocks = append(out.blocks, keyed{key, pack.WithCheck(data)})
	return v.sealDay(out, code, samples)
}

// sealDay puts the summary of the quarter into the roll-up of its day.
func (v view) sealDay(out *sealed, code int64, samples []pack.Sample) error {
	before, silence, err := v.before(code, out.quarter)
	if err != nil {
		return err
	}
	day := floorDiv(out.quarter, quartersPerDay)
	key := blockKey(code, day)
	var data []byte
	err = v.db.QueryRowContext(v.ctx, "SELECT quarters FROM day WHERE key = ?", key).Scan(&data)
	var quarters []quarterSummary
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	default:
		if quarters, err = decodeDay(nil, data); err != nil {
			return err
		}
	}
	t := quarterSpan(out.quarter)
	q := quarterSummary{uint8(out.quarter - day*quartersPerDay), summarize(t.cut(samples), t, silence, before)}
	out.days = append(out.days, keyed{key, encodeDay(setQuarter(quarters, q))})
	return nil
}

func quarterSpan(quarter int64) span {
	return span{quarter * quarterMillis, (quarter + 1) * quarterMillis}
}

// before is the last sealed sample of the quarter before, nil when there is none,
// and how long a value of the channel stands.
func (v view) before(code, quarter int64) (last *pack.Sample, silence int64, err error) {
	err = v.db.QueryRowContext(v.ctx, "SELECT silence_ms FROM channel WHERE code = ?", code).Scan(&silence)
	if err != nil {
		return nil, 0, err
	}
	samples, err := v.block("SELECT samples FROM block WHERE key = ?", blockKey(code, quarter-1))
	for i := range samples {
		if last == nil || samples[i].At > last.At {
			last = &samples[i]
		}
	}
	return last, silence, err
}

// writeSealed moves a quarter from the tail to its blocks. When samples of the
// quarter came in meanwhile it does nothing: the next attempt takes them along.
func (w *writer) writeSealed(d *sealed) error {
	var bytes int64
	const size = "SELECT coalesce(sum(length(samples)), 0) FROM tail WHERE id >= ? AND id <= ?"
	err := w.row(size, tailID(d.quarter), d.lastRow).Scan(&bytes)
	if err != nil || bytes != d.bytes {
		return err
	}
	for _, b := range d.blocks {
		if err := w.exec("INSERT OR REPLACE INTO block(key, samples) VALUES(?, ?)", b.key, b.data); err != nil {
			return err
		}
		if err := w.touch(b.key>>32, blockNumber(b.key)*quarterMillis); err != nil {
			return err
		}
	}
	for _, b := range d.days {
		if err := w.exec("INSERT OR REPLACE INTO day(key, quarters) VALUES(?, ?)", b.key, b.data); err != nil {
			return err
		}
	}
	if err := w.exec("DELETE FROM tail WHERE id >= ? AND id <= ?", tailID(d.quarter), d.lastRow); err != nil {
		return err
	}
	if tailQuarter(w.state.row.id) == d.quarter {
		w.state.row = tailRow{}
	}
	return nil
}
