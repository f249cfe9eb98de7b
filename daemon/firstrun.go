package daemon

import (
	"context"
	"errors"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/doorway"
	"wetside/dashboard"
	"wetside/dashboard/keep"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/discover"
	"wetside/sensors/quantity/phrase"
)

// FirstRunOptions say where a first configuration is made.
type FirstRunOptions struct {
	// Listen is the address of the page, Data the folder for the history, and File
	// the configuration to be written, which must not be there yet.
	Listen, Data, File string
	Version            string
	Clock              sensors.Clock
	Opener             sensors.Opener
	Ports              func() []string
	Log                *zap.Logger
	// Listener takes the place of the address when not nil.
	Listener net.Listener
}

// lastWord is how long the page stays after the configuration was written, so that
// the browser that sent it gets its answer.
const lastWord = time.Second

// FirstRun shows the page of the first start until a configuration is written, or
// until ctx ends. Neither is an error.
func FirstRun(ctx context.Context, o FirstRunOptions) error {
	if err := config.CheckOpen(o.Listen, config.Access{}); err != nil {
		return err
	}
	listener := o.Listener
	if listener == nil {
		var err error
		if listener, err = net.Listen("tcp", o.Listen); err != nil {
			return phrase.Errorf("the page of the first start can't listen on %s: close the program that has this address: %w", o.Listen, err)
		}
	}
	f := &firstRun{options: o, written: make(chan struct{})}
	pages, err := dashboard.New(dashboard.Options{View: f, FirstRun: f, Gate: doorway.NewGate(o.Clock, nil).Check, Log: o.Log, Clock: o.Clock})
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	server := &http.Server{Handler: f.lead(pages), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: writeWithin, IdleTimeout: time.Minute, BaseContext: func(net.Listener) context.Context { return ctx }}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case <-ctx.Done():
	case <-f.written:
		<-o.Clock.After(lastWord)
	}
	pages.Close()
	ending, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	if server.Shutdown(ending) != nil {
		_ = server.Close()
	}
	if err := <-failed; !errors.Is(err, http.ErrServerClosed) {
		return phrase.Errorf("the page of the first start stopped: %w", err)
	}
	return nil
}

// firstRun is what the page of the first start is drawn from: a site without rooms.
type firstRun struct {
	options FirstRunOptions
	written chan struct{}

	listening sync.Mutex // held while a port is listened to
	mu        sync.Mutex
	heard     []discover.Heard
	done      bool
}

var (
	_ dashboard.View = (*firstRun)(nil)
	_ keep.FirstRun  = (*firstRun)(nil)
)

// lead sends whoever opens the program to the page of the first start.
func (f *firstRun) lead(pages http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/" {
			http.Redirect(w, r, "/first-run", http.StatusSeeOther)
			return
		}
		pages.ServeHTTP(w, r)
	})
}

// Now is a site without rooms.
func (f *firstRun) Now() *web.Site {
	now := f.options.Clock.Now().Wall
	return &web.Site{At: now, Started: now, Version: f.options.Version, Zone: time.Local}
}

// Changes never tells of any.
func (f *firstRun) Changes(context.Context) <-chan struct{} { return nil }

// Do refuses: there is no room.
func (f *firstRun) Do(context.Context, rules.Command) (rules.Receipt, error) {
	return rules.Receipt{}, phrase.Errorf("there is no room yet: write a configuration first")
}

// Series has none.
func (f *firstRun) Series(context.Context, web.SeriesQuery) (web.Series, error) {
	return web.Series{}, phrase.Errorf("there is no history yet: write a configuration first")
}

// Records has none.
func (f *firstRun) Records(context.Context, web.RecordsQuery) ([]record.Record, error) {
	return nil, phrase.Errorf("there is no record book yet: write a configuration first")
}

// Health says that nothing is read yet.
func (f *firstRun) Health() error {
	return phrase.Errorf("there is no configuration yet: open the page of the first start")
}

// Ports are the serial ports of this moment.
func (f *firstRun) Ports() []string { return f.options.Ports() }

// File is where the configuration will stand.
func (f *firstRun) File() string { return f.options.File }

// Written says whether it does.
func (f *firstRun) Written() bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.done
}

// Heard are the lines that were understood so far.
func (f *firstRun) Heard() []discover.Heard {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.heard)
}

// Listen says what is spoken on a port.
func (f *firstRun) Listen(ctx context.Context, port string) (discover.Heard, error) {
	return f.find(port, func(o discover.Options) (discover.Heard, error) { return discover.Listen(ctx, o) })
}

// Ask reads one register of a Modbus probe.
func (f *firstRun) Ask(ctx context.Context, port string, q discover.Question) (discover.Heard, error) {
	return f.find(port, func(o discover.Options) (discover.Heard, error) { return discover.Ask(ctx, o, q) })
}

// find notes what one port has to tell; one at a time.
func (f *firstRun) find(port string, look func(discover.Options) (discover.Heard, error)) (discover.Heard, error) {
	if !slices.Contains(f.Ports(), port) {
		return discover.Heard{}, phrase.Errorf("%q is not there any more: look for ports again", port)
	}
	if !f.listening.TryLock() {
		return discover.Heard{}, phrase.Errorf("another port is being listened to: wait half a minute and press again")
	}
	defer f.listening.Unlock()
	heard, err := look(discover.Options{Opener: f.options.Opener, Clock: f.options.Clock, Path: port})
	if err != nil {
		return discover.Heard{}, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	at := slices.IndexFunc(f.heard, func(h discover.Heard) bool { return h.Port == port })
	switch {
	case at < 0:
		f.heard = append(f.heard, heard)
	case heard.Dialect == "modbus":
		f.heard[at] = heard.Beside(f.heard[at])
	default:
		f.heard[at] = heard
	}
	return heard, nil
}

// Write checks and writes the configuration.
func (f *firstRun) Write(_ context.Context, d discover.Draft) error {
	text, err := config.First(f.options.Listen, f.options.Data, d)
	if err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.done {
		return phrase.Errorf("the configuration is written already, and wetside starts with it")
	}
	if err := writeNew(f.options.File, text); err != nil {
		return err
	}
	f.done = true
	close(f.written)
	f.options.Log.Info("a first configuration was written", zap.String("file", f.options.File))
	return nil
}

// writeNew writes a file that must not be there yet, whole or not at all.
func writeNew(path string, text []byte) (err error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o640)
	if err != nil {
		return phrase.Errorf("the configuration can't be written: let this user write into %s: %w", filepath.Dir(path), err)
	}
	_, err = file.Write(text)
	if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
		return errors.Join(phrase.Errorf("the configuration can't be written: make room on the disk: %w", err), os.Remove(path))
	}
	return nil
}
