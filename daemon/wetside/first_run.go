package main

import (
	"cmp"
	"context"
	"errors"
	"os"
	"path/filepath"

	systemd "github.com/coreos/go-systemd/v22/daemon"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/sensors"
	"wetside/sensors/serialport"
)

// atFirst has a configuration made on a page where there is none yet and that was asked for.
func (c *runCmd) atFirst(ctx context.Context, log *zap.Logger) error {
	if _, err := os.Stat(c.Config); !c.First || !errors.Is(err, os.ErrNotExist) {
		return nil
	}
	file, err := filepath.Abs(c.Config)
	if err != nil {
		return err
	}
	o := daemon.FirstRunOptions{Listen: cmp.Or(c.Listen, "127.0.0.1:8420"), Data: cmp.Or(c.Data, "data"), File: file, Version: version(),
		Clock: sensors.NewSystemClock(1), Opener: serialport.New(), Ports: serialport.List, Log: log}
	log.Info("there is no configuration yet: open the page of the first start", zap.String("address", "http://"+o.Listen),
		zap.String("file", file))
	notify(systemd.SdNotifyReady)
	alive, stop := watchdog()
	defer stop()
	finished := make(chan error, 1)
	go func() { finished <- daemon.FirstRun(ctx, o) }()
	for {
		select {
		case err := <-finished:
			return err
		case <-alive:
			notify(systemd.SdNotifyWatchdog)
		}
	}
}
