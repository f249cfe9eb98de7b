package history_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

// userVersion reads which form a file says that it has.
func userVersion(t *testing.T, path string) (form int64) {
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.QueryRow("PRAGMA user_version").Scan(&form))
	return form
}

func TestAnOlderFileIsCopiedAndThenBroughtForward(t *testing.T) {
	dir, _ := closed(t)
	path := filepath.Join(dir, "wetside.db")
	next := "ALTER TABLE channel ADD COLUMN colour TEXT"
	require.NoError(t, history.Migrate(path, next))
	change(t, dir, "UPDATE channel SET colour = 'red'")
	_, err := os.Stat(fmt.Sprintf("%s.before-form-%d", path, history.Forms(t)+1))
	require.NoError(t, err)

	_, err = history.Verify(t.Context(), dir)
	require.ErrorIs(t, err, history.ErrNewer)
	require.NoError(t, history.Migrate(path, next), "it is done once")
}

func TestAStepThatFailsLeavesTheFileAsItWas(t *testing.T) {
	dir, clock := closed(t)
	path := filepath.Join(dir, "wetside.db")
	require.Error(t, history.Migrate(path, "ALTER TABLE channel ADD COLUMN colour TEXT; SELECT nonsense"))
	require.ErrorContains(t, history.Migrate(path, "SELECT nonsense"), "already there", "the copy is never written over")
	s := open(t, dir, clock)
	require.NotEmpty(t, all(t, s, evening(), clock.Now().Wall))
}
