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

func runOf(first, last pack.Sample, words *reasons) Run {
	return Run{time.UnixMilli(first.At).UTC(), time.UnixMilli(last.At).UTC(), gradeOf(first), words[first.Word], imported(first)}
}

// runner joins samples to runs.
type runner struct {
	pause       int64
	yield       func(first, last pack.Sample)
	first, last pack.Sample
	begun       bool
}

func (r *runner) add(samples []pack.Sample) {
	for i := range samples {
		p := &samples[i]
		if r.begun && p.Grade == r.last.Grade && p.Word == r.last.Word && p.At-r.last.At <= r.pause {
			r.last.At = p.At
			continue
		}
		r.end()
		r.first, r.last, r.begun = *p, *p, true
	}
}

// end hands on the run under way, if any.
func (r *runner) end() {
	if r.begun {
		r.yield(r.first, r.last)
	}
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
	tail    unsealed
	// unbroken says of each quarter of an hour of the span whether it need not be unpacked;
	// empty where all must be.
	unbroken []bool
}

// skips says whether a quarter of an hour need not be unpacked.
func (g *ground) skips(quarter int64) bool {
	first, _ := g.span.quarters()
	return quarter-first < int64(len(g.unbroken)) && g.unbroken[quarter-first]
}

// findUnbroken reads the roll-ups of a span and finds the quarters of an hour for which a
// good value stood at every moment. The first quarter of the span and the last of each
// row of them count as broken: their samples say what lies in the span, and how long
// the pause after them is.
func (l *Look) findUnbroken(g *ground, pause int64) error {
	first, end := g.span.quarters()
	if end <= first || pause < g.channel.silence {
		return nil
	}
	g.unbroken = make([]bool, end-first)
	row := int64(math.MinInt64) // the quarter before, if it is unbroken
	d := drawing{view: l.view, channel: g.channel, span: g.span, day: l.day}
	defer func() { l.day = d.day }()
	return d.eachRolledUp(func(q dated) error {
		_, late := g.tail.samples[q.quarter]
		whole := q.bad == 0 && !q.imported && q.covered >= quarterMillis
		if q.quarter == first || late || !whole || quarterSpan(q.quarter).to > g.span.to {
			return nil
		}
		if row == q.quarter-1 {
			g.unbroken[row-first] = true
		}
		row = q.quarter
		return nil
	})
}

// eachRun hands the samples of a channel to a runner, and to whoever asks for them.
func (l *Look) eachRun(g ground, r *runner, p *Pass) error {
	give := func(quarter int64, samples []pack.Sample) error {
		samples = g.span.cut(samples)
		r.add(samples)
		if p.wants(quarter) {
			p.Values(Values{samples, l.reasons})
		}
		return nil
	}
	first, end := g.span.quarters()
	left := g.longestRow(p)
	each := func(key int64, data []byte) (err error) {
		quarter := blockNumber(key)
		if err := g.tail.before(quarter, give); err != nil {
			return err
		}
		unpacked := l.decoder.Decode
		if !p.wants(quarter) {
			if g.skips(quarter) && r.stretch(quarterSpan(quarter)) {
				return nil
			}
			unpacked = l.decoder.Moments
		}
		if quarter >= left.from && quarter < left.to {
			first, left = quarter, span{}
			return errLeftOut
		}
		if l.samples, err = unpackBy(unpacked, l.samples[:0], data); err != nil {
			return err
		}
		return give(quarter, append(l.samples, g.tail.next(quarter)...))
	}
	err := l.eachBlockBut(keysOf(g.channel.code, first, end), left, each)
	if errors.Is(err, errLeftOut) { // no database but SQLite answers a second question while rows of the first are read
		err = l.eachBlockBut(keysOf(g.channel.code, first, end), left, each)
	}
	if err != nil {
		return err
	}
	return g.tail.before(math.MaxInt64, give)
}

var errLeftOut = errors.New("a block that was left out is needed")

// eachBlockBut hands on blocks with their keys. Of those of a row of quarters there is the key alone: to
// copy them would take longer than to find them.
func (l *Look) eachBlockBut(keys keyRange, row span, each func(key int64, data []byte) error) error {
	left := keysOf(keys.low>>32, row.from, row.to)
	const query = "SELECT key, CASE WHEN key < ? OR key >= ? THEN samples END FROM block WHERE key >= ? AND key < ? ORDER BY key"
	return l.each(query, stored(each), left.low, left.high, keys.low, keys.high)
}

// longestRow is the longest row of quarters that need not be unpacked.
func (g *ground) longestRow(p *Pass) (longest span) {
	first, end := g.span.quarters()
	var row span
	for quarter := first; quarter < end; quarter++ {
		switch {
		case !g.skips(quarter) || p.wants(quarter):
			continue
		case row.to != quarter:
			row.from = quarter
		}
		if row.to = quarter + 1; row.to-row.from > longest.to-longest.from {
			longest = row
		}
	}
	return longest
}

// Runs gives the samples of a channel as runs, in order: what [Reader.Samples] gives,
// for whoever asks only when there were some. After an error it ends.
func (s *Reader) Runs(ctx context.Context, q RunQuery) iter.Seq2[Run, error] {
	return sequence(func(give func(Run) error) error {
		var runs []Run
		err := s.Look(ctx, func(l *Look) error {
			return l.Pass(Pass{RunQuery: q, Run: func(r Run) { runs = append(runs, r) }})
		})
		for _, r := range runs {
			if err := give(r); err != nil {
				return err
			}
		}
		return err
	})
}
