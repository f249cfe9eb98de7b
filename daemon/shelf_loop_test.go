package daemon_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/history/disktest"
	"wetside/dashboard/cards"
)

func TestAPageThatReadsTheShelfHoldsUpNoEntryAndSeesNoneOfIt(t *testing.T) {
	b := aBench(t)
	book := b.d.Shelf().Book()
	version, records := book.Version(), len(book.Records)
	b.does("Ada", fixer("FX-1", fixerTray))
	require.Equal(t, version, book.Version())
	require.Len(t, book.Records, records)
	_, known := book.Batch("FX-1")
	require.False(t, known)
	require.True(t, look(b.d, func(book *cards.ShelfBook) bool { _, known := book.Batch("FX-1"); return known }))
}

func TestEntriesOfManyPeopleAtOnceFollowOneAnother(t *testing.T) {
	b := aBench(t)
	b.does("Ada", fixer("FX-1", fixerTray))
	var people sync.WaitGroup
	const each = 5
	for n := range 4 {
		people.Go(func() {
			for range each {
				_, err := b.tries(fmt.Sprintf("person %d (invented)", n), ledger.SheetsUsed{Containers: []string{fixerTray},
					Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
				require.NoError(b, err)
			}
		})
	}
	people.Wait()
	require.Equal(t, 4*each, look(b.d, func(book *cards.ShelfBook) int { return len(book.Uses()) }))
	require.Equal(t, "20 sheets 8x10", b.bath(2).Portion.Known.Use.Words.String(), "the board shows the last of them")
}

func TestNobodyWaitsForAShelfThatHasEnded(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	d, err := daemon.New(ctx, options(t))
	require.NoError(t, err)
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	end()
	require.NoError(t, <-ended)
	_, err = bench{t, d, "darkroom"}.tries("Ada", ledger.SessionOpened{Session: "evening", Title: "class", Lead: "Ada"})
	require.ErrorContains(t, err, "nothing was recorded")
}

// Whoever asked has gone by the time a slow disk is done: the entry is in the book even so.
func TestAnEntryThatASlowDiskWritesAfterAllIsInTheBook(t *testing.T) {
	r, disk, _ := onBadDisk(t)
	enters := func(ctx context.Context, vessel string) error {
		_, err := r.daemon.Enter(ctx, cards.ShelfEntry{Room: "room-0", Person: "Ada",
			Act: ledger.ContainerNamed{Container: vessel, Vessel: ledger.Tray, Capacity: 3000}})
		return err
	}
	disk.Break(disktest.Fault{Op: disktest.Sync, Delay: 500 * time.Millisecond})
	impatient, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	require.ErrorContains(t, enters(impatient, "first"), "check whether the entry was recorded")
	require.NoError(t, enters(t.Context(), "second"))
	require.Positive(t, disk.Mend())
	require.Subset(t, look(r.daemon, func(b *cards.ShelfBook) []string { return b.Containers() }), []string{"first", "second"})
}
