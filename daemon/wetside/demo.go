package main

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/zap"

	"wetside/configs"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/sensors"
	"wetside/sensors/serialport"
	"wetside/sensors/simroom"
)

type demoCmd struct {
	Listen  string   `default:"127.0.0.1:8420" placeholder:"HOST:PORT" help:"The address of the dashboard (127.0.0.1:8420)."`
	Data    string   `placeholder:"DIR" help:"The folder that keeps the simulated history; a folder of its own when left out."`
	Speed   float64  `default:"1" help:"How many times faster than life the room runs, 1 to 600."`
	Trouble []string `sep:"none" placeholder:"WHEN WHAT" help:"Something that goes wrong at a time after the start; may be given again."`
	Class   bool     `help:"Begin with the trays of a class just filled, instead of before it."`
	Empty   bool     `help:"Begin with an empty book, instead of eight weeks of invented evenings."`
	Seed    uint64   `default:"1" help:"Two rooms of one seed have the same noise."`
	Log     string   `enum:"console,json" default:"console" help:"How to write the log: console or json."`
	atCentre
}

// Help shows the command in use.
func (demoCmd) Help() string {
	return `Examples:
  wetside demo
  wetside demo --class --speed 20 --data demo-data
  wetside demo --trouble "2m pull trays 30s" --trouble "5m stop fan"

While it runs, type what is to go wrong and press Enter:
` + indent(simroom.Help())
}

func indent(text string) string {
	return "  " + strings.ReplaceAll(strings.TrimSpace(text), "\n", "\n  ")
}

// prepared is the simulated site: its configuration, and what is to happen in it.
func (c *demoCmd) prepared() (config.Config, []simroom.Event, error) {
	if !(c.Speed >= 1 && c.Speed <= 600) {
		return config.Config{}, nil, unusable("--speed %g is not usable: expected 1 to 600", c.Speed)
	}
	if _, _, err := net.SplitHostPort(c.Listen); err != nil {
		return config.Config{}, nil, unusable("--listen %q is not an address: expected host:port, such as 127.0.0.1:8420", c.Listen)
	}
	evening := simroom.BeforeClass
	if c.Class {
		evening = simroom.Evening
	}
	events, err := evening()
	if err != nil {
		return config.Config{}, nil, err
	}
	for _, t := range c.Trouble {
		more, err := simroom.ParseSchedule(t)
		if err != nil {
			return config.Config{}, nil, usageError{fmt.Errorf("--trouble: %w", err)}
		}
		events = append(events, more...)
	}
	site, err := config.Parse("demo.toml", configs.Demo)
	if err != nil {
		return site, nil, err
	}
	site.Listen, site.Data = c.Listen, c.Data
	site.Data = cmp.Or(site.Data, demoFolder())
	site.Centre, err = c.configured()
	return site, events, err
}

// demoFolder keeps the simulated history apart from any real one.
func demoFolder() string {
	base, err := os.UserCacheDir()
	if err != nil {
		base = os.TempDir()
	}
	return filepath.Join(base, "wetside", "simulated-room")
}

// Run runs the simulated room until ctx ends.
func (c *demoCmd) Run(ctx context.Context, out io.Writer) error {
	if !signal.Ignored(syscall.SIGHUP) { // whoever closes its window ends it, unless it was started to outlive that
		var stop func()
		ctx, stop = signal.NotifyContext(ctx, syscall.SIGHUP)
		defer stop()
	}
	site, events, err := c.prepared()
	if err != nil {
		return err
	}
	if err := history.Free(site.Data); err != nil { // its ports would be taken away from the other one
		return err
	}
	log, err := newLog(c.Log)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", c.Listen) // before the past is invented, which takes minutes on a busy computer
	if err != nil {
		return fmt.Errorf("the dashboard can't listen on %s: close the program that has this address, or choose another with --listen: %w",
			c.Listen, err)
	}
	defer listener.Close()
	evenings, err := c.invent(ctx, out, site, log)
	if err != nil {
		return err
	}
	clock := sensors.NewSystemClock(c.Speed)
	// The room outlives the daemon, so that its ports stay until they are closed.
	sim, err := simroom.Start(context.WithoutCancel(ctx), simroom.Options{
		Clock: clock, Dir: filepath.Join(site.Data, "ports"), Seed: c.Seed, Events: events})
	if err != nil {
		return fmt.Errorf("the simulated room can't be set up: %w", err)
	}
	defer sim.Stop()
	plugIn(&site, sim, c.Speed)
	d, err := daemon.New(ctx, daemon.Options{
		Config: site, Simulated: true, Version: version(), Clock: clock, Opener: opener(sim),
		Log: log, Registry: prometheus.NewRegistry(), Listener: listener,
	})
	if err != nil {
		return err
	}
	if err := writeLine(out, fmt.Sprintf("A simulated room on %s, at %g times the speed of life. Dashboard: %s", sim.Kind(), c.Speed,
		d.URL())); err != nil {
		return err
	}
	if c.Class {
		go fillTrays(ctx, d, site.Rooms[0], evenings)
	} else {
		go followBook(ctx, d, sim, site)
	}
	go listen(os.Stdin, sim, log)
	return attend(ctx, d, rereading{})
}

// opener is the real serial room, unless the computer has no pseudo-terminals.
func opener(sim *simroom.Room) sensors.Opener {
	if o := sim.Opener(); o != nil {
		return o
	}
	return serialport.New()
}

// plugIn names the simulated ports in the configuration. However fast the room
// runs, the computer under it needs some real seconds before silence means anything.
func plugIn(site *config.Config, sim *simroom.Room, speed float64) {
	least := time.Duration(speed * float64(3*time.Second))
	for i := range site.Rooms {
		r := &site.Rooms[i]
		for j := range r.Lines {
			l := &r.Lines[j]
			l.Settings.Path = sim.Path(string(l.ID))
			l.Silence = max(l.Silence, least)
			for address, c := range l.Channels {
				c.Silence = max(c.Silence, least)
				l.Channels[address] = c
			}
		}
		for j := range r.Channels {
			r.Channels[j].Silence = max(r.Channels[j].Silence, least)
		}
	}
}

// listen takes troubles typed by a person, one a line, until the input ends.
func listen(in io.Reader, sim *simroom.Room, log *zap.Logger) {
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		text := strings.TrimSpace(lines.Text())
		if text == "" {
			continue
		}
		t, err := simroom.ParseTrouble(text)
		if err == nil {
			err = sim.Do(t)
		}
		if err != nil {
			log.Warn("nothing was done", zap.String("typed", text), zap.Error(err))
			continue
		}
		log.Info("something was typed for the simulated room", zap.String("typed", text))
	}
}
