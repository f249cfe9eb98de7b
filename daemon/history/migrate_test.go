package history_test

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
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
	require.ErrorContains(t, history.Migrate(path, "ALTER TABLE channel ADD COLUMN colour TEXT; SELECT nonsense"), "nonsense")
	before := fmt.Sprintf("%s.before-form-%d", path, history.Forms(t)+1)
	kept, err := os.Stat(before)
	require.NoError(t, err)
	require.ErrorContains(t, history.Migrate(path, "SELECT nonsense"), "nonsense", "a copy of the same state does not stand in the way")
	again, err := os.Stat(before)
	require.NoError(t, err)
	require.True(t, os.SameFile(kept, again), "the copy is never written over")
	s := open(t, dir, clock)
	require.NotEmpty(t, all(t, s, evening(), clock.Now().Wall))
}

func TestACopyOfAnotherStateKeepsItsNameAndTheNewOneGetsANumber(t *testing.T) {
	dir, clock := closed(t)
	path := filepath.Join(dir, "wetside.db")
	require.Error(t, history.Migrate(path, "SELECT nonsense"))
	require.NoError(t, open(t, dir, clock).Close()) // and with it two records more
	require.Error(t, history.Migrate(path, "SELECT nonsense"))
	before := fmt.Sprintf("%s.before-form-%d", path, history.Forms(t)+1)
	require.FileExists(t, before)
	require.FileExists(t, before+"-2")
}

// migrationChild is set for a copy of the test program that starts on an old file.
const migrationChild = "WETSIDE_MIGRATION_CHILD"

// startOn opens a history, says so, and waits to be killed.
func startOn(dir string) error {
	if _, err := history.Open(context.Background(), options(dir, newHandClock(formBegin().AddDate(0, 0, 30)))); err != nil {
		return err
	}
	fmt.Println("open")
	select {}
}

func TestAMigrationThatIsKilledIsDoneAtTheNextStart(t *testing.T) {
	want, err := os.ReadFile("testdata/form-1.txt")
	require.NoError(t, err)
	for range campaign.Size(t, 8) {
		dir := keptForm(t, 1)
		child := exec.Command(os.Args[0])
		child.Env = append(os.Environ(), migrationChild+"="+dir)
		require.NoError(t, child.Start())
		time.Sleep(rand.N(80 * time.Millisecond))
		require.NoError(t, child.Process.Kill())
		require.ErrorContains(t, child.Wait(), "killed")
		s := open(t, dir, newHandClock(formBegin().AddDate(0, 0, 30)))
		require.NoError(t, s.Close())
		requireVerified(t, dir)
		told := retell(t, dir)
		for line := range strings.Lines(string(want)) {
			require.Contains(t, told, line, "nothing is lost")
		}
		require.Equal(t, int64(1), userVersion(t, filepath.Join(dir, fmt.Sprintf("wetside.db.before-form-%d", history.Forms(t)))))
	}
}
