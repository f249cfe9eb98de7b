//go:build linux

package pgtest_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/centre/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Run(m)) }

func TestEachTestHasADatabaseOfItsOwn(t *testing.T) {
	require.NotEqual(t, pgtest.Database(t), pgtest.Database(t))
}

func TestAServerIsGoneOnceItIsStopped(t *testing.T) {
	s, err := pgtest.Start()
	require.NoError(t, err)
	_, err = s.Create("one")
	require.NoError(t, err)
	require.NoError(t, s.Tell("one", "CREATE TABLE thing (name text)"))
	require.Error(t, s.Tell("one", "SELECT 1 FROM nothing"), "what the server refuses comes back")
	require.NoError(t, s.Stop())
	require.Error(t, s.Tell("one", "SELECT 1 FROM thing"))
}

func TestAServerThatWasKilledGoesOnAndAnOlderCopyTakesThePlaceOfADatabase(t *testing.T) {
	s, err := pgtest.Start()
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Stop()) })
	_, err = s.Create("one")
	require.NoError(t, err)
	require.NoError(t, s.Tell("one", "SET ROLE owner_of_tests; CREATE TABLE thing (name text)"))
	file := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, s.Dump("one", file))
	require.NoError(t, s.Tell("one", "CREATE TABLE later (name text)"))
	require.NoError(t, s.Kill())
	require.Error(t, s.Tell("one", "SELECT 1"))
	require.NoError(t, s.Serve())
	require.NoError(t, s.Tell("one", "SELECT 1 FROM later"))
	require.NoError(t, s.Restore(file, "one"))
	require.NoError(t, s.Tell("one", "SELECT 1 FROM thing"))
	require.Error(t, s.Tell("one", "SELECT 1 FROM later"), "it was not there when the copy was made")
}
