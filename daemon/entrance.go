package daemon

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/doorway"
	"wetside/daemon/house"
	"wetside/daemon/people"
	peoplepage "wetside/dashboard/people"
)

// entrance is how the pages are reached, and by whom.
type entrance struct {
	listener net.Listener
	secure   *tls.Config // nil where the pages are not encrypted
	gate     *doorway.Gate
	roster   *people.Roster // nil where nobody signs in
}

// openEntrance listens, and prepares what stands before the pages.
func (d *Daemon) openEntrance() (err error) {
	c := d.options.Config
	e := &d.entrance
	if e.listener = d.options.Listener; e.listener == nil {
		if e.listener, err = net.Listen("tcp", c.Listen); err != nil {
			return fmt.Errorf("the dashboard can't listen on %s: close the program that has this address, or choose another with listen = in "+
				"the configuration: %w", c.Listen, err)
		}
	}
	if err := config.CheckOpen(e.listener.Addr().String(), c.Access); err != nil {
		return err
	}
	e.gate = doorway.NewGate(d.options.Clock, c.Access.Hosts)
	if err := d.openRoster(); err != nil {
		return err
	}
	return d.loadCertificate()
}

func (d *Daemon) openRoster() (err error) {
	c := d.options.Config
	if !c.Access.SignIn {
		return nil
	}
	o := people.Options{Dir: c.Data, Lasting: c.Access.Session, Cost: people.UsualCost(), Book: d.store,
		SecondStep: c.Access.SecondStep, Clock: d.options.Clock, Log: d.options.Log.Named("people")}
	if c.Access.House != nil {
		o.House = house.New(*c.Access.House, d.options.Clock)
	}
	d.entrance.roster, err = people.Open(o)
	d.beside = append(d.beside, d.entrance.roster.Run)
	if err == nil && len(d.entrance.roster.People()) == 0 {
		d.options.Log.Warn("nobody can sign in yet: make the first keeper with wetside people invite --role keeper")
	}
	return err
}

// loadCertificate encrypts the pages where they go over the network.
func (d *Daemon) loadCertificate() (err error) {
	c := d.options.Config
	beyond := config.Beyond(d.entrance.listener.Addr().String())
	if beyond && c.Access.PlainHTTP {
		d.options.Log.Warn("passwords and pages go over the network without encryption, because plain-http-on-the-network is set")
		return nil
	}
	papers := doorway.Papers{Certificate: c.Access.Certificate, Key: c.Access.Key, Dir: c.Data, Hosts: c.Access.Hosts}
	if d.entrance.secure, err = papers.Secure(beyond, d.options.Clock.Now().Wall); d.entrance.secure != nil {
		d.options.Log.Info("the pages are encrypted", zap.String("fingerprint", d.entrance.fingerprint()))
	}
	return err
}

// door gives the pages the people who sign in.
func (e *entrance) door() peoplepage.Accounts {
	if e.roster == nil {
		return nil
	}
	return e.roster
}

func (e *entrance) fingerprint() string {
	if e.secure == nil {
		return ""
	}
	return doorway.Fingerprint(e.secure.Certificates[0])
}

// refuse keeps messages from going to the daemon itself, which would never end.
func (e *entrance) refuse(address string) error {
	host, port, err := net.SplitHostPort(address)
	if err == nil && config.SameTarget(e.listener.Addr().String(), host, port) {
		return fmt.Errorf("%s is where wetside itself listens: "+
			"set url under [webhook] in the configuration to the address of the other program", address)
	}
	return nil
}

func (e *entrance) url() string {
	if e.secure != nil {
		return "https://" + e.listener.Addr().String()
	}
	return "http://" + e.listener.Addr().String()
}

func (e *entrance) serve(s *http.Server) error {
	l := doorway.Limit(e.listener)
	s.ConnState = l.Note
	if e.secure == nil {
		return s.Serve(l)
	}
	s.TLSConfig = e.secure
	return s.ServeTLS(l, "", "")
}

// writeWithin is how long an answer may take. A report may take two minutes of it; a
// live stream sets a time of its own for each event.
const writeWithin = 150 * time.Second

func (d *Daemon) server(ctx context.Context) *http.Server {
	return &http.Server{
		Handler:           doorway.Proxies(d.options.Config.Access.Proxies).Resolve(d.pages),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      writeWithin,
		IdleTimeout:       time.Minute,
		MaxHeaderBytes:    32 << 10,
		BaseContext:       func(net.Listener) context.Context { return ctx },
		ErrorLog:          zap.NewStdLog(d.options.Log.Named("http")),
	}
}
