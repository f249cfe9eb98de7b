package book_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history/book"
)

func TestACheckpointIsReadAsItIsPrinted(t *testing.T) {
	c := book.Checkpoint{Number: 812, Hash: strings.Repeat("0a", 32)}
	got, err := book.ParseCheckpoint(" " + strings.ToUpper(c.String()) + "\n")
	require.NoError(t, err)
	require.Equal(t, c, got)
	for _, text := range []string{"", "812", "0:" + c.Hash, "-1:" + c.Hash, "812:0a", "812:" + strings.Repeat("xy", 32), "812:" + c.Hash +
		"00"} {
		_, err := book.ParseCheckpoint(text)
		require.ErrorContains(t, err, "is not a checkpoint", text)
	}
}

// FuzzParseCheckpoint hands any text over: what is taken comes back the same.
func FuzzParseCheckpoint(f *testing.F) {
	f.Add("812:" + strings.Repeat("0a", 32))
	f.Add("1:")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := book.ParseCheckpoint(text)
		if err != nil {
			return
		}
		again, err := book.ParseCheckpoint(c.String())
		require.NoError(t, err)
		require.Equal(t, c, again)
	})
}
