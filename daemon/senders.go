package daemon

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"wetside/daemon/centre/wire"
	"wetside/daemon/notify"
	"wetside/daemon/outgoing"
	"wetside/daemon/remotewrite"
	"wetside/daemon/stamp"
	"wetside/daemon/uplink"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
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
		Cursor: outgoing.Bookmark(filepath.Join(d.options.Config.Data, "remote-write")), Clock: d.options.Clock, Log: d.options.Log})
	d.beside = append(d.beside, d.site.remote.Run)
	return err
}

// handedOn is every channel as an engine gets it: named and counted as in the metrics,
// corrected by the record in force at each time.
func (s *site) handedOn() []remotewrite.Series {
	var list []remotewrite.Series
	for _, r := range s.everyRoom() {
		for _, c := range r.config.Channels {
			m, ok := measures[c.Dimension]
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

// openTelling prepares to tell people outside of what needs them, where anybody is named.
func (d *Daemon) openTelling(context.Context) (err error) {
	c := d.options.Config
	if len(c.Notify) == 0 {
		return nil
	}
	d.site.keeping.teller, err = notify.New(notify.Options{People: c.Notify, Server: c.Mail, File: filepath.Join(c.Data, "notify.json"),
		Matters: d.site.matters, Facts: d.site.facts, Clock: d.options.Clock, Log: d.options.Log})
	d.beside = append(d.beside, d.site.keeping.teller.Run)
	return err
}

// facts are what each message says of the place.
func (s *site) facts() notify.Facts {
	c := s.settings()
	return notify.Facts{Checkpoint: s.store.Checkpoint().String(), Address: c.Address, Simulated: s.simulated, Zone: c.Zone}
}

// matters are what needs somebody who may not be there.
func (s *site) matters(ctx context.Context) ([]notify.Matter, error) {
	var list []notify.Matter
	for _, r := range s.Now().Rooms {
		for _, a := range r.Alarms {
			if m, needs := s.ofAlarm(r, a); needs {
				list = append(list, m)
			}
		}
	}
	duties, err := s.reports.Duties(ctx)
	if err != nil {
		return nil, err
	}
	for _, u := range duties {
		if !u.Overdue {
			continue
		}
		m := notify.Matter{Kind: notify.Duties, Key: fmt.Sprintf("duty %s %d", u.ID, u.Due.Unix()), Since: u.Due,
			Text: fmt.Sprintf("%s is overdue. Owner: %s.", u.Name, u.Owner), Do: "Do the duty and record it on the page Duties."}
		if u.Due.IsZero() {
			m.Key, m.Since, m.Text = "duty "+u.ID+" never", s.started.Wall, fmt.Sprintf("%s was never recorded as done. Owner: %s.", u.Name, u.Owner)
		}
		list = append(list, m)
	}
	return append(list, s.ofBackups()...), nil
}

// ofAlarm is the matter of an alarm that nobody has acknowledged: of the air, or one on
// which somebody must act now. What is over needs nobody to come.
func (s *site) ofAlarm(r *rules.Snapshot, a rules.AlarmView) (notify.Matter, bool) {
	if a.Acknowledged || !a.Over.IsZero() || !a.Urgent && !rules.OfTheAir(a.ID) {
		return notify.Matter{}, false
	}
	units := web.Units(s.settings().Units)
	return notify.Matter{Kind: notify.Alarms, Key: fmt.Sprintf("alarm %s %s %d", r.Room, a.ID, a.Since.UnixMilli()), Since: a.Since,
		Text: fmt.Sprintf("%s: %s. Nobody has acknowledged this alarm.", r.Name, a.Text.By(units)), Do: a.Act.By(units)}, true
}

// ofBackups are a backup that is late, and an older one that the book no longer agrees with.
func (s *site) ofBackups() (list []notify.Matter) {
	c, state, now := s.settings().Backup, s.keeping.backups.shown.Load(), s.clock.Now().Wall
	if c.Folder == "" {
		return nil
	}
	last := state.last.At
	if last.IsZero() {
		last = s.started.Wall
	}
	if now.Sub(last) > 2*c.Every {
		why := "Open the page Computer and software: it says why and makes a backup."
		if state.problem != nil {
			why = phrase.Capital(phrase.Error(state.problem, web.Units(s.settings().Units)))
		}
		list = append(list, notify.Matter{Kind: notify.Backups, Key: fmt.Sprintf("backup %d", last.Unix()), Since: last,
			Text: "No backup of the darkroom's record was made since then.", Do: why})
	}
	if state.doubt != nil {
		list = append(list, notify.Matter{Kind: notify.Backups, Key: "backup disagrees", Since: last,
			Text: "The record book no longer agrees with an older backup.",
			Do:   phrase.Capital(phrase.Error(state.doubt, web.Units(s.settings().Units)))})
	}
	return list
}
