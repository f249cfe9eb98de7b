//go:build linux

package centre

import (
	"fmt"
	"net/url"
	"os"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"wetside/daemon/centre/pgtest"
	"wetside/daemon/history/book"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Run(m)) }

// open opens the store of a fresh database.
func open(t *testing.T) *Store {
	s, err := Open(t.Context(), pgtest.Database(t))
	require.NoError(t, err)
	t.Cleanup(s.Close)
	return s
}

// add makes a site.
func add(t *testing.T, s *Store, name string) (site int, key string) {
	key, err := s.AddSite(t.Context(), NewSite{Name: name})
	require.NoError(t, err)
	site, err = s.siteOf(t.Context(), key)
	require.NoError(t, err)
	return site, key
}

// written are records of a book in order.
func written(t testing.TB, kinds ...string) []book.Record {
	var list []book.Record
	previous := book.First
	for i, kind := range kinds {
		r := book.Record{Number: uint64(i + 1), Kind: kind, At: time.Date(2026, 10, 14, 17, 0, i, 5e6, time.UTC), Room: "wet", Previous: previous}
		body, err := r.Body()
		require.NoError(t, err)
		r.Hash = book.Hash(previous, body)
		previous = r.Hash
		list = append(list, r)
	}
	return list
}

// insert puts a record into the table of a site.
func insert(t *testing.T, s *Store, site int, r book.Record) error {
	body, err := r.Body()
	require.NoError(t, err)
	return s.as(t.Context(), site, func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), "INSERT INTO wetside.record(site_id, number, hash, body) VALUES ($1, $2, $3, $4)", site, r.Number,
			r.Hash, body)
		return err
	})
}

func TestTheDatabaseTakesARecordThatContinuesTheBookAndNoOther(t *testing.T) {
	s := open(t)
	site, _ := add(t, s, "Library")
	other, _ := add(t, s, "Annex")
	list := written(t, "book opened", "started", "alarm")
	require.Equal(t, "WS002", stateOf(insert(t, s, site, list[1])), "the one before is missing")
	for _, r := range list {
		require.NoError(t, insert(t, s, site, r))
	}
	require.Equal(t, uniqueViolation, stateOf(insert(t, s, site, list[2])), "nothing is counted twice")
	rewritten := written(t, "book opened", "begun", "alarm", "alarm")
	require.Equal(t, "WS003", stateOf(insert(t, s, site, rewritten[3])))
	renumbered := list[2]
	renumbered.Number = 7
	body, err := renumbered.Body()
	require.NoError(t, err)
	renumbered.Hash = book.Hash(list[2].Hash, body)
	renumbered.Number = 4
	require.Equal(t, "WS003", stateOf(insert(t, s, site, renumbered)), "the text says another number")
	require.NoError(t, insert(t, s, other, rewritten[0]), "each site has a book of its own")

	var kind, room string
	var at int64
	require.NoError(t, s.pool.QueryRow(t.Context(), "SELECT kind, room, at_ms FROM wetside.record WHERE site_id = $1 AND number = 3",
		site).Scan(&kind, &room, &at))
	require.Equal(t, []any{"alarm", "wet", list[2].At.UnixMilli()}, []any{kind, room, at}, "the columns follow from the text")
}

func TestTheDatabaseChangesAndDeletesNoRecordAndLetsNoSiteWriteForAnother(t *testing.T) {
	s := open(t)
	site, _ := add(t, s, "Library")
	other, _ := add(t, s, "Annex")
	r := written(t, "book opened")[0]
	require.NoError(t, insert(t, s, site, r))
	tell := func(as int, statement string) error {
		return s.as(t.Context(), as, func(tx pgx.Tx) error {
			_, err := tx.Exec(t.Context(), statement)
			return err
		})
	}
	for _, statement := range []string{"UPDATE wetside.record SET room = ''", "DELETE FROM wetside.record", "TRUNCATE wetside.record"} {
		require.Equal(t, "WS001", stateOf(tell(site, statement)), statement)
	}
	const denied = "42501" // the SQLSTATE of a row that row-level security refuses
	require.Equal(t, denied, stateOf(tell(other, fmt.Sprintf("INSERT INTO wetside.word VALUES (%d, 1, 'x')", site))))
	require.NoError(t, tell(site, fmt.Sprintf("INSERT INTO wetside.block VALUES (%d, 1, '\\x01')", site)))
	require.NoError(t, tell(other, "UPDATE wetside.block SET samples = ''"))
	require.NoError(t, tell(site, "UPDATE wetside.block SET samples = '\\x0102'"))
	require.Equal(t, "WS001", stateOf(tell(site, "DELETE FROM wetside.block")))
	var now, before []byte
	require.NoError(t, s.pool.QueryRow(t.Context(),
		"SELECT samples, (SELECT samples FROM wetside.block_before) FROM wetside.block").Scan(&now, &before))
	require.Equal(t, [][]byte{{1, 2}, {1}}, [][]byte{now, before}, "another site changed nothing, and what was there before is kept")
}

func TestTablesAreMadeOnceAndNewerOnesAreRefused(t *testing.T) {
	address := pgtest.Database(t)
	s, err := Open(t.Context(), address)
	require.NoError(t, err)
	add(t, s, "Library")
	s.Close()
	s, err = Open(t.Context(), address)
	require.NoError(t, err)
	_, err = s.AddSite(t.Context(), NewSite{Name: "Library"})
	require.ErrorContains(t, err, "there is a site", "the tables are those of before")
	_, err = s.pool.Exec(t.Context(), "INSERT INTO public.wetside_form(number) VALUES (99)")
	require.NoError(t, err)
	s.Close()
	_, err = Open(t.Context(), address)
	require.ErrorContains(t, err, "start the newer wetside")
}

func TestARoleOrADatabaseThatIsMissingIsToldWithWhatToMake(t *testing.T) {
	known, err := url.Parse(pgtest.Database(t))
	require.NoError(t, err)
	nobody, nothing := *known, *known
	nobody.User = url.User("nobody_here")
	nothing.Path = "/none"
	_, err = Open(t.Context(), nobody.String())
	require.ErrorContains(t, err, "make it with createuser")
	_, err = Open(t.Context(), nothing.String())
	require.ErrorContains(t, err, "createdb --owner "+known.User.Username()+" --encoding UTF8 --template template0 none")
}

func TestProgramsThatStartAtOnceMakeTheTablesOnce(t *testing.T) {
	address := pgtest.Database(t)
	errs := make(chan error)
	for range 4 {
		go func() {
			s, err := Open(t.Context(), address)
			if err == nil {
				s.Close()
			}
			errs <- err
		}()
	}
	for range 4 {
		require.NoError(t, <-errs)
	}
}

func TestAKeyBelongsToOneSite(t *testing.T) {
	s := open(t)
	site, key := add(t, s, "Library")
	got, err := s.siteOf(t.Context(), key)
	require.NoError(t, err)
	require.Equal(t, site, got)
	_, err = s.siteOf(t.Context(), key+"0")
	require.ErrorIs(t, err, errUnknownKey)
	_, err = s.AddSite(t.Context(), NewSite{Name: " Library "})
	require.ErrorContains(t, err, "choose another name")
	_, err = s.AddSite(t.Context(), NewSite{Name: " "})
	require.ErrorContains(t, err, "needs a name")
}
