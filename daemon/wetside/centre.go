package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/centre"
	"wetside/daemon/centre/wire"
	"wetside/daemon/config"
	"wetside/daemon/doorway"
	"wetside/daemon/sites"
	"wetside/rules/access"
	"wetside/sensors"
)

type centreCmd struct {
	Serve     centreServeCmd     `cmd:"" default:"withargs" help:"Receive what sites send and show the pages, as wetside centre does."`
	AddSite   centreAddSiteCmd   `cmd:"" help:"Add a site: prints its key, once, and what to write into its configuration."`
	CloseSite centreCloseSiteCmd `cmd:"" help:"Accept nothing more from a site; what it sent is kept."`
	Grant     centreGrantCmd     `cmd:"" help:"Let the centre run as a database role that can add, but not change or delete."`
}

// centreDatabase is the database that every sub-command works on.
type centreDatabase struct {
	Database string `required:"" placeholder:"URL" env:"WETSIDE_DATABASE" help:"The database, such as postgres://wetside@localhost/wetside."`
}

func (c centreDatabase) open(ctx context.Context, work func(*centre.Store) error) error {
	store, err := centre.Open(ctx, c.Database)
	if err != nil {
		return err
	}
	defer store.Close()
	return work(store)
}

type centreServeCmd struct {
	centreDatabase
	Listen      string   `default:"127.0.0.1:8430" placeholder:"HOST:PORT" help:"The address at which sites send and the pages are shown."`
	Data        string   `default:"centre" placeholder:"DIR" help:"A folder for who may sign in and for the centre's own certificate."`
	SignIn      bool     `help:"Have people sign in for the pages, also on this computer. Beyond this computer they always do."`
	House       string   `placeholder:"FILE" help:"A file with [house]: an identity provider by which people sign in too."`
	SecondStep  string   `enum:"none,manager,keeper" default:"none" help:"The lowest role that needs a code from an app."`
	Certificate string   `placeholder:"FILE" help:"A certificate for TLS; without one the centre makes its own."`
	Key         string   `placeholder:"FILE" help:"The key of the certificate."`
	Host        []string `placeholder:"NAME" help:"A name under which the centre is reached; may be given again."`
	Log         string   `enum:"console,json" default:"console" help:"How to write the log: console or json."`
}

// Run takes what sites send until ctx ends.
func (c *centreServeCmd) Run(ctx context.Context) (err error) {
	log, err := newLog(c.Log)
	if err != nil {
		return err
	}
	if (c.Certificate == "") != (c.Key == "") {
		return unusable("--certificate and --key belong together: give both, or none to have one made")
	}
	store, err := centre.Open(ctx, c.Database)
	if err != nil {
		return err
	}
	defer store.Close()
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("the centre can't listen on %s: close the program that has this address, or choose another with --listen: %w",
			c.Listen, err)
	}
	c.Listen = listener.Addr().String()
	papers := doorway.Papers{Certificate: c.Certificate, Key: c.Key, Dir: c.Data, Hosts: c.Host}
	secure, err := papers.Secure(config.Beyond(c.Listen), time.Now())
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	desk, err := c.desk(ctx, store, log, secure)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	running, finish := context.WithCancel(ctx)
	var looking sync.WaitGroup
	looking.Go(func() { desk.Run(running) })
	defer func() {
		finish()
		looking.Wait()
		err = errors.Join(err, desk.Close())
	}()
	log.Info("the centre is ready", zap.String("address", c.Listen))
	return serveUntil(ctx, listener, &http.Server{
		Handler: handler(store.Handler(log), desk), TLSConfig: secure, ErrorLog: zap.NewStdLog(log.Named("http")),
		BaseContext:       func(net.Listener) context.Context { return ctx },
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 90 * time.Second, WriteTimeout: 150 * time.Second, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 32 << 10,
	})
}

// serveUntil answers requests until ctx ends.
func serveUntil(ctx context.Context, listener net.Listener, server *http.Server) (err error) {
	stop := context.AfterFunc(ctx, func() { _ = server.Close() }) // what a site sent in this moment, it sends again
	defer stop()
	if server.TLSConfig == nil {
		err = server.Serve(listener)
	} else {
		err = server.ServeTLS(listener, "", "")
	}
	if ctx.Err() != nil && errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return fmt.Errorf("the centre stopped: %w", err)
}

// handler is everything that the centre answers: sites, and the browsers of people.
func handler(sites, pages http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.Handle(wire.Path, sites)
	mux.Handle(wire.WitnessPath, sites)
	mux.Handle("/", pages)
	return mux
}

// desk is the pages of the centre.
func (c *centreServeCmd) desk(ctx context.Context, store *centre.Store, log *zap.Logger, secure *tls.Config) (*sites.Desk, error) {
	o := sites.DeskOptions{SignIn: c.SignIn || config.Beyond(c.Listen), Data: c.Data, Hosts: c.Host,
		Options: sites.Options{Books: store, Clock: sensors.NewSystemClock(1), Zone: time.Local, Version: version(), Log: log}}
	if c.House != "" {
		var err error
		if o.House, err = config.LoadHouse(c.House); err != nil {
			return nil, err
		}
	}
	if c.SecondStep != "none" {
		o.SecondStep = access.Role(c.SecondStep)
	}
	if secure != nil {
		o.Fingerprint = doorway.Fingerprint(secure.Certificates[0])
		log.Info("what sites send is encrypted", zap.String("fingerprint", o.Fingerprint))
	}
	return sites.OpenDesk(ctx, o)
}

type centreAddSiteCmd struct {
	centreDatabase
	Name     string `arg:"" help:"What the site is called, such as \"Library basement\"."`
	Building string `placeholder:"NAME" help:"The building that the site is in."`
	URL      string `default:"http://127.0.0.1:8430" placeholder:"URL" help:"The address at which the site reaches the centre."`
}

func (c *centreAddSiteCmd) Run(ctx context.Context, out io.Writer) error {
	var key string
	err := c.open(ctx, func(store *centre.Store) (err error) {
		key, err = store.AddSite(ctx, centre.NewSite{Name: c.Name, Building: c.Building})
		return err
	})
	if err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf(`%q is added. At the site, keep this key in the file /etc/wetside/centre-key, readable
by the user of wetside alone. It is shown this once:

%s

Write these lines into the site's configuration, and restart wetside there:

[centre]
url = %q
key-file = "/etc/wetside/centre-key"

Where the centre made its certificate itself, add a line fingerprint = "..." with what
wetside centre prints at its start.`, c.Name, key, c.URL))
}

type centreCloseSiteCmd struct {
	centreDatabase
	Name string `arg:"" help:"The name of the site."`
}

func (c *centreCloseSiteCmd) Run(ctx context.Context, out io.Writer) error {
	if err := c.open(ctx, func(store *centre.Store) error { return store.CloseSite(ctx, c.Name) }); err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("%q is closed: its key is no longer accepted. What the site sent is kept.", c.Name))
}

type centreGrantCmd struct {
	centreDatabase
	Role string `arg:"" help:"The role, which exists already."`
}

// Run grants what serving needs.
func (c *centreGrantCmd) Run(ctx context.Context, out io.Writer) error {
	if err := c.open(ctx, func(store *centre.Store) error { return store.Grant(ctx, c.Role) }); err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("The role %q may serve now: let wetside centre connect as it.", c.Role))
}
