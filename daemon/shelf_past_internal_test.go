package daemon

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/dashboard/cards"
)

// TestTheShelfOfAPastMomentIsTheSameFromAKeptMomentAsFromTheFirstEntry has late entries,
// corrections and entries that no longer make sense around the places where moments are kept.
func TestTheShelfOfAPastMomentIsTheSameFromAKeptMomentAsFromTheFirstEntry(t *testing.T) {
	begun := time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)
	s := newChemistry(config.Config{})
	add := func(late time.Duration, a ledger.Act) {
		n := len(s.records) + 1
		entered := begun.Add(time.Duration(n) * time.Minute)
		s.records = append(s.records, cards.ShelfRecord{Entry: ledger.Entry{Number: uint64(3 * n), At: entered.Add(-late), Entered: entered,
			By: "Ada", Act: a}})
	}
	add(0, ledger.ContainerNamed{Container: "tray", Vessel: ledger.Tray, Capacity: 3000})
	for n := 0; len(s.records) < 2500; n++ {
		late := time.Duration(0)
		if n%100 == 99 {
			late = 2 * time.Minute
		}
		add(0, ledger.BatchMixed{Batch: fmt.Sprint(n), Name: "Fixer", Class: ledger.Fixer, Into: "tray", Meant: ledger.FromUnknown,
			Water: 100, Owner: ledger.House})
		add(late, ledger.SheetsUsed{Containers: []string{"tray"}, Material: ledger.ResinCoated, Count: 3, SheetArea: ledger.EightByTen})
		if n%50 == 3 {
			add(0, ledger.Discarded{Container: "no such tray", Volume: 1, Reason: "invented"})
		}
		if n%200 == 5 {
			add(0, ledger.Correction{Of: s.records[len(s.records)-1].Number, Reason: "misread"})
		}
		add(0, ledger.Discarded{Container: "tray", Volume: 100, Emptied: true, Route: "drain", Reason: "end"})
	}
	s.fold(entriesOf(s.records), zap.NewNop())
	for at := 1; at < len(s.records); at += 99 {
		then := s.asOf(begun.Add(time.Duration(at)*time.Minute+time.Second), zap.NewNop())
		require.Len(t, then.records, at)
		whole := newChemistry(config.Config{})
		whole.fold(entriesOf(s.records[:at]), zap.NewNop())
		require.Equal(t, all(whole, begun), all(then, begun), at)
	}
	require.Positive(t, s.ledger.Near(s.ledger.Version()).Version(), "moments are kept in a book of this length")
}

// all is what the readers of a book get to see.
func all(b *chemistry, at time.Time) []any {
	tray, _ := b.ledger.Container("tray")
	held, _ := b.ledger.Contents("tray", at)
	return []any{b.ledger.Version(), slices.Collect(b.ledger.Effective()), b.ledger.Uses(), b.ledger.Batches(), b.ledger.Story("tray"),
		tray, held}
}
