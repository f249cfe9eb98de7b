//go:build linux

package centre

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/centre/pgtest"
	"wetside/daemon/centre/wire"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
)

// BenchmarkAMessageOfASite takes messages of fifty sites in turn, each with one record. A site
// speaks at least once a minute.
func BenchmarkAMessageOfASite(b *testing.B) {
	s, err := Open(b.Context(), pgtest.Database(b))
	require.NoError(b, err)
	defer s.Close()
	const sites = 50
	keys := make([]string, sites)
	last := make([]wire.Place, sites)
	for i := range keys {
		keys[i], err = s.AddSite(b.Context(), NewSite{Name: fmt.Sprintf("Site %d", i)})
		require.NoError(b, err)
		last[i].Hash = book.First
	}
	for n := 0; b.Loop(); n++ {
		place := &last[n%sites]
		r := book.Record{Number: place.Number + 1, Kind: "alarm", At: written(b, "alarm")[0].At}
		body, err := r.Body()
		require.NoError(b, err)
		p := wire.Push{After: place.Number, Records: []history.RawRecord{{Hash: book.Hash(place.Hash, body), Body: body}}}
		p.Last = wire.Place{Number: r.Number, Hash: p.Records[0].Hash}
		answer, err := s.Take(b.Context(), keys[n%sites], p)
		require.NoError(b, err)
		require.Equal(b, p.Last, answer.Last)
		*place = answer.Last
	}
}
