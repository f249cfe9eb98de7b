//go:build linux

package uplink

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"log"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap/zaptest"

	"wetside/daemon/centre"
	"wetside/daemon/doorway"
	"wetside/sensors/clocktest"
)

// pass lets time pass until a sender has looked once more.
func pass(clock *clocktest.Manual, d time.Duration) {
	clock.Advance(d)
	clock.BlockUntil(1)
}

func TestTheSenderTrustsOneCertificateAndTriesAgainEverMoreSeldom(t *testing.T) {
	c := newCentre(t)
	secure := httptest.NewUnstartedServer(c.server.Config.Handler)
	secure.Config.ErrorLog = log.New(io.Discard, "", 0) // it would tell of each certificate that was not trusted
	secure.StartTLS()
	defer secure.Close()
	p := newSite(c, "Library basement")
	sum := sha256.Sum256(secure.Certificate().Raw)
	clock := clocktest.New(evening())
	run := func(fingerprint string) (s *Sender, end func()) {
		s, err := New(Options{URL: secure.URL, Key: p.key, Fingerprint: fingerprint, Book: p.store, Clock: clock, Log: zaptest.NewLogger(t)})
		require.NoError(t, err)
		ctx, cancel := context.WithCancel(t.Context())
		var running sync.WaitGroup
		running.Go(func() { s.Run(ctx) })
		clock.BlockUntil(1)
		return s, func() { cancel(); running.Wait() }
	}

	other, end := run(hex.EncodeToString(make([]byte, 32)))
	require.Contains(t, other.Standing().Problem, "the fingerprint "+doorway.Fingerprint(secure.TLS.Certificates[0])+",")
	require.Contains(t, other.Standing().Problem, "compare it with what wetside centre prints at its start")
	for range 120 {
		pass(clock, 10*time.Second)
	}
	require.Less(t, other.Standing().Failed, uint64(40), "twenty minutes, at most a minute apart in the end")
	require.Greater(t, other.Standing().Failed, uint64(15))
	end()

	clock = clocktest.New(evening())
	s, end := run(hex.EncodeToString(sum[:]))
	defer end()
	require.Empty(t, s.Standing().Problem)
	p.record("alarm", `{"subject":"air"}`)
	pass(clock, look)
	last, err := p.store.Newest(t.Context())
	require.NoError(t, err)
	require.Equal(t, last.Number, s.Standing().Last.Number, "a record goes up at once")
	messages := s.Standing().Messages
	for range 60 {
		pass(clock, look)
	}
	require.Equal(t, messages+2, s.Standing().Messages, "two minutes without news are two signs of life")
}

func TestARoleThatServesCanChangeNoTable(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	daily := c.role("daily_role")
	require.ErrorContains(t, c.store.Grant(t.Context(), "nobody_yet"), "make it first")
	require.NoError(t, c.store.Grant(t.Context(), "daily_role"))
	c.store.Close()
	var err error
	c.store, err = centre.Open(t.Context(), daily)
	require.NoError(t, err)
	p.work(time.Hour)
	require.NoError(t, p.send())
	p.clock.Advance(24 * time.Hour)
	require.NoError(t, p.send())
	requireSame(c, p)

	conn, err := pgx.Connect(t.Context(), daily)
	require.NoError(t, err)
	defer conn.Close(t.Context())
	for _, statement := range []string{"ALTER TABLE wetside.record DISABLE TRIGGER USER", "UPDATE wetside.record SET hash = ''",
		"DELETE FROM wetside.record",
		"TRUNCATE wetside.record", "DROP TRIGGER record_is_never_changed ON wetside.record", "UPDATE wetside.site SET name = 'x'"} {
		_, err := conn.Exec(t.Context(), statement)
		require.ErrorContains(t, err, "42501", statement) // insufficient privilege
	}
}
