package history

import (
	"context"
	"errors"
	"iter"
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
// for whoever asks only when there were some. After an error it ends.
func (s *Reader) Runs(ctx context.Context, q RunQuery) iter.Seq2[Run, error] {
	return func(yield func(Run, error) bool) {
		err := s.view(ctx, func(v view) error {
			c, err := v.channel(q.Channel)
			if err != nil {
				return err
			}
			words, err := v.words()
			if err != nil {
				return err
			}
			r := runner{pause: q.Pause.Milliseconds(), yield: func(first, last pack.Sample) bool {
				from := sampleOf(q.Channel, first, words)
				return yield(Run{from.At, time.UnixMilli(last.At).UTC(), from.Grade, from.Reason, from.Imported}, nil)
			}}
			if err := v.eachQuarter(c.code, spanOf(q.From, q.To), r.take); err != nil {
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
