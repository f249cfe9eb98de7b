package daemon

import (
	"path/filepath"

	"wetside/daemon/stamp"
)

// openStamps prepares to have the record book stamped, where an authority is configured.
func (d *Daemon) openStamps() error {
	c := d.options.Config.TimeStamp
	if c.URL == "" {
		return nil
	}
	o := stamp.Options{URL: c.URL, Every: c.Every, Folder: filepath.Join(d.options.Config.Data, stamp.Folder), Newest: d.store.Checkpoint,
		Clock: d.options.Clock, Log: d.options.Log}
	var err error
	if c.Authority != "" {
		if o.Roots, err = stamp.Roots(c.Authority); err != nil {
			return err
		}
	}
	d.site.keeping.stamps, err = stamp.New(o)
	return err
}
