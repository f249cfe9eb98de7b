//go:build linux

package uplink

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/sensors/clocktest"
)

// folder copies the history of a site that is stopped.
func (p *place) folder() string {
	dir := p.TempDir()
	text, err := os.ReadFile(filepath.Join(p.dir, history.FileName))
	require.NoError(p, err)
	require.NoError(p, os.WriteFile(filepath.Join(dir, history.FileName), text, 0o600))
	return dir
}

// moved is a site that goes on with another folder, by the same key.
func (p *place) moved(dir string) *place {
	m := &place{T: p.T, name: p.name, dir: dir, clock: clocktest.New(p.clock.Now().Wall), key: p.key, url: p.url}
	m.start()
	return m
}

// rewrite changes a record of a stopped history and all hashes after it, as somebody would
// who knows how the book is made.
func rewrite(t *testing.T, dir string, number int64) {
	db, err := sql.Open("sqlite", filepath.Join(dir, history.FileName))
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	_, err = db.Exec("DROP TRIGGER record_is_never_changed")
	require.NoError(t, err)
	rows, err := db.Query("SELECT body FROM record ORDER BY number")
	require.NoError(t, err)
	var bodies []string
	for rows.Next() {
		var body string
		require.NoError(t, rows.Scan(&body))
		bodies = append(bodies, body)
	}
	require.NoError(t, rows.Err())
	previous := book.First
	for i, body := range bodies {
		if int64(i+1) == number {
			body = strings.Replace(body, "Invented Person", "Somebody Else", 1)
			require.NotEqual(t, bodies[i], body)
		}
		hash := book.Hash(previous, body)
		_, err := db.Exec("UPDATE record SET body = ?, hash = ? WHERE number = ?", body, hash, i+1)
		require.NoError(t, err)
		previous = hash
	}
	_, err = db.Exec("CREATE TRIGGER record_is_never_changed BEFORE UPDATE ON record BEGIN SELECT RAISE(ABORT, 'a record is never " +
		"changed: write a correction'); END")
	require.NoError(t, err)
	require.NoError(t, os.RemoveAll(filepath.Join(dir, "wetside.mark")))
}

// requireRefused sends and gives why the centre took nothing, which its own table says too.
func requireRefused(c *middle, p *place) string {
	c.Helper()
	kept := ask[int64](c, "SELECT count(*) FROM wetside.record")
	err := p.send()
	var refused *Refused
	require.ErrorAs(c, err, &refused)
	require.Equal(c, refused.Why, ask[string](c, "SELECT why FROM wetside.refusal WHERE ended_at IS NULL AND key IS NULL ORDER BY "+
		"last_at DESC LIMIT 1"))
	require.Equal(c, refused.Why, p.sender.Standing().Problem)
	require.Equal(c, kept, ask[int64](c, "SELECT count(*) FROM wetside.record"), "nothing was taken")
	return refused.Why
}

func TestARewrittenBookIsRefusedTheMomentTheSiteSpeaks(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	p.work(time.Hour)
	require.NoError(t, p.send())
	p.stop()
	dir := p.folder()
	rewrite(t, dir, 5)
	m := p.moved(dir)
	require.Contains(t, requireRefused(c, m), "a record up to it was changed")
	requireRefused(c, m)
	require.Equal(t, int64(2), ask[int64](c, "SELECT times::bigint FROM wetside.refusal"),
		"to ask how far the centre has come ends no refusal")

	// Where nothing is added after the last record that the centre took, the record itself differs.
	require.NoError(t, p.moved(p.folder()).send())
	require.Equal(t, int64(0), ask[int64](c, "SELECT count(*) FROM wetside.refusal WHERE ended_at IS NULL"),
		"a site that is taken again has no open refusal")
	require.Equal(t, int64(1), ask[int64](c, "SELECT count(*) FROM wetside.refusal"))
}

func TestASiteThatWasPutBackToABackupIsRefused(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	p.work(time.Hour)
	require.NoError(t, p.send())
	p.stop()
	backup := p.folder()
	p.start()
	p.work(time.Hour)
	require.NoError(t, p.send())
	p.stop()

	m := p.moved(backup)
	require.Contains(t, requireRefused(c, m), "the site's data was put back to an older state")
	for range 30 {
		m.record("alarm", `{"subject":"air"}`)
	}
	require.Contains(t, requireRefused(c, m), "does not continue the one that the centre keeps")
	p.start()
	require.NoError(t, p.send(), "the site that was not put back is still taken")
	requireSame(c, p)
}

func TestTheSecondOfTwoSitesWithOneKeyIsRefused(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	p.work(time.Hour)
	p.stop()
	twin := p.moved(p.folder())
	p.start()
	require.NoError(t, p.send())
	require.NoError(t, p.send())
	require.Contains(t, requireRefused(c, twin), "a second computer uses the site's key")
	p.record("alarm", `{"subject":"air"}`)
	require.NoError(t, p.send())
	p.stop()
	p.start()
	require.NoError(t, p.send())
	requireSame(c, p)
}

func TestADayThatWasChangedInTheFileIsNotTakenAndTheRestIs(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	p.work(time.Hour)
	p.clock.Advance(24 * time.Hour)
	p.store.Settle(t.Context())
	p.stop()
	db, err := sql.Open("sqlite", filepath.Join(p.dir, history.FileName))
	require.NoError(t, err)
	_, err = db.Exec("DELETE FROM part WHERE key = (SELECT min(key) FROM block)")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	p.start()
	require.NoError(t, p.send())
	require.NoError(t, p.send(), "it is sent once")
	require.Equal(t, int64(1), ask[int64](c, "SELECT count(*) FROM wetside.attested WHERE NOT held"))
	why := ask[string](c, "SELECT why FROM wetside.refusal WHERE ended_at IS NULL AND key IS NOT NULL")
	require.Regexp(t, `The samples of "developer tray" on 2026-10-14 are not those that record \d+ attests`, why)
	require.Equal(t, int64(1), ask[int64](c, "SELECT times::bigint FROM wetside.refusal"))
	require.False(t, p.sender.Standing().Complete)
	require.Positive(t, ask[int64](c, "SELECT count(*) FROM wetside.block"), "the other channel is there")
}

func TestAKeyThatIsClosedIsSaidSo(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	require.NoError(t, p.send())
	require.NoError(t, c.store.CloseSite(t.Context(), p.name))
	require.ErrorContains(t, p.send(), "use the key that wetside centre add-site printed")
}
