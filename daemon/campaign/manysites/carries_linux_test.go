package manysites

import (
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/campaign"
	"wetside/daemon/centre"
	"wetside/daemon/centre/pgtest"
	"wetside/daemon/centre/wire"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/sites"
	"wetside/dashboard"
	"wetside/sensors"
)

const database = "books"

// hall is a centre with many sites and its pages.
type hall struct {
	*testing.T
	server   *pgtest.Server
	address  string
	store    *centre.Store
	overview *sites.Overview
	pages    *dashboard.Server
}

func newHall(t *testing.T) *hall {
	server, err := pgtest.Start()
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	// What the server does by itself from time to time would be counted with a page.
	require.NoError(t, server.Tell("postgres", "ALTER SYSTEM SET autovacuum = off"))
	require.NoError(t, server.Tell("postgres", "SELECT pg_reload_conf()"))
	h := &hall{T: t, server: server}
	h.address, err = server.Create(database)
	require.NoError(t, err)
	h.store, err = centre.Open(t.Context(), h.address)
	require.NoError(t, err)
	t.Cleanup(h.store.Close)
	return h
}

// open prepares the pages, which know nothing yet.
func (h *hall) open() {
	clock := sensors.NewSystemClock(1)
	h.overview = sites.New(sites.Options{Books: h.store, Clock: clock, Zone: time.UTC, Version: "test", Log: zap.NewNop()})
	var err error
	h.pages, err = dashboard.NewCentre(dashboard.CentreOptions{View: h.overview.View(), Sites: h.overview, Place: h.overview.Place,
		Log: zap.NewNop(), Clock: clock})
	require.NoError(h, err)
	h.Cleanup(h.pages.Close)
}

// replay copies the rows of the first site under the numbers of others, until there are so many.
func (h *hall) replay(want int) {
	have := ask[int](h, "SELECT count(*)::integer FROM wetside.site")
	statement := fmt.Sprintf(`SET session_replication_role = replica;
		INSERT INTO wetside.site(name, building, key_sha256) SELECT 'Site ' || n, 'Building ' || n / 20, sha256(n::text::bytea)
			FROM generate_series(%d, %d) n;`, have+1, want)
	for table, columns := range map[string]string{
		"record": "number, hash, body, kind, room, at_ms, taken_at", "channel": "code, id, room, name, kind, unit, silence_ms, in_service",
		"word": "code, text", "block": "key, samples", "day": "key, quarters", "gap": "id, channel, from_ms, to_ms, cause",
		"attested": "channel, day, sha256, record, held",
		"heard":    "heard_at, number, hash, alive_ms, clock_apart_ms, version, zone, simulated, complete, messages",
	} {
		statement += fmt.Sprintf("INSERT INTO wetside.%[1]s(site_id, %[2]s) SELECT s.id, r.%[4]s FROM wetside.%[1]s r, wetside.site s "+
			"WHERE r.site_id = 1 AND s.id > %[3]d;", table, columns, have, strings.ReplaceAll(columns, ", ", ", r."))
	}
	require.NoError(h, h.server.Tell(database, statement))
	require.NoError(h, h.server.Tell(database, "ANALYZE"))
}

// cost is what something took: by the clock on the wall, and of the processor, of this program and
// of the database server together.
type cost struct{ wall, processor time.Duration }

// String is the cost in milliseconds.
func (c cost) String() string {
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	return fmt.Sprintf("%8.1f ms, processor %8.1f ms", ms(c.wall), ms(c.processor))
}

// used is the processor time of this program, under 0, and of each process of the server so far.
func (h *hall) used() map[int]time.Duration {
	used, err := h.server.Processor()
	require.NoError(h, err)
	var own syscall.Rusage
	require.NoError(h, syscall.Getrusage(syscall.RUSAGE_SELF, &own))
	used[0] = time.Duration(own.Utime.Nano() + own.Stime.Nano())
	return used
}

// since is the processor time since it was used up to before; a process that has ended is not counted.
func (h *hall) since(before map[int]time.Duration) (d time.Duration) {
	for pid, now := range h.used() {
		d += now - before[pid]
	}
	return d
}

// costOf does something several times and gives the least that it took.
func (h *hall) costOf(what string, times int, do func()) (least cost) {
	for n := range times {
		began, before := time.Now(), h.used()
		do()
		c := cost{time.Since(began), h.since(before)}
		if n == 0 || c.processor < least.processor {
			least.processor = c.processor
		}
		if n == 0 || c.wall < least.wall {
			least.wall = c.wall
		}
	}
	h.Logf("  %-40s %s", what, least)
	return least
}

// get answers a page, which must be there, and gives how many bytes it has.
func (h *hall) get(path string) int {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	r.RemoteAddr = "127.0.0.1:40000"
	out := httptest.NewRecorder()
	h.pages.ServeHTTP(out, r)
	require.Equal(h, http.StatusOK, out.Code, path+": "+out.Body.String())
	return out.Body.Len()
}

func ask[V any](h *hall, query string) (v V) {
	conn, err := pgx.Connect(h.Context(), h.address)
	require.NoError(h, err)
	defer conn.Close(h.Context())
	require.NoError(h, conn.QueryRow(h.Context(), query).Scan(&v))
	return v
}

