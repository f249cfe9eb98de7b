package bookmark_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/bookmark"
)

func TestThePlaceIsReadAsItWasWritten(t *testing.T) {
	f := bookmark.File(filepath.Join(t.TempDir(), "place"))
	_, found, err := f.Read()
	require.NoError(t, err)
	require.False(t, found)
	for _, want := range []int64{0, -1, 1_792_015_200_000, math.MaxInt64} {
		require.NoError(t, f.Write(want))
		got, found, err := f.Read()
		require.NoError(t, err)
		require.True(t, found)
		require.Equal(t, want, got)
	}
	require.NoFileExists(t, string(f)+".part")
}

func TestADamagedPlaceSaysWhatToDo(t *testing.T) {
	f := bookmark.File(filepath.Join(t.TempDir(), "place"))
	for _, text := range []string{"", "soup", "1.5", "99999999999999999999"} {
		require.NoError(t, os.WriteFile(string(f), []byte(text), 0o600))
		_, _, err := f.Read()
		require.ErrorContains(t, err, "delete ")
	}
	require.ErrorContains(t, bookmark.File(filepath.Join(t.TempDir(), "no", "place")).Write(1), "can't be kept")
}
