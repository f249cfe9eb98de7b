package history

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"maps"
	"slices"
	"time"

	"wetside/daemon/history/pack"
)

// sealed is one quarter of an hour, packed and ready to be written.
type sealed struct {
	quarter int64
	// lastRow is the last row of the tail that is in it, bytes the size of all of them.
	lastRow, bytes int64
	blocks         []packed
	times, days    []keyed
}

// keyed is a row to be written.
type keyed struct {
	key  int64
	data []byte
}

// packed is a block to be written. The first bytes of it are its times, which it may share with others.
type packed struct {
	keyed
	times  int
	shared sql.NullInt64
}

// lateness is how long after the end of a quarter its last samples may come.
const lateness = 5 * time.Second

// isDue says whether a quarter is over, or lies so far ahead that the clock must
// have been set back since.
func isDue(quarter int64, now time.Time) bool {
	current := currentQuarter(now)
	return quarter < current || quarter > current+1
}

// currentQuarter is the quarter of an hour whose samples may still come.
func currentQuarter(now time.Time) int64 {
	return floorDiv(now.Add(-lateness).UnixMilli(), quarterMillis)
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
	err = v.row("SELECT (SELECT min(id) FROM tail), (SELECT max(id) FROM tail)").Scan(&oldest, &latest)
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
	err := v.row(size, tailID(quarter), tailID(quarter+1)).Scan(&out.lastRow, &out.bytes)
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
	slices.SortFunc(out.blocks, func(a, b packed) int { return cmp.Compare(a.key, b.key) })
	slices.SortFunc(out.days, func(a, b keyed) int { return cmp.Compare(a.key, b.key) })
	return out, v.shareTimes(out)
}

// shareTimes takes the times that several blocks have in common out of them. They get numbers that no block
// names: one that is not written anew may name an earlier one.
func (v view) shareTimes(out *sealed) error {
	alike := map[string][]*packed{}
	for i := range out.blocks {
		b := &out.blocks[i]
		alike[string(b.data[:b.times])] = append(alike[string(b.data[:b.times])], b)
	}
	var next int64
	const free = "SELECT coalesce(max(key) + 1, ?) FROM times WHERE key >= ? AND key < ?"
	first := tailID(out.quarter)
	if err := v.row(free, first, first, tailID(out.quarter+1)).Scan(&next); err != nil {
		return err
	}
	for _, times := range slices.Sorted(maps.Keys(alike)) {
		blocks := alike[times]
		if len(blocks) < 2 {
			continue
		}
		out.times = append(out.times, keyed{next, []byte(times)})
		for _, b := range blocks {
			b.data, b.shared = b.data[b.times:], sql.NullInt64{Int64: next - first, Valid: true}
		}
		next++
	}
	return nil
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
	data, times, err := pack.Encode(nil, samples)
	if err != nil {
		return err
	}
	out.blocks = append(out.blocks, packed{keyed: keyed{key, pack.WithCheck(data)}, times: times})
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
	err = v.row("SELECT quarters FROM day WHERE key = ?", key).Scan(&data)
	var quarters []quarterSummary
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	default:
		if quarters, err = decodeDay(data); err != nil {
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
	err = v.row("SELECT silence_ms FROM channel WHERE code = ?", code).Scan(&silence)
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
	for _, b := range d.times {
		if err := w.exec("INSERT INTO times(key, bytes) VALUES(?, ?)", b.key, b.data); err != nil {
			return err
		}
	}
	for _, b := range d.blocks {
		if err := w.exec("INSERT OR REPLACE INTO part(key, samples, shared) VALUES(?, ?, ?)", b.key, b.data, b.shared); err != nil {
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
	if err := w.dropTimes(d.quarter, d.quarter+1); err != nil {
		return err
	}
	if err := w.exec("DELETE FROM tail WHERE id >= ? AND id <= ?", tailID(d.quarter), d.lastRow); err != nil {
		return err
	}
	if tailQuarter(w.state.row.id) == d.quarter {
		w.state.row = tailRow{}
	}
	return nil
}

// dropTimes deletes the times within quarters first to end-1 that no block names any more.
func (w *writer) dropTimes(first, end int64) error {
	return w.exec(`DELETE FROM times WHERE key >= ? AND key < ? AND NOT EXISTS (SELECT 1 FROM channel
		JOIN part ON part.key = (channel.code << 32) + (times.key >> 20) + 2147483648 WHERE part.shared = times.key & 1048575)`,
		tailID(first), tailID(end))
}
