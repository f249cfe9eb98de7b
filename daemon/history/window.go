package history

import (
	"context"
	"errors"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// Window is a stretch of time of some channels.
type Window struct {
	Channels []sensors.ChannelID
	// From is in it, To is not.
	From, To time.Time
}

// Between gives the samples of a short window, channel by channel in the order of the
// window, each in the order of time. A channel that nothing is known of has none.
// What is not yet sealed is read once for all channels.
func (s *Reader) Between(ctx context.Context, w Window) ([][]Sample, error) {
	out := make([][]Sample, len(w.Channels))
	t := spanOf(w.From, w.To)
	err := s.view(ctx, func(v view) error {
		words, err := v.words()
		if err != nil {
			return err
		}
		tail := map[int64][]pack.Sample{}
		first, end := t.quarters()
		err = v.eachTail(first, end, func(x tailSample) {
			if x.At >= t.from && x.At < t.to {
				tail[int64(x.channel)] = append(tail[int64(x.channel)], x.Sample)
			}
		})
		for i, id := range w.Channels {
			c, unknown := v.channel(id)
			if err != nil || errors.Is(unknown, ErrUnknownChannel) {
				continue
			}
			if err = unknown; err != nil {
				return err
			}
			var samples []pack.Sample
			err = v.eachBlock(c.code, t, func(_ int64, sealed []pack.Sample) error {
				samples = append(samples, t.cut(sealed)...)
				return nil
			})
			one := Sample{Channel: id}
			for _, p := range t.cut(append(samples, tail[c.code]...)) {
				one.set(&p, words)
				out[i] = append(out[i], one)
			}
		}
		return err
	})
	return out, err
}

// NextSample gives when the first sample of any of the channels comes at or after
// From; false when there is none before To.
func (s *Reader) NextSample(ctx context.Context, w Window) (at time.Time, found bool, err error) {
	for _, id := range w.Channels {
		for x, err := range s.Samples(ctx, id, w.From, w.To) {
			if errors.Is(err, ErrUnknownChannel) {
				break
			}
			if err != nil {
				return at, found, err
			}
			if !found || x.At.Before(at) {
				at, found = x.At, true
			}
			break
		}
	}
	return at, found, nil
}
