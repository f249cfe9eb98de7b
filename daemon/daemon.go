// Package daemon runs a site all evening: it opens the history, watches every
// line, keeps one loop a room, and serves the pages. [New] builds and fails
// early, [Daemon.Run] works until its context ends and closes everything.
package daemon

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"path/filepath"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"go.uber.org/zap"

	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/webhook"
	"wetside/dashboard"
	"wetside/dashboard/record"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
)

// Options say what a daemon runs and with what means; everything that a test
// would swap is injected here, once.
type Options struct {
	Config config.Config
	// Simulated marks every page and every record of a start.
	Simulated bool
	Version   string

	Clock    sensors.Clock
	Opener   sensors.Opener
	Log      *zap.Logger
	Registry *prometheus.Registry
	// Listener takes the place of the configured address when not nil.
	Listener net.Listener
}

func (o Options) check() error {
	switch {
	case o.Clock == nil, o.Opener == nil, o.Log == nil, o.Registry == nil:
		return errors.New("a daemon needs a clock, an opener of lines, a log and a registry of metrics")
	case len(o.Config.Rooms) == 0:
		return errors.New("a daemon needs at least one room")
	}
	return nil
}

func (o Options) address() string {
	if o.Listener != nil {
		return o.Listener.Addr().String()
	}
	return o.Config.Listen
}

const (
	// tick is how often a room is judged when nothing comes in, since silence is a finding, and how
	// long samples wait at most to be written together.
	tick = time.Second
	// gather is how many updates of lines are taken into one turn at most.
	gather = 64
	// stuckAfter is how long a loop may go without a turn before it counts as stuck.
	stuckAfter = 5 * time.Second
)

// Daemon runs a site. Make one with [New]; it lives until [Daemon.Run] returns.
type Daemon struct {
	options  Options
	store    *history.Store
	recalls  *recalls
	site     *site
	pages    *dashboard.Server
	past     lookBack
	entrance entrance
	reloads  chan reload
	watching watching
	sender   *webhook.Sender         // nil when nobody is to be told
	beside   []func(context.Context) // what runs until the end beside the rooms and the pages
}

// New opens the history, the rooms and the listening address, in this order. What
// it has opened is closed again when a later step fails.
func New(ctx context.Context, o Options) (_ *Daemon, err error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	if err := config.CheckOpen(o.address(), o.Config.Access); err != nil {
		return nil, err
	}
	d := &Daemon{options: o, reloads: make(chan reload)}
	defer func() {
		if err != nil {
			err = errors.Join(err, d.closeOpened())
		}
	}()
	for _, open := range []func(context.Context) error{d.openSite, d.openWebhook, d.openRemoteWrite, d.openStamps, d.openTelling, d.openUplink,
		d.registerMetrics, d.openPages} {
		if err := open(ctx); err != nil {
			return nil, err
		}
	}
	return d, nil
}

func (d *Daemon) openSite(ctx context.Context) error {
	kept := newFaults()
	d.options.Log = kept.watch(d.options.Log)
	o := d.options
	kinds, err := Kinds()
	if err != nil {
		return err
	}
	d.store, err = history.Open(ctx, history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: o.Config.Zone, Version: o.Version,
		Kinds: kinds})
	if err != nil {
		return err
	}
	if d.recalls, err = openRecalls(ctx, o, d.store); err != nil {
		return err
	}
	if err := kept.recall(o.Config.Data); err != nil {
		o.Log.Warn("the last errors of the run before are not known", zap.Error(err))
	}
	d.site = &site{clock: o.Clock, store: d.store, kinds: kinds, chronicle: audit.NewChronicle(&d.store.Reader), simulated: o.Simulated,
		version: o.Version, started: o.Clock.Now()}
	d.site.shelf = newShelf(o, d.store, d.site)
	d.site.reports = newReports(d.site)
	copies, err := newBackups(ctx, d.site, o.Log)
	if err != nil {
		return err
	}
	d.site.keeping = keeping{site: d.site, backups: copies, faults: kept}
	if d.site.screens, err = openScreens(ctx, d.store); err != nil {
		return err
	}
	rooms, err := d.build(ctx, o.Config)
	if err != nil {
		return err
	}
	d.site.swap(o.Config, rooms)
	if err := d.site.shelf.start(ctx, o.Config); err != nil {
		return err
	}
	showFirst(rooms)
	return nil
}

func (d *Daemon) openPages(ctx context.Context) error {
	if err := d.openEntrance(); err != nil {
		return err
	}
	metrics := promhttp.HandlerFor(d.options.Registry, promhttp.HandlerOpts{
		Registry: d.options.Registry, EnableOpenMetrics: true, MaxRequestsInFlight: 4, Timeout: 10 * time.Second,
		ErrorHandling: promhttp.HTTPErrorOnError,
	})
	d.past = lookBack{d.site, newBoards(d.site.store)}
	before, err := readFiled(ctx, d.store, d.options.Clock.Now().Wall)
	if err != nil {
		return err
	}
	d.pages, err = dashboard.New(dashboard.Options{View: d.site, Gate: d.entrance.gate.Check, Accounts: d.entrance.door(),
		OpenReading: d.options.Config.Access.OpenReading, Fingerprint: d.entrance.fingerprint(),
		Shelf: d.site.shelf, Timers: d.site, Reports: d.site.reports, Measured: measured{d.site}, Past: d.past, Then: d.past,
		Screens: d.site.screens, Maintenance: d.site.keeping, Filed: before.of, Metrics: metrics, Log: d.options.Log, Clock: d.options.Clock})
	return err
}

