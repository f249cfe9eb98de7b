package centre

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/stretchr/testify/require"

	"wetside/daemon/centre/pgtest"
	"wetside/daemon/centre/wire"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
)

// older opens a database with the tables of the form before the newest, as an older program left it.
func older(t *testing.T, address string) *Store {
	pool, err := pgxpool.New(t.Context(), address)
	require.NoError(t, err)
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	require.NoError(t, err)
	require.NoError(t, pool.AcquireFunc(t.Context(), func(c *pgxpool.Conn) error {
		return migrateBy(t.Context(), c.Conn(), names[:len(names)-1])
	}))
	s := &Store{pool, stdlib.OpenDBFromPool(pool)}
	t.Cleanup(s.Close)
	return s
}

// spoken is message n of a site, from 1: a record, and a block of samples of day n.
func spoken(t *testing.T, n uint64, previous string) wire.Push {
	r := book.Record{Number: n, Kind: "alarm", At: time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)}
	body, err := r.Body()
	require.NoError(t, err)
	key := int64(1)<<32 + int64(n) + 1<<31
	d := wire.Day{Waiting: true, RawDay: history.RawDay{Key: key,
		Blocks: []history.RawBlock{{Key: int64(1)<<32 + int64(n)*96 + 1<<31, Samples: []byte{byte(n)}}}}}
	return wire.Push{After: n - 1, Last: wire.Place{Number: n, Hash: book.Hash(previous, body)},
		Records: []history.RawRecord{{Hash: book.Hash(previous, body), Body: body}}, Days: []wire.Day{d},
		Table: &wire.Table{Channels: []history.RawChannel{{Code: 1, ID: "developer"}}}}
}

// TestTheTablesAreBroughtToTheNewestFormWhileSitesSend has an older program take messages while a
// newer one starts. What the older tables can't take is not acknowledged and comes again.
func TestTheTablesAreBroughtToTheNewestFormWhileSitesSend(t *testing.T) {
	address := pgtest.Database(t)
	s := older(t, address)
	const sites, messages = 6, 25
	var tried atomic.Int64
	under, ended := make(chan struct{}), make(chan error, sites)
	for i := range sites {
		_, key := add(t, s, fmt.Sprintf("Site %d", i))
		go func() {
			previous := book.First
			for n := uint64(1); n <= messages; {
				p := spoken(t, n, previous)
				a, err := s.Take(context.Background(), key, p)
				if refusal, refused := errors.AsType[*Refusal](err); refused {
					ended <- refusal
					return
				}
				if tried.Add(1) == sites {
					close(under)
				}
				if err == nil && a.Last == p.Last {
					n, previous = n+1, p.Last.Hash
				}
			}
			ended <- nil
		}()
	}
	<-under
	newer, err := Open(t.Context(), address)
	require.NoError(t, err)
	t.Cleanup(newer.Close)
	for range sites {
		require.NoError(t, <-ended)
	}
	for _, table := range []string{"record", "block"} {
		var count int
		require.NoError(t, newer.pool.QueryRow(t.Context(), "SELECT count(*) FROM wetside."+table).Scan(&count))
		require.Equal(t, sites*messages, count, table)
	}
}
