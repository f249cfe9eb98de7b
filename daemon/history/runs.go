package history

import (
	"context"
	"errors"
	"iter"
	"math"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// Run is a run of samples of one grade and reason, all imported or none, none of which came later after
// the one before than the pause that was asked for.
type Run struct {
	First, Last time.Time
	Grade       sensors.Grade
	Reason      sensors.Reason
	Imported    bool
}

// RunQuery asks for the runs of a channel over a time.
type RunQuery struct {
	Channel  sensors.ChannelID
	From, To time.Time
	// Pause is the longest time between two samples of one run.
	Pause time.Duration
}

// Runs gives the samples of a channel as runs, in order: what [Reader.Samples] gives,
// for whoever asks only when there were some. Where the roll-ups show that nothing
// was missing, samples are not unpacked. After an error it ends.
func (s *Reader) Runs(ctx context.Context, q RunQuery) iter.Seq2[Run, error] {
	return func(yield func(Run, error) bool) {
		err := s.view(ctx, func(v view) error {
			c, err := v.channel(q.Channel)
			if err != nil {
				return err
			}
			g, err := v.ground(c, spanOf(q.From, q.To), q.Pause.Milliseconds())
			if err != nil {
				return err
			}
			r := runner{pause: q.Pause.Milliseconds(), yield: func(first, last pack.Sample) bool {
				from := sampleOf(q.Channel, first, g.words)
				return yield(Run{from.At, time.UnixMilli(last.At).UTC(), from.Grade, from.Reason, from.Imported}, nil)
			}}
			if err := v.eachRun(g, &r); err != nil {
				return err
			}
			return r.end()
		})
		if err != nil && !errors.Is(err, errEnough) {
			yield(Run{}, err)
		}
	}
}

// runner joins samples to runs.
type runner struct {
	pause       int64
	yield       func(first, last pack.Sample) bool
	first, last pack.Sample
	begun       bool
}

func (r *runner) take(samples []pack.Sample) error {
	for i := range samples {
		p := &samples[i]
		if r.begun && p.Grade == r.last.Grade && p.Word == r.last.Word && p.At-r.last.At <= r.pause {
			r.last = *p
			continue
		}
		if err := r.end(); err != nil {
			return err
		}
		r.first, r.last, r.begun = *p, *p, true
	}
	return nil
}

// end hands on the run under way, if any.
func (r *runner) end() error {
	if r.begun && !r.yield(r.first, r.last) {
		return errEnough
	}
	return nil
}

// stretch lets the run under way go on over a quarter of an hour in which nothing was
// missing. It says no where no run reaches it: then its samples say where one begins.
func (r *runner) stretch(t span) bool {
	through := pack.Sample{At: t.to, Grade: uint8(sensors.Good)}
	if !r.begun || r.last.Grade != through.Grade || r.last.Word != through.Word || t.from-r.last.At > r.pause {
		return false
	}
	r.last = through
	return true
}

// ground is what is known of a channel over a span before its samples are unpacked.
type ground struct {
	channel channelInfo
	span    span
	tail    *unsealed
	// unbroken are quarters of an hour that need not be unpacked.
	unbroken map[int64]bool
	words    map[uint8]sensors.Reason // nil where no sample has a reason
}

// ground reads the roll-ups of a span and finds the quarters of an hour for which a
// good value stood at every moment. The first quarter of the span and the last of each
// row of them count as broken: their samples say what lies in the span, and how long
// the pause after them is.
func (v view) ground(c channelInfo, t span, pause int64) (g ground, err error) {
	g = ground{channel: c, span: t, unbroken: map[int64]bool{}}
	if g.tail, err = v.unsealed(c.code, t); err != nil {
		return g, err
	}
	reasons := len(g.tail.samples) > 0
	first, _ := t.quarters()
	row := int64(math.MinInt64) // the quarter before, if it is unbroken
	d := drawing{view: v, channel: c, span: t}
	err = d.eachRolledUp(func(q dated) error {
		reasons = reasons || q.bad > 0
		_, late := g.tail.samples[q.quarter]
		whole := q.bad == 0 && !q.imported && q.covered >= quarterMillis
		if pause < c.silence || q.quarter == first || late || !whole || quarterSpan(q.quarter).to > t.to {
			return nil
		}
		if row == q.quarter-1 {
			g.unbroken[row] = true
		}
		row = q.quarter
		return nil
	})
	if err == nil && reasons {
		g.words, err = v.words()
	}
	return g, err
}

// eachRun hands the samples of a channel to a runner.
func (v view) eachRun(g ground, r *runner) error {
	give := func(_ int64, samples []pack.Sample) error { return r.take(g.span.cut(samples)) }
	first, end := g.span.quarters()
	var samples []pack.Sample
	const query = "SELECT key, samples FROM block WHERE key >= ? AND key < ? ORDER BY key"
	err := v.eachStored(query, keysOf(g.channel.code, first, end), func(key int64, data []byte) (err error) {
		quarter := blockNumber(key)
		if err := g.tail.before(quarter, give); err != nil {
			return err
		}
		if t := quarterSpan(quarter); g.unbroken[quarter] && r.stretch(t) {
			return nil
		}
		if samples, err = unpack(samples[:0], data); err != nil {
			return err
		}
		return give(quarter, append(samples, g.tail.take(quarter)...))
	})
	if err != nil {
		return err
	}
	return g.tail.before(math.MaxInt64, give)
}
