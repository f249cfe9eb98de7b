package uplink

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/campaign"
	"wetside/daemon/centre"
	"wetside/daemon/centre/pgtest"
)

// A copy of this test is the program at the centre that takes messages: for the database that
// receiverOf names, at the address that receiverAt names.
const (
	receiverOf = "WETSIDE_TEST_RECEIVER_OF"
	receiverAt = "WETSIDE_TEST_RECEIVER_AT"
)

// receive takes messages until it is killed.
func receive(database, address string) error {
	store, err := centre.Open(context.Background(), database)
	if err != nil {
		return err
	}
	return http.ListenAndServe(address, store.Handler(zap.NewNop()))
}

// books is the database of the centre of a term.
const books = "books"

// office is a centre as an office runs it: a database server and a program that takes messages,
// which may both be killed, behind a network that may fail.
type office struct {
	*middle
	*network
	server   *pgtest.Server
	receiver *exec.Cmd
	address  string // of the receiver
}

func newOffice(t *testing.T) *office {
	server, err := pgtest.Start()
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	o := &office{middle: &middle{T: t}, server: server}
	o.middle.address, err = server.Create(books)
	require.NoError(t, err)
	o.open()
	t.Cleanup(o.store.Close)
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	o.address = free.Addr().String()
	require.NoError(t, free.Close())
	require.NoError(t, o.begin())
	t.Cleanup(func() { require.NoError(t, o.killReceiver()) })
	o.network = &network{to: "http://" + o.address, rng: rand.New(rand.NewPCG(1, 1))}
	o.middle.server = listening(t, o.network)
	return o
}

// begin starts the receiver and waits until it listens.
func (o *office) begin() (err error) {
	o.receiver = exec.Command(os.Args[0])
	o.receiver.Env = append(os.Environ(), receiverOf+"="+o.middle.address, receiverAt+"="+o.address)
	o.receiver.Stderr = os.Stderr
	o.receiver.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	if err = o.receiver.Start(); err != nil {
		return err
	}
	for range 600 {
		var conn net.Conn
		if conn, err = net.Dial("tcp", o.address); err == nil {
			return conn.Close()
		}
		time.Sleep(100 * time.Millisecond)
	}
	return fmt.Errorf("the receiver does not listen: %w", err)
}

func (o *office) killReceiver() error {
	err := o.receiver.Process.Kill()
	_ = o.receiver.Wait() // it was killed
	return err
}

// killDatabase kills the database server and starts it again: what it had answered for is there.
func (o *office) killDatabase(sites []*place) error {
	answered := make([]uint64, len(sites))
	for i, p := range sites {
		answered[i] = p.sender.Standing().Last.Number
	}
	if err := o.server.Kill(); err != nil {
		return err
	}
	if err := o.server.Serve(); err != nil {
		return err
	}
	conn, err := pgx.Connect(context.Background(), o.middle.address)
	if err != nil {
		return err
	}
	defer conn.Close(context.Background())
	for i, p := range sites {
		var kept uint64
		if err := conn.QueryRow(context.Background(), `SELECT coalesce(max(number), 0) FROM wetside.record r
			JOIN wetside.site s ON s.id = r.site_id WHERE s.name = $1`, p.name).Scan(&kept); err != nil {
			return err
		}
		if kept < answered[i] {
			return fmt.Errorf("%s: the centre had answered for record %d and has %d after it was killed", p.name, answered[i], kept)
		}
	}
	return nil
}

