package ledger_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity"
)

// everyAct gives one act of each kind.
func everyAct() []ledger.Act {
	return []ledger.Act{
		ledger.ContainerNamed{Container: "T1", Vessel: ledger.Tray, Capacity: 2000},
		ledger.LotReceived{Lot: "L1", Units: 6, UnitVolume: 500}, ledger.LotOpened{Lot: "L1", Container: "B1"},
		ledger.BatchMixed{Batch: "PD-1", Name: "paper developer", From: "B1", ParentVolume: 100, Water: 900, Into: "T1"},
		ledger.PortionPoured{From: "B1", To: "T1", Volume: 1000}, ledger.ToppedUp{Container: "T1", Water: 200},
		ledger.Returned{From: "T1", To: "B2", Volume: 900}, ledger.Discarded{Container: "T1", Volume: 900, To: "W1", Reason: "used up"},
		ledger.Merged{From: "B2", Into: "B3"}, ledger.Promoted{From: "T2", To: "T1"},
		ledger.TestDone{Test: ledger.StopColourTest, Container: "T1", Seen: "yellow"},
		ledger.SheetsUsed{Containers: []string{"T1"}, Material: ledger.ResinCoated, Count: 4, SheetArea: ledger.EightByTen},
		ledger.PrintTimed{Container: "T1", Emergence: 12, Seconds: 90}, ledger.BottleFound{Container: "X1", Volume: 500, Where: "under the sink"},
		ledger.BathFound{Container: "T1", Batch: "F-1", Name: "fixer", Class: ledger.Fixer, Volume: 1000},
		ledger.SessionOpened{Session: "s", Title: "Class", Lead: "Ada"}, ledger.SessionClosed{Session: "s"},
		ledger.TraysCovered{Containers: []string{"T1"}}, ledger.TraysUncovered{Containers: []string{"T1"}},
		ledger.WasteAdded{Container: "W1", Volume: 300, What: "rinse"}, ledger.WasteCollected{Container: "W1", Collector: "invented carrier"},
		ledger.SilverMeasured{Container: "W1", Method: ledger.TestStrip}, ledger.WorkBooked{Booking: "b", Title: "Class", Students: 6,
			SheetsEach: 5},
		ledger.AssumptionsStated{Source: "invented"}, ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: []string{"lights off"}},
		ledger.ClosingListSigned{List: ledger.AfterSetUp, Lines: []string{"lights off"}}, ledger.ProductNoted{Name: "fixer", Source: "label",
			Standing: ledger.Verified},
		ledger.Correction{Of: 7, Reason: "slip", Instead: ledger.PortionPoured{From: "B1", To: "T1", Volume: 800}},
	}
}

func TestEveryActIsDeclaredForARoleAndSaysWhatWasDone(t *testing.T) {
	kinds, err := record.NewRegistry(ledger.Kinds()...)
	require.NoError(t, err)
	var seen []string
	for _, a := range everyAct() {
		k, declared := kinds.Find(a.Kind())
		require.True(t, declared, a.Kind())
		require.Equal(t, ledger.LeastFor(a), k.Least)
		require.Contains(t, access.Roles(), k.Least)
		require.NotContains(t, a.Sentence().String(), "%!", "%s: every part of the sentence is there", a.Kind())
		require.NotEqual(t, a.Kind(), a.Sentence().String())
		seen = append(seen, a.Kind())
	}
	missing := slices.DeleteFunc(ledger.KindNames(), func(kind string) bool { return slices.Contains(seen, kind) })
	require.Empty(t, missing, "add one act of each of these kinds to everyAct")
	require.Len(t, ledger.KindNames(), len(seen), "everyAct has one act of each kind")
}

// What the totals of a kind count, in millilitres.
func TestTheVolumeOfAnAct(t *testing.T) {
	for act, want := range map[ledger.Counted]quantity.Millilitre{
		ledger.BatchMixed{ParentVolume: 100, Water: 900}: 1000, ledger.Discarded{Volume: 20}: 20, ledger.WasteAdded{Volume: 30}: 30,
		ledger.BathFound{Volume: 40}: 40,
	} {
		require.Equal(t, want, act.Amount(), act.Kind())
	}
}