// openWebhook prepares to tell another program of alarms, where one is configured.
func (d *Daemon) openWebhook(ctx context.Context) (err error) {
	w := d.options.Config.Webhook
	if w.URL == "" {
		return nil
	}
	d.sender, err = webhook.New(ctx, webhook.Options{URL: w.URL, Secret: w.Secret, Kinds: []string{rules.AlarmChange,
		rules.AcknowledgeAlarm{}.Kind()},
		Cursor: filepath.Join(d.options.Config.Data, "webhook"), Refuse: d.entrance.refuse, Book: d.store, Clock: d.options.Clock,
		Log: d.options.Log})
	d.beside = append(d.beside, d.sender.Run)
	return err
}

func (d *Daemon) build(ctx context.Context, c config.Config) ([]*room, error) {
	var rooms []*room
	for _, rc := range c.Rooms {
		r := newRoom(rc, d.options, d.recalls)
		r.shelf, r.changed = d.site.shelf, d.site.listeners.Tell
		if err := r.prepare(ctx); err != nil {
			return nil, err
		}
		rooms = append(rooms, r)
	}
	now := c.Settings()
	now.Simulated = d.options.Simulated
	return rooms, audit.Keep(ctx, d.store, now)
}

// URL is the address of the dashboard.
func (d *Daemon) URL() string { return d.entrance.url() }

// Log is the log that the keeper's page shows the warnings and errors of.
func (d *Daemon) Log() *zap.Logger { return d.options.Log }

// Health is nil while every loop turns and history can be written.
func (d *Daemon) Health() error { return d.site.Health() }

// Run works until ctx ends, then closes lines, pages and history, in that order,
// and returns what went wrong on the way.
func (d *Daemon) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	failed := make(chan error, 1)
	server := d.server(ctx)
	var serving sync.WaitGroup
	serving.Go(func() {
		if err := d.entrance.serve(server); !errors.Is(err, http.ErrServerClosed) {
			failed <- fmt.Errorf("the dashboard stopped serving: %w", err)
		}
	})
	d.watching.start(ctx, d.site, d.options)
	serving.Go(func() { d.past.readAhead(ctx) })
	serving.Go(func() { d.recalls.run(ctx, d.site) })
	serving.Go(func() { d.site.keeping.backups.run(ctx) })
	serving.Go(func() { d.site.keeping.faults.run(ctx, d.options.Clock, d.options.Config.Data) })
	for _, run := range d.beside {
		serving.Go(func() { run(ctx) })
	}
	err := d.work(ctx, failed)
	cancel()
	return errors.Join(err, d.shut(server, &serving))
}

// work waits for the end, and reads the configuration again when asked to.
func (d *Daemon) work(ctx context.Context, failed <-chan error) error {
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-failed:
			return err
		case r := <-d.reloads:
			r.reply <- d.reload(ctx, r.config)
		}
	}
}

// shut ends everything, last opened first, and waits for every goroutine.
func (d *Daemon) shut(server *http.Server, serving *sync.WaitGroup) error {
	d.pages.Close()
	d.watching.stop()
	retire(d.site.everyRoom()) // before the pages are waited for: a form may wait for its room
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil {
		_ = server.Close()
	}
	serving.Wait()
	d.site.shelf.end()
	if err := d.store.Close(); err != nil {
		return fmt.Errorf("the history was not closed cleanly: %w", err)
	}
	return nil
}

func (d *Daemon) closeOpened() error {
	var errs []error
	if d.entrance.listener != nil {
		errs = append(errs, d.entrance.listener.Close())
	}
	if d.site != nil && d.site.shelf != nil {
		d.site.shelf.end()
	}
	if d.store != nil {
		errs = append(errs, d.store.Close())
	}
	return errors.Join(errs...)
}

// Turning is nil while the loop of every room turns.
func (d *Daemon) Turning() error { return d.site.turning() }

// Do hands a person's act to the room it is meant for; see [dashboard.View].
func (d *Daemon) Do(ctx context.Context, c rules.Command) (rules.Receipt, error) {
	return d.site.Do(ctx, c)
}

// Reports holds the duties and reports of the site; see [record.Reports].
func (d *Daemon) Reports() record.Reports { return d.site.reports }

// Now is the newest state of every room.
func (d *Daemon) Now() *web.Site { return d.site.Now() }

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
	carryTimers(ended, rooms)
	showFirst(rooms)
	d.site.swap(c, rooms)
	retire(ended)
	d.watching = watching{}
	d.watching.start(ctx, d.site, d.options)
	d.options.Log.Info("the configuration was read again", zap.Int("rooms", len(rooms)))
	return nil
}
