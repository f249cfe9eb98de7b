package daemon

import (
	"context"
	"runtime"
	"time"

	"go.uber.org/zap"
)

// askWithin is how long a collection may wait for the history.
const askWithin = 5 * time.Second

// outside gives what the place owes to people and programs beyond the room.
func (s sample) outside(d *Daemon) {
	s.gauge("build_info", 1, d.options.Version, runtime.Version())
	if end, known := d.entrance.ends(); known {
		s.gauge("certificate_end_timestamp_seconds", float64(end.Unix()))
	}
	if d.sender != nil {
		s.gauge("webhook_waiting", float64(d.sender.Standing().Waiting))
	}
	if d.site.keeping.teller != nil {
		s.gauge("messages_waiting", float64(d.site.keeping.teller.Standing().Waiting))
	}
	if stamps := d.site.keeping.stamps; stamps != nil && !stamps.Standing().Last.At.IsZero() {
		s.gauge("time_stamp_last_timestamp_seconds", float64(stamps.Standing().Last.At.Unix()))
	}
	ctx, cancel := context.WithTimeout(context.Background(), askWithin)
	defer cancel()
	duties, err := d.site.office.Duties(ctx)
	if err != nil {
		d.options.Log.Warn("the duties can't be counted", zap.Error(err))
	}
	for _, u := range duties {
		s.gauge("duty_overdue", asNumber(u.Overdue), u.ID, u.Owner)
	}
}

// ends is when the certificate of the pages ends.
func (e *entrance) ends() (time.Time, bool) {
	if e.secure == nil {
		return time.Time{}, false
	}
	return e.secure.Certificates[0].Leaf.NotAfter, true
}
