//go:build linux

package uplink

import (
	"database/sql"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap/zaptest"

	"wetside/daemon/centre"
	"wetside/daemon/centre/pgtest"
	"wetside/daemon/centre/wire"
	"wetside/daemon/history"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity"
)

func TestMain(m *testing.M) {
	if database := os.Getenv(receiverOf); database != "" {
		fmt.Fprintln(os.Stderr, receive(database, os.Getenv(receiverAt)))
		os.Exit(1)
	}
	os.Exit(pgtest.Run(m))
}

func evening() time.Time { return time.Date(2026, 10, 14, 19, 15, 0, 0, time.UTC) }

// middle is a centre under test.
type middle struct {
	*testing.T
	address string
	store   *centre.Store
	server  *httptest.Server
}

func newCentre(t *testing.T) *middle {
	c := &middle{T: t, address: pgtest.Database(t)}
	c.open()
	t.Cleanup(func() { c.store.Close() })
	c.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter,
		r *http.Request) {
		c.store.Handler(zaptest.NewLogger(t)).ServeHTTP(w, r)
	}))
	t.Cleanup(c.server.Close)
	return c
}

// ask asks the database of the centre for one value.
func ask[V any](c *middle, query string, args ...any) (v V) {
	conn, err := pgx.Connect(c.Context(), c.address)
	require.NoError(c, err)
	defer conn.Close(c.Context())
	require.NoError(c, conn.QueryRow(c.Context(), query, args...).Scan(&v))
	return v
}

// role makes a role of the database, and gives the address by which it connects.
func (c *middle) role(name string) (address string) {
	u, err := url.Parse(c.address)
	require.NoError(c, err)
	u.User = url.User("wetside") // whom the server of the tests obeys
	conn, err := pgx.Connect(c.Context(), u.String())
	require.NoError(c, err)
	defer conn.Close(c.Context())
	_, err = conn.Exec(c.Context(), "CREATE ROLE "+name+" LOGIN")
	require.NoError(c, err)
	u.User = url.User(name)
	return u.String()
}

// place is a site under test, with its own file.
type place struct {
	*testing.T
	name   string
	dir    string
	clock  *clocktest.Manual
	store  *history.Store
	sender *Sender
	key    string
	url    string
	unit   quantity.Unit
}

// newSite adds a site to a centre and opens its history.
func newSite(c *middle, name string) *place {
	key, err := c.store.AddSite(c.Context(), centre.NewSite{Name: name})
	require.NoError(c, err)
	p := &place{T: c.T, name: name, dir: c.TempDir(), clock: clocktest.New(evening()), key: key, url: c.server.URL}
	p.start()
	return p
}

func (p *place) start() {
	var err error
	p.store, err = history.Open(p.Context(), history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC, Version: "test"})
	require.NoError(p, err)
	p.Cleanup(func() { _ = p.store.Close() })
	p.unit, err = quantity.ParseUnit("C")
	require.NoError(p, err)
	traits, known := sensors.BathTemperature.Traits()
	require.True(p, known)
	var channels []sensors.Channel
	for _, id := range []sensors.ChannelID{"developer", "fixer"} {
		channels = append(channels, sensors.Channel{ID: id, Name: string(id) + " tray", Kind: sensors.BathTemperature, Unit: p.unit,
			Traits: traits})
	}
	require.NoError(p, p.store.RegisterChannels(p.Context(), "wet", channels))
	p.connect()
}

// connect gives the site a sender that knows nothing yet, as after a start.
func (p *place) connect() {
	var err error
	p.sender, err = New(Options{URL: p.url, Key: p.key, About: wire.About{Version: "test", Zone: "UTC"}, Book: p.store, Clock: p.clock,
		Log: zaptest.NewLogger(p)})
	require.NoError(p, err)
}

func (p *place) stop() { require.NoError(p, p.store.Close()) }

