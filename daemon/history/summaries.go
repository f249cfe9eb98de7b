package history

import (
	"context"
	"time"

	"wetside/sensors"
)

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
		err = d.eachSummary(func(q dated) { d.addColumn(quarterSpan(q.quarter), q.summary) })
		d.finishColumn()
		return err
	})
	return out.Columns, err
}