// reads has the overview read every book, and gives for how many sites that was done in the end.
// With many sites that takes too long for a test: it stops after some looks.
func (h *hall) reads() (done int) {
	for range mostLooks {
		h.overview.Look(h.Context())
		done = 0
		for _, s := range h.overview.Standing().Sites {
			if !s.Book.Verified.IsZero() {
				require.Empty(h, s.Book.Broken)
				done++
			}
		}
		if done == len(h.overview.Standing().Sites) {
			return done
		}
	}
	return done
}

// mostLooks is how often it is looked at most: a look takes ten seconds at most.
const mostLooks = 12

// brokenLinks counts the records that do not rest on the one before.
const brokenLinks = `SELECT count(*) FROM (SELECT hash, body, number, lag(hash, 1, repeat('0', 64)) OVER
	(PARTITION BY site_id ORDER BY number)
	AS previous FROM wetside.record) AS r WHERE hash <> wetside.hash(previous, body)`

// measure measures a centre with so many sites. What is given has the names of [measures].
func (h *hall) measure(n int) map[string]float64 {
	h.open()
	got := map[string]float64{"sites": float64(n), "evenings": evenings}
	note := func(name string, c cost) { got[name] = math.Round(float64(c.processor.Microseconds())/10) / 100 }
	got["megabytes"] = float64(ask[int64](h, "SELECT pg_database_size(current_database())") / 1e6)
	h.Logf("%d sites: %.0f MB, %d records", n, got["megabytes"], ask[int64](h, "SELECT count(*) FROM wetside.record"))
	note("list", h.costOf("the list of sites", 5, func() {
		list, err := h.store.Sites(h.Context())
		require.NoError(h, err)
		require.Len(h, list, n)
	}))
	note("chains", h.costOf("every chain, in SQL", 1, func() { require.Zero(h, ask[int64](h, brokenLinks)) }))
	var done int
	reading := h.costOf("reading the books", 1, func() { done = h.reads() })
	require.Positive(h, done)
	reading.processor /= time.Duration(done)
	note("book", reading)
	h.Logf("  %d books read, each %s", done, reading)
	if done == n {
		h.costOf("a look when nothing came", 3, func() { h.overview.Look(h.Context()) })
	}
	size := 0
	note("page", h.costOf("the page of the sites", 5, func() { size = h.get("/") }))
	h.Logf("  %d bytes", size)
	note("weeks", h.costOf("the weeks of a site", 5, func() { h.get("/sites/3/weeks") }))
	note("form", h.costOf("the form of the report", 3, func() { h.get("/report") }))
	day := time.Now().UTC()
	week := "from=" + day.AddDate(0, 0, -6).Format(time.DateOnly) + "&to=" + day.Format(time.DateOnly)
	note("report", h.costOf("the report on a site over a week", 3, func() { h.get("/sites/3/report?" + week) }))
	note("report of three", h.costOf("the report on three sites over a week", 3, func() { h.get("/report?site=1&site=2&site=3&" + week) }))
	const messages = 100
	taking := h.costOf("a hundred messages with a record", 1, func() { h.messages(messages) })
	taking.processor /= messages
	note("message", taking)
	return got
}

// messages has a further site send records, each in a message of its own.
func (h *hall) messages(count int) {
	key, err := h.store.AddSite(h.Context(), centre.NewSite{Name: fmt.Sprintf("Sends since %s", time.Now())})
	require.NoError(h, err)
	last := wire.Place{Hash: book.First}
	for range count {
		r := book.Record{Number: last.Number + 1, Kind: "invented", At: time.Now().UTC().Truncate(time.Millisecond)}
		body, err := r.Body()
		require.NoError(h, err)
		p := wire.Push{After: last.Number, Records: []history.RawRecord{{Hash: book.Hash(last.Hash, body), Body: body}}}
		p.Last = wire.Place{Number: r.Number, Hash: p.Records[0].Hash}
		answer, err := h.store.Take(h.Context(), key, p)
		require.NoError(h, err)
		require.Equal(h, p.Last, answer.Last)
		last = answer.Last
	}
}

const (
	weeks    = 2
	evenings = 2 * weeks
)

// TestWhatACentreCarries prints what the pages of a centre cost with 5 sites; the long form goes on
// to as many as it is asked for, and with WETSIDE_DRAW=1 keeps what it found.
func TestWhatACentreCarries(t *testing.T) {
	most := campaign.Size(t, 5)
	first := newSite(t)
	for range evenings {
		first.evening()
	}
	h := newHall(t)
	bytes := h.takes(first)
	t.Logf("%d channels, %d evenings: %d bytes an evening, sent afterwards", len(first.room.Channels), evenings, bytes/evenings)
	var found []map[string]float64
	for _, n := range []int{5, 50, 500, 5000} {
		if n <= most {
			h.replay(n)
			found = append(found, h.measure(n))
		}
	}
	if most >= 5000 && os.Getenv(campaign.Draw) != "" {
		keep(t, found)
	}
}
