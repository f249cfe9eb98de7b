package daemon

import (
	"path/filepath"
	"time"

	"wetside/daemon/bookmark"
	"wetside/daemon/remotewrite"
)

// openRemoteWrite prepares to hand readings on to a time-series engine, where one is
// configured.
func (d *Daemon) openRemoteWrite() (err error) {
	w := d.options.Config.RemoteWrite
	if w.URL == "" {
		return nil
	}
	d.site.remote, err = remotewrite.New(remotewrite.Options{URL: w.URL, Token: w.Token, Labels: w.Labels, Series: d.site.handedOn,
		Source: d.store,
		Cursor: bookmark.File(filepath.Join(d.options.Config.Data, "remote-write")), Clock: d.options.Clock, Log: d.options.Log})
	return err
}

// handedOn is every channel as an engine gets it: named and counted as in the metrics,
// corrected by the record in force at each time.
func (s *site) handedOn() []remotewrite.Series {
	var list []remotewrite.Series
	for _, r := range s.everyRoom() {
		for _, c := range r.config.Channels {
			m, ok := measureOf(c.Dimension)
			if !ok {
				continue
			}
			list = append(list, remotewrite.Series{Channel: c.ID, Room: r.config.ID, Metric: metricName(m.name), Silence: c.Silence,
				Value: func(raw float64, at time.Time) float64 { return m.value(c.Correct(c.Unit.ToBase(raw), at)) }})
		}
	}
	return list
}

// remoteWrite gives how far the engine is behind, and what it took; nothing where none
// is configured.
func (s sample) remoteWrite(site *site) {
	if site.remote == nil {
		return
	}
	x := site.remote.Standing()
	s.counter("remote_write_samples_total", float64(x.Written), "written")
	s.counter("remote_write_samples_total", float64(x.Rejected), "rejected")
	s.counter("remote_write_samples_total", float64(x.Present), "already there")
	s.counter("remote_write_samples_total", float64(x.OutOfOrder), "out of order")
	s.counter("remote_write_failed_total", float64(x.Failed))
	s.gauge("remote_write_behind_seconds", x.Behind.Seconds())
}
