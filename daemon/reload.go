package daemon

import (
	"context"
	"errors"
	"fmt"

	"go.uber.org/zap"

	"wetside/daemon/config"
)

// reload asks the running daemon to take another configuration.
type reload struct {
	config config.Config
	reply  chan error
}

// Reload puts a configuration in force that was read and checked already. Lines
// and rooms start anew; the history, the address and what stands in the trays
// stay. When it fails, the old configuration stays in force.
func (d *Daemon) Reload(ctx context.Context, c config.Config) error {
	r := reload{c, make(chan error, 1)}
	select {
	case d.reloads <- r:
		return <-r.reply
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (d *Daemon) reload(ctx context.Context, c config.Config) error {
	old := d.site.present().config
	if len(c.Rooms) == 0 {
		return errors.New("the new configuration has no room: the old one stays in force")
	}
	if c.Listen != old.Listen || c.Data != old.Data {
		d.options.Log.Warn("listen and data are taken at a start only: restart to change them",
			zap.String("listen", c.Listen), zap.String("data", c.Data))
	}
	d.watching.stop()
	rooms, err := d.build(ctx, c)
	if err == nil {
		err = d.site.shelf.reconfigure(ctx, c)
	}
	if err != nil {
		d.watching = watching{}
		d.watching.start(ctx, d.site, d.options)
		return fmt.Errorf("the old configuration stays in force: %w", err)
	}
	ended := d.site.everyRoom()
	carryClocks(ended, rooms)
	showFirst(rooms)
	d.site.swap(c, rooms)
	retire(ended)
	d.watching = watching{}
	d.watching.start(ctx, d.site, d.options)
	d.options.Log.Info("the configuration was read again", zap.Int("rooms", len(rooms)))
	return nil
}