// goBack kills everything at the centre and puts an older copy of the database in its place.
func (o *office) goBack(file string) error {
	for _, step := range []func() error{o.killReceiver, o.server.Kill, o.server.Serve,
		func() error { return o.server.Restore(file, books) }, o.begin} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// evening lets every site work for three hours and send after each, a few sites at a time.
// After a third of the hours early is called while the others go on, after two thirds late.
func (o *office) evening(t *testing.T, sites []*place, early, late func() error) {
	var hours atomic.Int64
	third, twoThirds, faults := make(chan struct{}), make(chan struct{}), make(chan error, 2)
	go func() { <-third; faults <- early(); <-twoThirds; faults <- late() }()
	t.Run("sites", func(t *testing.T) {
		for _, p := range sites {
			t.Run(p.name, func(t *testing.T) {
				t.Parallel()
				of := p.T
				p.T = t
				defer func() { p.T = of }()
				for range 3 {
					p.work(time.Hour)
					switch hours.Add(1) {
					case int64(len(sites)):
						close(third)
					case int64(2 * len(sites)):
						close(twoThirds)
					}
					for try := 0; p.send() != nil && try < 3; try++ {
						time.Sleep(100 * time.Millisecond) // the next hour brings what waits
					}
				}
			})
		}
	})
	require.NoError(t, <-faults)
	require.NoError(t, <-faults)
}

// TestNothingIsLostOrCountedTwiceInATerm plays evenings of many sites that send at once, some
// with a clock that is apart, while the network is cut, slow or loses messages, the receiver or
// the database server is killed, and a copy of the database by pg_dump that is an hour old is
// put back. Every fault comes while the sites send. In the end the centre has every row of
// every site and no other; of a site that was rewritten, put back or doubled it takes nothing
// more, and the others feel nothing of that. The long form is fifty sites over a term.
func TestNothingIsLostOrCountedTwiceInATerm(t *testing.T) {
	o := newOffice(t)
	var sites []*place
	for i := range max(campaign.Size(t, 3), 3) {
		p := newSite(o.middle, fmt.Sprintf("Site %d", i))
		p.clock.Step(time.Duration(i%7-3) * 25 * time.Minute)
		sites = append(sites, p)
	}
	copied := filepath.Join(t.TempDir(), "centre.dump")
	on := func(b *atomic.Bool) func() error { return func() error { b.Store(true); return nil } }
	off := func(b *atomic.Bool) func() error { return func() error { b.Store(false); return nil } }
	dump := func() error { return o.server.Dump(books, copied) }
	for _, fault := range []struct {
		name        string
		early, late func() error
	}{
		{"the network is cut", on(&o.cut), off(&o.cut)},
		{"messages and answers are lost", on(&o.lossy), off(&o.lossy)},
		{"the network is slow", on(&o.slow), off(&o.slow)},
		{"the receiver is killed", o.killReceiver, o.begin},
		{"the database is killed", func() error { return o.killDatabase(sites) }, func() error { return o.killDatabase(sites) }},
		{"an older copy is put back", dump, func() error { return o.goBack(copied) }},
	} {
		// A term is twelve weeks; the short form has an evening of each fault.
		for range 1 + min(len(sites)/50, 1) {
			t.Run(fault.name, func(t *testing.T) { o.evening(t, sites, fault.early, fault.late) })
			for i, p := range sites {
				p.clock.Advance(time.Duration(100+i%30) * time.Hour)
				p.clock.Step(time.Duration(i%5-2) * time.Minute)
			}
		}
	}
	rows := map[string]int{}
	for _, p := range sites {
		p.sendAll()
		for table, n := range requireSame(o.middle, p) {
			rows[table] += n
		}
	}
	require.Zero(t, ask[int64](o.middle, "SELECT count(*) FROM wetside.refusal"), "nothing was refused")
	o.threeGoWrong(t, sites)
	t.Logf("%d sites: the same rows at the sites and at the centre: %v; %d messages, %d bytes", len(sites), rows, o.count.Load(),
		o.bytes.Load())
}

// threeGoWrong has one site rewritten, one put back to a backup and one doubled.
func (o *office) threeGoWrong(t *testing.T, sites []*place) {
	rewritten, older, doubled := sites[0], sites[1], sites[2]
	rewritten.stop()
	changed := rewritten.folder()
	rewrite(t, changed, 5)
	require.Contains(t, requireRefused(o.middle, rewritten.moved(changed)), "a record up to it was changed")

	older.stop()
	backup := older.folder()
	older.start()
	older.work(time.Hour)
	older.sendAll()
	older.stop()
	require.Contains(t, requireRefused(o.middle, older.moved(backup)), "put back to an older state")

	doubled.stop()
	twin := doubled.moved(doubled.folder())
	doubled.start()
	doubled.sendAll()
	require.Contains(t, requireRefused(o.middle, twin), "a second computer uses the site's key")

	require.Equal(t, int64(3), ask[int64](o.middle, "SELECT count(*) FROM wetside.refusal WHERE ended_at IS NULL"))
	for _, p := range sites[2:] {
		p.work(time.Hour)
		p.sendAll()
		requireSame(o.middle, p)
	}
}
