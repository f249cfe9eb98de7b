package daemon

import (
	"path/filepath"

	"wetside/daemon/stamp"
)

// openStamps prepares to have the record book stamped, where an authority is configured.
func (d *Daemon) openStamps() (err error) {
	c := d.options.Config.TimeStamp
	if c.URL == "" {
		return nil
	}
	d.site.keeping.stamps, err = stamp.New(stamp.Options{URL: c.URL, Every: c.Every, Roots: c.Roots,
		Folder: filepath.Join(d.options.Config.Data, stamp.Folder), Newest: d.store.Checkpoint, Clock: d.options.Clock, Log: d.options.Log})
	return err
}
