package history

import (
	"context"
	"math"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// dated is the summary of the quarter of an hour with a number.
type dated struct {
	quarter int64
	summary
}

// eachSummary hands on the summary of every quarter of an hour that the time
// touches and that has samples, in order: of the roll-ups, and of what is not yet
// sealed.
func (d *drawing) eachSummary(each func(dated)) error {
	tail := d.tail
	sumUp := func(quarter int64, samples []pack.Sample) summary {
		t := quarterSpan(quarter)
		return summarize(t.cut(samples), t, d.channel.silence, nil)
	}
	give := func(quarter int64, samples []pack.Sample) error {
		each(dated{quarter, sumUp(quarter, samples)})
		return nil
	}
	err := d.eachRolledUp(func(q dated) error {
		if err := tail.before(q.quarter, give); err != nil {
			return err
		}
		if late := tail.next(q.quarter); late != nil {
			q.join(sumUp(q.quarter, late))
		}
		each(q)
		return nil
	})
	if err != nil {
		return err
	}
	return tail.before(math.MaxInt64, give)
}

// eachRolledUp reads the roll-ups of the quarters that the time touches.
func (d *drawing) eachRolledUp(each func(dated) error) error {
	first, end := d.span.quarters()
	keys := keysOf(d.channel.code, floorDiv(first, quartersPerDay), floorDiv(end-1, quartersPerDay)+1)
	const query = "SELECT key, quarters FROM day WHERE key >= ? AND key < ? ORDER BY key"
	return d.eachStored(query, keys, func(key int64, data []byte) (err error) {
		day := blockNumber(key) * quartersPerDay
		if d.day, err = decodeQuarters(d.day[:0], data, first-day, end-day); err != nil {
			return err
		}
		for i := range d.day {
			if err := each(dated{day + int64(d.day[i].index), d.day[i].summary}); err != nil {
				return err
			}
		}
		return nil
	})
}

// Quarters gives what each quarter of an hour that a time touches comes to, in order and in
// the unit of the probe; those without a sample are left out.
func (s *Reader) Quarters(ctx context.Context, channel sensors.ChannelID, from, to time.Time) ([]Column, error) {
	out := Series{Channel: channel, From: from.UTC(), To: to.UTC()}
	err := s.view(ctx, func(v view) error {
		c, err := v.channel(channel)
		if err != nil {
			return err
		}
		d := drawing{view: v, channel: c, out: &out, span: spanOf(from, to)}
		if d.span.to <= d.span.from {
			return nil
		}
		if d.tail, err = v.unsealed(c.code, d.span); err != nil {
			return err
		}
		err = d.eachSummary(func(q dated) { d.addColumn(quarterSpan(q.quarter), q.summary) })
		d.finishColumn()
		return err
	})
	return out.Columns, err
}
