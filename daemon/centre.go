package daemon

import (
	"wetside/daemon/centre/wire"
	"wetside/daemon/uplink"
)

// openUplink prepares to send the book to a centre, where one is configured.
func (d *Daemon) openUplink() (err error) {
	c := d.options.Config
	if c.Centre.URL == "" {
		return nil
	}
	d.site.uplink, err = uplink.New(uplink.Options{
		URL: c.Centre.URL, Key: c.Centre.Key, Fingerprint: c.Centre.Fingerprint,
		About: wire.About{Version: d.options.Version, Zone: c.Zone.String(), Simulated: d.options.Simulated},
		Book:  d.store, Clock: d.options.Clock, Log: d.options.Log,
	})
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