// work is a time of samples, ten seconds apart, with a record every ten minutes and a gap
// in the middle.
func (p *place) work(d time.Duration) {
	var samples []history.Sample
	begun := p.clock.Now().Wall
	for at := time.Duration(0); at < d; at += 10 * time.Second {
		for i, id := range []sensors.ChannelID{"developer", "fixer"} {
			s := history.Sample{Channel: id, At: begun.Add(at), Raw: 20 + float64(i) + float64(int(at/time.Minute)%7)/100, Grade: sensors.Good}
			if int(at/time.Second)%1000 == 0 {
				s.Grade, s.Reason = sensors.Suspect, "it jumped"
			}
			samples = append(samples, s)
		}
		if at%(10*time.Minute) == 0 {
			p.record("alarm", fmt.Sprintf(`{"subject":"air","minute":%d}`, at/time.Minute))
		}
	}
	require.NoError(p, p.store.Append(p.Context(), history.Batch{Samples: samples, Durable: true}))
	p.gap(history.Batch{GapsOpened: []history.Gap{{Channel: "fixer", From: begun.Add(d / 3), Cause: "silent"}}})
	p.clock.Advance(d)
	p.gap(history.Batch{GapsClosed: []history.Gap{{Channel: "fixer", To: begun.Add(d / 2)}}})
	p.gap(history.Batch{GapsOpened: []history.Gap{{Channel: "developer", From: begun.Add(d), Cause: "silent"}}})
}

func (p *place) gap(b history.Batch) { require.NoError(p, p.store.Append(p.Context(), b)) }

func (p *place) record(kind, content string) {
	_, err := p.store.Record(p.Context(), history.Entry{Kind: kind, Room: "wet", Person: "Invented Person", Content: []byte(content)})
	require.NoError(p, err)
}

// send lets the site send everything that is new, and a sign of life.
func (p *place) send() error {
	p.clock.Advance(heartbeat)
	p.store.Settle(p.Context())
	err := p.sender.catchUp(p.Context())
	p.sender.tell(err)
	return err
}

// tables are the columns of the tables of a file, in the order of their rows.
func tables() map[string]string {
	return map[string]string{
		"record": "number, hash, body, kind, room, at_ms", "channel": "code, id, room, name, kind, unit, silence_ms, in_service",
		"word":  "code, text",
		"block": "key, samples", "day": "key, quarters", "gap": "id, channel, from_ms, to_ms, cause", "unattested": "key, changes",
	}
}

// requireSame holds every table of a site, row for row, against the centre's, and gives how
// many rows each has.
func requireSame(c *middle, p *place) map[string]int {
	c.Helper()
	file, err := sql.Open("sqlite", filepath.Join(p.dir, history.FileName))
	require.NoError(c, err)
	defer file.Close()
	conn, err := pgx.Connect(c.Context(), c.address)
	require.NoError(c, err)
	defer conn.Close(c.Context())
	_, err = conn.Exec(c.Context(), "SELECT set_config('wetside.site', id::text, false) FROM wetside.site WHERE name = $1", p.name)
	require.NoError(c, err)
	counts := map[string]int{}
	for table, names := range tables() {
		own, err := file.QueryContext(c.Context(), "SELECT "+names+" FROM "+table+" ORDER BY 1")
		require.NoError(c, err)
		columns, err := own.Columns()
		require.NoError(c, err)
		kept, err := conn.Query(c.Context(), "SELECT "+names+" FROM site."+table+" ORDER BY 1")
		require.NoError(c, err)
		count := 0
		for own.Next() {
			row := make([]any, len(columns))
			into := make([]any, len(columns))
			for i := range row {
				into[i] = &row[i]
			}
			require.NoError(c, own.Scan(into...))
			require.True(c, kept.Next(), "%s: the centre has %d rows and the site more", table, count)
			values, err := kept.Values()
			require.NoError(c, err)
			require.Equal(c, row, values, table)
			count++
		}
		require.NoError(c, own.Err())
		require.False(c, kept.Next(), "%s: the centre has more than the %d rows of the site", table, count)
		require.NoError(c, kept.Err())
		own.Close()
		kept.Close()
		counts[table] = count
	}
	return counts
}
