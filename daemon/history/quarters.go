package history

import (
	"database/sql"
	"maps"
	"slices"

	"wetside/daemon/history/pack"
)

// dated is the summary of the quarter of an hour that starts at from.
type dated struct {
	from int64
	summary
}

// quarters gives the summaries of every quarter of an hour that the time touches
// and that has samples, in order: of the roll-ups, and of what is not yet sealed.
func (d *drawing) quarters() ([]dated, error) {
	first, end := d.span.quarters()
	rolled, err := d.rolledUp(first, end)
	if err != nil {
		return nil, err
	}
	open := map[int64][]pack.Sample{}
	err = d.eachTail(first, end, func(t tailSample) {
		if int64(t.channel) == d.channel.code {
			open[t.quarter()] = append(open[t.quarter()], t.Sample)
		}
	})
	if err != nil || len(open) == 0 {
		return rolled, err
	}
	for _, quarter := range slices.Sorted(maps.Keys(open)) {
		t := quarterSpan(quarter)
		rolled = addDated(rolled, dated{t.from, summarize(t.cut(open[quarter]), t, d.channel.silence, nil)})
	}
	return rolled, nil
}

// addDated puts a summary in its place, joining it to one of the same quarter.
func addDated(all []dated, q dated) []dated {
	at, found := slices.BinarySearchFunc(all, q.from, func(e dated, from int64) int { return compare(e.from, from) })
	if found {
		all[at].join(q.summary)
		return all
	}
	return slices.Insert(all, at, q)
}

// rolledUp reads the roll-ups of quarters first to end-1.
func (d *drawing) rolledUp(first, end int64) ([]dated, error) {
	firstDay, endDay := floorDiv(first, quartersPerDay), floorDiv(end-1, quartersPerDay)+1
	low, high := blocksOf(d.channel.code, firstDay, endDay)
	rows, err := d.db.QueryContext(d.ctx, "SELECT key, quarters FROM day WHERE key >= ? AND key < ? ORDER BY key", low, high)
	if err != nil {
		return nil, err
	}
	var all []dated
	err = scanAll(rows, func(rows *sql.Rows) error {
		var key int64
		var data sql.RawBytes
		if err := rows.Scan(&key, &data); err != nil {
			return err
		}
		quarters, err := decodeDay(data)
		for _, q := range quarters {
			quarter := blockQuarter(key)*quartersPerDay + int64(q.index)
			if quarter >= first && quarter < end {
				all = append(all, dated{quarter * quarterMillis, q.summary})
			}
		}
		return err
	})
	return all, err
}
