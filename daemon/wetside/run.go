package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	systemd "github.com/coreos/go-systemd/v22/daemon"
	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors"
	"wetside/sensors/serialport"
)

type runCmd struct {
	Config string `required:"" placeholder:"FILE" help:"The configuration of the site."`
	Data   string `placeholder:"DIR" help:"The folder that keeps the history, instead of the one in the configuration."`
	Listen string `placeholder:"HOST:PORT" help:"The address of the dashboard, instead of the one in the configuration."`
	First  bool   `name:"first-run" help:"Where the configuration is not there yet, show a page that makes it."`
	Log    string `enum:"console,json" default:"console" help:"How to write the log: console or json."`
}

// load reads the configuration with the changes of the command line. A file that
// can't be used is the caller's mistake.
func (c *runCmd) load() (config.Config, error) {
	site, err := config.Load(c.Config)
	if err != nil {
		return site, usageError{err}
	}
	if c.Data != "" {
		site.Data = c.Data
	}
	if c.Listen != "" {
		site.Listen = c.Listen
	}
	if err := site.CheckEntrance(); err != nil {
		return site, usageError{err}
	}
	return site, nil
}

// Run runs the site until ctx ends.
func (c *runCmd) Run(ctx context.Context) error {
	hangUp := make(chan os.Signal, 1)
	signal.Notify(hangUp, syscall.SIGHUP)
	defer signal.Stop(hangUp)
	log, err := newLog(c.Log)
	if err != nil {
		return err
	}
	if err := c.atFirst(ctx, log); err != nil || ctx.Err() != nil {
		return err
	}
	site, err := c.load()
	if err != nil {
		return err
	}
	d, err := daemon.New(ctx, daemon.Options{
		Config: site, Version: version(), Clock: sensors.NewSystemClock(1), Opener: serialport.New(),
		Log: log, Registry: prometheus.NewRegistry(),
	})
	if err != nil {
		return err
	}
	log.Info("the dashboard is ready", zap.String("address", d.URL()), zap.String("data", site.Data), zap.String("version", version()))
	return attend(ctx, d, rereading{hangUp, c.load})
}

type rereading struct {
	asked <-chan os.Signal
	load  func() (config.Config, error)
}

// attend runs a daemon and keeps the service manager informed: ready, alive,
// reading again, stopping.
func attend(ctx context.Context, d *daemon.Daemon, again rereading) error {
	log := d.Log()
	finished := make(chan error, 1)
	go func() { finished <- d.Run(ctx) }()
	alive, stop := watchdog()
	defer stop()
	notify(systemd.SdNotifyReady)
	done := ctx.Done()
	for {
		select {
		case err := <-finished:
			return err
		case <-done:
			log.Info("wetside was told to stop") // so that a log which ends without it tells of a crash or a cut of the power
			notify(systemd.SdNotifyStopping)
			done = nil
		case <-alive:
			if err := d.Turning(); err != nil {
				log.Error("the watchdog got no sign of life", zap.Error(err))
				continue
			}
			notify(systemd.SdNotifyWatchdog)
		case <-again.asked:
			notify(systemd.SdNotifyReloading + "\n" + systemd.SdNotifyMonotonicUsec())
			if err := reread(ctx, d, again.load); err != nil {
				log.Error("the old configuration stays in force", zap.Error(err))
			}
			notify(systemd.SdNotifyReady)
		}
	}
}

func reread(ctx context.Context, d *daemon.Daemon, load func() (config.Config, error)) error {
	c, err := load()
	if err != nil {
		return err
	}
	return d.Reload(ctx, c)
}

// watchdog ticks at half the interval that the service manager allows, if it watches.
func watchdog() (<-chan time.Time, func()) {
	interval, err := systemd.SdWatchdogEnabled(false)
	if err != nil || interval <= 0 {
		return nil, func() {}
	}
	t := time.NewTicker(interval / 2)
	return t.C, t.Stop
}

// notify tells the service manager; where there is none, nothing happens.
func notify(state string) { _, _ = systemd.SdNotify(false, state) }

func newLog(form string) (*zap.Logger, error) {
	c := zap.NewProductionConfig()
	c.Encoding = form
	c.Sampling = nil
	c.DisableStacktrace = true
	c.DisableCaller = true
	c.EncoderConfig.EncodeTime = func(t time.Time, e zapcore.PrimitiveArrayEncoder) {
		e.AppendString(t.Format("2006-01-02 15:04:05.000Z07:00"))
	}
	log, err := c.Build()
	if err != nil {
		return nil, fmt.Errorf("the log can't be opened: %w", err)
	}
	return log, nil
}

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