func TestAnActInWords(t *testing.T) {
	for want, a := range map[string]ledger.Act{
		"333 mL poured from B1 into T1":  ledger.PortionPoured{From: "B1", To: "T1", Volume: 333.4},
		"1000 mL poured from B1 into T1": ledger.PortionPoured{From: "B1", To: "T1", Volume: 1000},
		"T1 added: tray, capacity 2000 mL": ledger.ContainerNamed{Container: "T1", Vessel: ledger.Tray,
			Capacity: 2000},
		"1 bottle of 500 mL received, lot PD a": ledger.LotReceived{Lot: "lot PD a", Units: 1, UnitVolume: 500},
		"6 bottles of 500 mL received, lot L1":  ledger.LotReceived{Lot: "L1", Units: 6, UnitVolume: 500},
		"4 × 8x10 of resin-coated paper through T1, T2": ledger.SheetsUsed{Containers: []string{"T1", "T2"},
			Material: ledger.ResinCoated, Count: 4, SheetArea: ledger.EightByTen},
		"stop bath colour test of T1: yellow": ledger.TestDone{Test: ledger.StopColourTest, Container: "T1",
			Seen: "yellow"},
		"clearing time test of T1: 30 s on the fresh bath": ledger.TestDone{Test: ledger.ClearingTest, Container: "T1",
			Seconds: 30, Baseline: true},
		"residual silver test of finished prints: no stain": ledger.TestDone{Test: ledger.ResidualSilver, Seen: "no stain"},
		"entry 7 corrected: 800 mL poured from B1 into T1 (slip)": ledger.Correction{Of: 7, Reason: "slip",
			Instead: ledger.PortionPoured{From: "B1", To: "T1", Volume: 800}},
		"entry 7 withdrawn (slip)": ledger.Correction{Of: 7, Reason: "slip"},
		"4 × 100 cm² of film through T1": ledger.SheetsUsed{Containers: []string{"T1"}, Material: ledger.Film,
			Count: 4, SheetArea: quantity.SquareMetre(0.01)},
		"T1 topped up with 200 mL from B1 and 300 mL of water": ledger.ToppedUp{Container: "T1", From: "B1", Volume: 200, Water: 300},
		"900 mL from T1 discarded: down the drain (at the end)": ledger.Discarded{Container: "T1", Volume: 900, Route: "down the drain",
			Reason: "at the end"},
		"T1 topped up with 200 mL from B1":       ledger.ToppedUp{Container: "T1", From: "B1", Volume: 200},
		"T1 topped up with 300 mL of water":      ledger.ToppedUp{Container: "T1", Water: 300},
		"900 mL from T1 discarded into W1 (old)": ledger.Discarded{Container: "T1", Volume: 900, To: "W1", Reason: "old"},
		"3 packets for 500 mL received, lot P":   ledger.LotReceived{Lot: "P", Units: 3, UnitVolume: 500, Powder: true},
		"developer (batch D): 100 mL from B1 and 900 mL of water, into T1": ledger.BatchMixed{Batch: "D", Name: "developer", From: "B1",
			ParentVolume: 100, Water: 900, Into: "T1"},
		"T1 holds 500 mL of fixer (batch F), mixed fresh, concentrate or stock unknown": ledger.BathFound{Container: "T1", Batch: "F",
			Name: "fixer", Volume: 500, Fresh: true},
		"T1 holds 500 mL of fixer (batch F), origin and age unknown": ledger.BathFound{Container: "T1", Batch: "F", Name: "fixer", Volume: 500},
		"standard black strip test of T1: first strip of this batch": ledger.TestDone{Test: ledger.BlackStripTest, Container: "T1",
			Baseline: true},
		"clearing time test of T1: 0.5 s": ledger.TestDone{Test: ledger.ClearingTest, Container: "T1", Seconds: 0.5},
		"clearing time test of T1: 0.5 s on the fresh bath": ledger.TestDone{Test: ledger.ClearingTest, Container: "T1", Seconds: 0.5,
			Baseline: true},
		"clearing time test of T1: 45 s": ledger.TestDone{Test: ledger.ClearingTest, Container: "T1", Seconds: 45},
		"booking of Class cancelled":     ledger.WorkBooked{Booking: "b", Title: "Class", Students: 6},
		"booked Class for 4 Mar 2025 18:00: people: 6, sheets each: 5, 8x10, film": ledger.WorkBooked{Booking: "b", Title: "Class",
			Begins: evening(), Students: 6, SheetsEach: 5, SheetArea: ledger.EightByTen, Material: ledger.Film},
		"closing list after set-up: back to the usual lines": ledger.ClosingListWritten{List: ledger.AfterSetUp},
		"closing list after set-up written: lights off; key": ledger.ClosingListWritten{List: ledger.AfterSetUp,
			Lines: []string{"lights off", "key"}},
		"from a packet (batch F-1), 1500 mL, mixed into Fixer tray": ledger.BatchMixed{Batch: "F-1", Name: "from a packet", Water: 1500,
			Into: "Fixer tray", Meant: ledger.FromPowder},
		"stop bath (batch S-1), 2500 mL, listed as found in jug": ledger.BatchMixed{Batch: "S-1", Name: "stop bath", Water: 2500,
			Into: "jug", Meant: ledger.FromUnknown},
	} {
		require.Equal(t, want, a.Sentence().String())
	}
}

