//go:build linux

package uplink

import (
	"bytes"
	"fmt"
	"io"
	"log"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
	"wetside/daemon/centre"
	"wetside/daemon/history"
	"wetside/sensors"
)

// network stands between sites and their centre. It may be cut or slow, lose a share of
// messages on the way there and a share of answers on the way back, and counts what passes.
type network struct {
	to               string
	cut, lossy, slow atomic.Bool
	bytes, count     atomic.Int64
	mu               sync.Mutex
	rng              *rand.Rand
}

// chance is a number from 0 up to 1.
func (n *network) chance() float64 {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.rng.Float64()
}

func (n *network) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	chance := n.chance()
	if n.slow.Load() { // a fifth of a second, and 20 kB in a second
		time.Sleep(200*time.Millisecond + time.Duration(len(body))*50*time.Microsecond)
	}
	if err != nil || n.cut.Load() || n.lossy.Load() && chance < 0.15 {
		panic(http.ErrAbortHandler) // the message is lost
	}
	n.bytes.Add(int64(len(body)))
	n.count.Add(1)
	request, err := http.NewRequestWithContext(r.Context(), r.Method, n.to+r.URL.String(), bytes.NewReader(body))
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	request.Header = r.Header
	answer, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	defer answer.Body.Close()
	if n.lossy.Load() && chance > 0.85 {
		panic(http.ErrAbortHandler) // the centre took the message, and nobody hears of it
	}
	w.WriteHeader(answer.StatusCode)
	_, _ = io.Copy(w, answer.Body)
}

// between puts a network between sites and a centre.
func between(c *middle, seed uint64) *network {
	n := &network{to: c.server.URL, rng: rand.New(rand.NewPCG(seed, 1))}
	c.server = listening(c.T, n)
	return n
}

func listening(t *testing.T, h http.Handler) *httptest.Server {
	server := httptest.NewUnstartedServer(h)
	server.Config.ErrorLog = log.New(io.Discard, "", 0) // it tells of each message that is lost
	server.Start()
	t.Cleanup(server.Close)
	return server
}

// copyOf makes a copy of the database of a centre, as a dump of that moment would be.
func (c *middle) copyOf() (address string) {
	c.store.Close()
	u, err := url.Parse(c.address)
	require.NoError(c, err)
	before, after := u.Path[1:], fmt.Sprintf("copy_%d", time.Now().UnixNano())
	u.Path = "/postgres"
	conn, err := pgx.Connect(c.Context(), u.String())
	require.NoError(c, err)
	defer conn.Close(c.Context())
	_, err = conn.Exec(c.Context(), "CREATE DATABASE "+after+" TEMPLATE "+before)
	require.NoError(c, err)
	c.open()
	u.Path = "/" + after
	return u.String()
}

func (c *middle) open() {
	var err error
	c.store, err = centre.Open(c.Context(), c.address)
	require.NoError(c, err)
}

// putBack has the centre go on with a copy of its database.
func (c *middle) putBack(address string) {
	c.store.Close()
	c.address = address
	c.open()
}

// TestNothingIsLostOrCountedTwiceWhateverHappensOnTheWay plays evenings of several sites at
// random while messages and answers are lost, sites and the centre stop and start, and the
// centre is put back to an older copy of its database. In the end the centre has every row
// of every site, and no other.
func TestNothingIsLostOrCountedTwiceWhateverHappensOnTheWay(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	c := newCentre(t)
	n := between(c, seed)
	n.lossy.Store(true)
	sites := []*place{newSite(c, "Library"), newSite(c, "Annex"), newSite(c, "Printing school")}
	older := c.copyOf()
	for range campaign.Size(t, 16) {
		p := sites[rng.IntN(len(sites))]
		switch rng.IntN(9) {
		case 0, 1:
			p.work(time.Duration(5+rng.IntN(90)) * time.Minute)
		case 2:
			p.record("alarm", `{"subject":"air"}`)
		case 3:
			p.clock.Advance(time.Duration(rng.IntN(30)) * time.Hour)
		case 4:
			p.stop()
			p.start()
		case 5:
			older = c.copyOf()
		case 6:
			c.putBack(older)
			older = c.copyOf()
		case 7:
			at := p.clock.Now().Wall.Add(-time.Duration(rng.IntN(60)) * time.Hour)
			late := history.Sample{Channel: "developer", At: at, Raw: 19, Grade: sensors.Good}
			require.NoError(t, p.store.Append(t.Context(), history.Batch{Samples: []history.Sample{late}}))
		case 8:
			p.clock.Step(time.Duration(rng.IntN(5)-2) * time.Hour)
		}
		_ = sites[rng.IntN(len(sites))].send() // lost or not
	}
	n.lossy.Store(false)
	for _, p := range sites {
		p.sendAll()
		requireSame(c, p)
	}
	require.Zero(t, ask[int64](c, "SELECT count(*) FROM wetside.refusal"), "seed %d: nothing was refused", seed)
}

