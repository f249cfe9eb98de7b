//go:build linux

package pgtest_test

import (
	"os"
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