// TestTheStoryOfABatchFollowsItThroughEveryVessel pours one batch from vessel to vessel and
// asks what tells of it, and what does not.
func TestTheStoryOfABatchFollowsItThroughEveryVessel(t *testing.T) {
	b := newBook(t)
	numbers := func(id string) []uint64 {
		var list []uint64
		for _, e := range b.l.Story(id) {
			list = append(list, e.Number)
		}
		return list
	}
	tray := b.write(at("18:00"), ledger.ContainerNamed{Container: "T1", Vessel: ledger.Tray, Capacity: 2000, Bath: "developer"})
	b.write(at("18:01"), ledger.ContainerNamed{Container: "B1", Vessel: ledger.Bottle, Capacity: 2000})
	mixed := b.write(at("18:02"), ledger.BatchMixed{Batch: "PD-1", Name: "developer", Class: ledger.PrintDeveloper, Into: "B1",
		Meant: ledger.FromUnknown, Water: 1500, Owner: ledger.House})
	early := b.write(at("18:03"), ledger.SheetsUsed{Containers: []string{"T1"}, Material: ledger.ResinCoated, Count: 1,
		SheetArea: ledger.EightByTen})
	poured := b.write(at("18:04"), ledger.PortionPoured{From: "B1", To: "T1", Volume: 1000})
	used := b.write(at("18:05"), ledger.SheetsUsed{Containers: []string{"T1"}, Material: ledger.ResinCoated, Count: 5,
		SheetArea: ledger.EightByTen})
	covered := b.write(at("18:06"), ledger.TraysCovered{Containers: []string{"T1"}})
	gone := b.write(at("18:07"), ledger.Discarded{Container: "T1", Volume: 1000, Emptied: true, Route: "drain", Reason: "end"})
	after := b.write(at("18:08"), ledger.TraysUncovered{Containers: []string{"T1"}})
	require.Equal(t, []uint64{mixed, poured, used, covered, gone}, numbers("PD-1"))
	require.Equal(t, []uint64{tray, early, poured, used, covered, gone, after}, numbers("T1"))
	require.Empty(t, numbers("PD-2"))

	c, _ := b.l.Container("B1")
	require.Equal(t, ledger.Fill{Entry: mixed, At: at("18:02"), By: "Ada"}, c.Filled)
	c, _ = b.l.Container("T1")
	require.Zero(t, c.Filled, "nothing is in the tray")

	b.take(ledger.Entry{Number: b.l.Version() + 1, At: at("18:09"), Entered: at("18:09"), By: "Ada", Act: ledger.Correction{Of: used,
		Reason:  "it was later",
		Instead: ledger.SheetsUsed{Containers: []string{"T1"}, Material: ledger.ResinCoated, Count: 6, SheetArea: ledger.EightByTen},
		At:      at("18:08")}})
	require.NotContains(t, numbers("PD-1"), used, "by the correction the tray was empty then")
	require.Contains(t, numbers("T1"), used)
}

// TestTheStoryIsTheSameHoweverTheBookIsRead holds the story that grew entry by entry against
// that of a book that is read at once.
func TestTheStoryIsTheSameHoweverTheBookIsRead(t *testing.T) {
	b := newBook(t).room()
	again := ledger.New(ledger.Settings{Catalogue: catalogue(t)})
	require.NoError(t, again.Replay(slices.Clone(b.entries)))
	require.Equal(t, slices.Collect(b.l.Effective()), slices.Collect(again.Effective()))
	for _, id := range slices.Concat(b.l.Containers(), b.l.Batches()) {
		require.Equal(t, b.l.Story(id), again.Story(id), id)
		require.NotEmpty(t, b.l.Story(id), id)
	}
}