// sendAll sends until the centre has everything.
func (p *place) sendAll() {
	for try := 0; !p.sender.Standing().Complete || try < 2; try++ {
		require.NoError(p, p.send(), p.name)
		require.Less(p, try, 20, "it comes to an end: %s", p.name)
	}
}

func TestACutOfTenMinutesIsMadeUpForWithinAMinute(t *testing.T) {
	c := newCentre(t)
	n := between(c, 1)
	p := newSite(c, "Library basement")
	p.work(time.Hour)
	require.NoError(t, p.send())
	n.cut.Store(true)
	for range 10 {
		p.record("alarm", `{"subject":"air"}`)
		require.Error(t, p.send())
	}
	require.NotEmpty(t, p.sender.Standing().Problem)
	n.cut.Store(false)
	require.NoError(t, p.send())
	require.Empty(t, p.sender.Standing().Problem)
	requireSame(c, p)
}

func TestTheClockOfASiteIsHeldAgainstTheCentres(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	require.NoError(t, p.send())
	apart := time.Duration(ask[int64](c, "SELECT clock_apart_ms FROM wetside.heard")) * time.Millisecond
	require.InDelta(t, time.Until(p.clock.Now().Wall).Minutes(), apart.Minutes(), 1)
	requireSame(c, p)
}

// TestWhatASiteSendsOfAnEvening prints the bytes of an evening: ten channels a second, a
// record a minute, a message a minute.
func TestWhatASiteSendsOfAnEvening(t *testing.T) {
	minutes := campaign.Size(t, 20)
	c := newCentre(t)
	n := between(c, 1)
	p := newSite(c, "Library basement")
	var channels []sensors.Channel
	for i := range 10 {
		traits, _ := sensors.BathTemperature.Traits()
		channels = append(channels, sensors.Channel{ID: sensors.ChannelID(fmt.Sprintf("probe-%d", i)), Name: "probe",
			Kind: sensors.BathTemperature, Unit: p.unit, Traits: traits})
	}
	require.NoError(t, p.store.RegisterChannels(t.Context(), "evening", channels))
	require.NoError(t, p.send())
	n.bytes.Store(0)
	n.count.Store(0)
	rng := rand.New(rand.NewPCG(1, 1))
	for minute := range minutes {
		var samples []history.Sample
		for second := range 60 {
			for i, ch := range channels {
				drift := 20 + float64(i)/3 + 0.3*math.Sin(float64(minute)/20) + 0.02*rng.NormFloat64()
				samples = append(samples, history.Sample{Channel: ch.ID, At: p.clock.Now().Wall.Add(time.Duration(second) * time.Second),
					Raw: math.Round(drift*100) / 100, Grade: sensors.Good})
			}
		}
		require.NoError(t, p.store.Append(t.Context(), history.Batch{Samples: samples, Durable: true}))
		p.record("alarm", fmt.Sprintf(`{"subject":"air","from":"normal","to":"raised","minute":%d}`, minute))
		require.NoError(t, p.send())
	}
	p.stop()
	p.start()
	require.NoError(t, p.send())
	requireSame(c, p)
	perMinute := float64(n.bytes.Load()) / float64(minutes)
	t.Logf("%d minutes: %d messages, %d bytes without HTTP headers; an evening of three hours: about %.0f kB", minutes, n.count.Load(),
		n.bytes.Load(), perMinute*180/1000)
	require.Less(t, perMinute, 4000.0, "an evening costs less than a megabyte")
}
