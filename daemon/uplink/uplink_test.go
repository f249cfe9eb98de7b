//go:build linux

package uplink

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

func TestTheCentreHasEveryRowOfASite(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	require.NoError(t, p.send(), "an empty evening is sent as well")
	p.work(2 * time.Hour)
	require.NoError(t, p.send())
	p.stop() // seals and attests what is there
	p.start()
	require.NoError(t, p.send())
	for table, rows := range requireSame(c, p) {
		require.True(t, rows > 0 || table == "unattested", "there are rows to compare in the table %s", table)
	}
	require.True(t, p.sender.Standing().Complete)

	messages := p.sender.Standing().Messages
	require.NoError(t, p.send())
	require.Equal(t, messages+1, p.sender.Standing().Messages, "a sign of life is one message")
	require.NoError(t, p.sender.catchUp(t.Context()))
	require.Equal(t, messages+1, p.sender.Standing().Messages, "nothing new is no message")
}

func TestADayIsHeldToWhatTheBookAttests(t *testing.T) {
	c := newCentre(t)
	p := newSite(c, "Library basement")
	p.work(2 * time.Hour)
	require.NoError(t, p.send())
	p.clock.Advance(24 * time.Hour)
	require.NoError(t, p.send(), "the day is over and attested")
	requireSame(c, p)
	require.Equal(t, int64(2), ask[int64](c, "SELECT count(*) FROM wetside.attested WHERE held"))

	late := history.Sample{Channel: "developer", At: evening().Add(7 * time.Minute), Raw: 21.5}
	require.NoError(t, p.store.Append(t.Context(), history.Batch{Samples: []history.Sample{late}}))
	require.NoError(t, p.send())
	require.NoError(t, p.send())
	requireSame(c, p)
	require.Equal(t, int64(1), ask[int64](c, "SELECT count(*) FROM wetside.block_before"), "what the block was before is kept")

	_, err := p.store.Delete(t.Context(), history.Deletion{Channel: "fixer", Before: evening().AddDate(0, 0, 1).Truncate(24 * time.Hour),
		KeptFor: "1 day", Why: "invented"})
	require.NoError(t, err)
	require.NoError(t, p.send())
	requireSame(c, p)
}
