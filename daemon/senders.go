package daemon

import (
	"context"
	"path/filepath"
	"time"

	"wetside/daemon/bookmark"
	"wetside/daemon/centre/wire"
	"wetside/daemon/remotewrite"
	"wetside/daemon/stamp"
	"wetside/daemon/uplink"
)

// openRemoteWrite prepares to hand readings on to a time-series engine, where one is
// configured.
func (d *Daemon) openRemoteWrite(context.Context) (err error) {
	w := d.options.Config.RemoteWrite
	if w.URL == "" {
		return nil
	}
	d.site.remote, err = remotewrite.New(remotewrite.Options{URL: w.URL, Token: w.Token, Labels: w.Labels, Series: d.site.handedOn,
		Source: d.store,
		Cursor: bookmark.File(filepath.Join(d.options.Config.Data, "remote-write")), Clock: d.options.Clock, Log: d.options.Log})
	d.beside = append(d.beside, d.site.remote.Run)
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

// openUplink prepares to send the book to a centre, where one is configured.
func (d *Daemon) openUplink(context.Context) (err error) {
	c := d.options.Config
	if c.Centre.URL == "" {
		return nil
	}
	d.site.uplink, err = uplink.New(uplink.Options{
		URL: c.Centre.URL, Key: c.Centre.Key, Fingerprint: c.Centre.Fingerprint,
		About: wire.About{Version: d.options.Version, Zone: c.Zone.String(), Simulated: d.options.Simulated},
		Book:  d.store, Clock: d.options.Clock, Log: d.options.Log,
	})
	d.beside = append(d.beside, d.site.uplink.Run)
	return err
}

// uplink gives how the sending to the centre does; nothing where none is configured.
func (s sample) uplink(site *site) {
	if site.uplink == nil {
		return
	}
	x := site.uplink.Standing()
	s.counter("centre_sent_bytes_total", float64(x.Bytes))
	s.counter("centre_failed_total", float64(x.Failed))
	if !x.At.IsZero() {
		s.gauge("centre_answer_timestamp_seconds", float64(x.At.UnixMilli())/1000)
	}
}

// openStamps prepares to have the record book stamped, where an authority is configured.
func (d *Daemon) openStamps(context.Context) (err error) {
	c := d.options.Config.TimeStamp
	if c.URL == "" {
		return nil
	}
	d.site.keeping.stamps, err = stamp.New(stamp.Options{URL: c.URL, Every: c.Every, Roots: c.Roots,
		Folder: filepath.Join(d.options.Config.Data, stamp.Folder), Newest: d.store.Checkpoint, Clock: d.options.Clock, Log: d.options.Log})
	d.beside = append(d.beside, d.site.keeping.stamps.Run)
	return err
}
