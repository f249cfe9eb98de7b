package history

import (
	"context"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// SeriesQuery asks for one channel over a time, for a chart.
type SeriesQuery struct {
	Channel  sensors.ChannelID
	From, To time.Time
	// Points is how many columns a chart has room for; below 1 counts as 1.
	Points int
}

// Series is one channel over a time: Samples when there are few, else Columns,
// and always Gaps. A line is drawn across neither.
type Series struct {
	Channel sensors.ChannelID
	// Unit is the unit in which the probe sends, in which all values here are.
	Unit     string
	From, To time.Time
	// Samples are all samples of the time, of every grade, or nil.
	Samples []Sample
	// Columns cover the time, those without a sample left out, or nil. The lowest and
	// the highest value of every stretch are among them, however far it is from the rest.
	Columns []Column
	// Gaps are cut to the time; one that goes on beyond it has its To at the end.
	Gaps []Gap
}

// Column is what a stretch of time comes to. Min, Mean and Max are of good values
// only and mean nothing when Good is 0.
type Column struct {
	From, To time.Time
	// Good and Bad count the samples that are good and those that are not.
	Good, Bad uint32
	// Covered is the time for which a good value stands.
	Covered        time.Duration
	Min, Mean, Max float64
	// Imported is set when some of the samples were imported.
	Imported bool
}

// mostUnpacked is how many samples are unpacked for one chart; beyond it columns
// are made of quarters of an hour.
const mostUnpacked = 1_200_000

// Series reads a channel for a chart.
func (s *Reader) Series(ctx context.Context, q SeriesQuery) (Series, error) {
	out := Series{Channel: q.Channel, From: q.From.UTC(), To: q.To.UTC()}
	err := s.view(ctx, func(v view) error {
		c, err := v.channel(q.Channel)
		if err != nil {
			return err
		}
		out.Unit = c.unit
		d := drawing{view: v, channel: c, out: &out, span: spanOf(q.From, q.To), points: int64(max(q.Points, 1))}
		if err := d.draw(); err != nil {
			return err
		}
		d.now = s.clock.Now().Wall.UnixMilli()
		return d.findGaps()
	})
	return out, err
}

// drawing is a series in the making.
type drawing struct {
	view
	channel channelInfo
	out     *Series
	span    span
	points  int64
	now     int64
	tail    unsealed
	day     []quarterSummary // of the day that is being read
	// seen are the stretches in which there are samples, in order.
	seen []span
	// column is the one that is being made, sum what it comes to so far.
	column span
	sum    summary
}

// draw reads the roll-ups, and the samples themselves where those are few or the
// columns narrow.
func (d *drawing) draw() error {
	if d.span.to <= d.span.from {
		return nil
	}
	var err error
	if d.tail, err = d.unsealed(d.channel.code, d.span); err != nil {
		return err
	}
	samples, err := d.drawQuarters()
	if err != nil {
		return err
	}
	narrow := d.width(1) < quarterMillis
	switch {
	case samples <= 2*d.points:
		d.restart()
		return d.drawSamples()
	case samples <= mostUnpacked && narrow:
		d.restart()
		return d.drawUnpacked()
	}
	return nil
}

// restart drops what was drawn, to draw it finer.
func (d *drawing) restart() { d.out.Columns, d.seen, d.column = nil, nil, span{} }

// width is the length of a column, a whole number of units.
func (d *drawing) width(unit int64) int64 {
	length := d.span.to - d.span.from
	return max((length+d.points*unit-1)/(d.points*unit), 1) * unit
}

// drawSamples takes every sample.
func (d *drawing) drawSamples() error {
	words, err := d.words()
	if err != nil {
		return err
	}
	d.out.Samples = []Sample{}
	return d.eachQuarter(d.channel.code, d.span, d.tail, func(samples []pack.Sample) error {
		one := Sample{Channel: d.out.Channel}
		for i := range samples {
			d.see(span{samples[i].At, samples[i].At})
			one.set(&samples[i], words)
			d.out.Samples = append(d.out.Samples, one)
		}
		return nil
	})
}

func (d *drawing) drawUnpacked() error {
	width, silence := d.width(1), d.channel.silence
	var last pack.Sample
	var before *pack.Sample // points to it once there is one
	d.out.Columns = make([]Column, 0, d.points)
	defer d.finishColumn()
	return d.eachQuarter(d.channel.code, d.span, d.tail, func(samples []pack.Sample) error {
		for len(samples) > 0 {
			n := floorDiv(samples[0].At-d.span.from, width)
			column := span{d.span.from + n*width, d.span.from + (n+1)*width}
			end, seen := 1, span{samples[0].At, samples[0].At}
			for ; end < len(samples) && samples[end].At < column.to; end++ {
				at := samples[end].At
				if at-seen.to > silence {
					d.see(seen)
					seen.from = at
				}
				seen.to = at
			}
			d.see(seen)
			piece := column.within(quarterSpan(floorDiv(samples[0].At, quarterMillis)))
			d.addColumn(column, summarize(samples[:end], piece, silence, before))
			last, before = samples[end-1], &last
			samples = samples[end:]
		}
		return nil
	})
}

// drawQuarters makes columns from roll-ups and counts the samples. The columns
// start at whole quarters of an hour, so the first and the last may reach beyond
// the time asked for.
func (d *drawing) drawQuarters() (samples int64, err error) {
	width := d.width(quarterMillis)
	start := floorDiv(d.span.from, quarterMillis) * quarterMillis
	err = d.eachSummary(func(q dated) {
		samples += int64(q.good) + int64(q.bad)
		t := quarterSpan(q.quarter)
		n := (t.from - start) / width
		d.see(t)
		d.addColumn(span{start + n*width, start + (n+1)*width}, q.summary)
	})
	d.finishColumn()
	return samples, err
}

// addColumn joins a summary to the column that is being made, or starts the next.
func (d *drawing) addColumn(t span, s summary) {
	if d.column == t {
		d.sum.join(s)
		return
	}
	d.finishColumn()
	d.column, d.sum = t, s
}

// finishColumn hands the column that is being made, if any, to the series.
func (d *drawing) finishColumn() {
	if d.column == (span{}) {
		return
	}
	d.out.Columns = append(d.out.Columns, Column{
		From: time.UnixMilli(d.column.from).UTC(), To: time.UnixMilli(d.column.to).UTC(), Good: d.sum.good, Bad: d.sum.bad,
		Covered: time.Duration(d.sum.covered) * time.Millisecond, Min: d.sum.low, Mean: d.sum.mean, Max: d.sum.high, Imported: d.sum.imported,
	})
}

// see notes that there are samples in a stretch.
func (d *drawing) see(t span) {
	if n := len(d.seen); n > 0 && t.from-d.seen[n-1].to <= d.channel.silence {
		d.seen[n-1].to = max(d.seen[n-1].to, t.to)
		return
	}
	d.seen = append(d.seen, t)
}
