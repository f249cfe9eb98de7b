package daemon_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
	"wetside/sensors/quantity"
)

// TestABottleThatRunsOutDoesNotStopASetUp fills four trays of which the third takes the last of the
// open bottle of fixer and the fourth needs a new one: in one press as last time, and one bath at a time.
func TestABottleThatRunsOutDoesNotStopASetUp(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan")
	k.evening.until(time.Minute)
	fixed := []string{"First fixer tray", "Second fixer tray"}
	enter := func(acts ...ledger.Act) {
		t.Helper()
		for _, act := range acts {
			k.shelf.does("Newcomer", act)
		}
	}
	mixed := func(batch, from, into string) ledger.BatchMixed {
		return ledger.BatchMixed{Batch: batch, Name: batch, Product: "rapid-fixer", Class: ledger.Fixer, Into: into,
			Meant: ledger.FromConcentrate,
			From:  from, ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
	}
	enter(ledger.LotReceived{Lot: "fixer lot", Product: "rapid-fixer", Class: ledger.Fixer, Units: 3, UnitVolume: 600, Owner: ledger.House},
		ledger.SessionOpened{Session: "first evening", Title: "First evening", Lead: "Newcomer"},
		ledger.LotOpened{Lot: "fixer lot", Container: "fixer concentrate"},
		mixed("one", "fixer concentrate", fixed[0]), mixed("two", "fixer concentrate", fixed[1]))
	for _, tray := range fixed {
		enter(ledger.Discarded{Container: tray, Volume: 2000, Emptied: true, Route: "collected", Reason: "used"})
	}
	enter(ledger.SessionClosed{Session: "first evening"})

	page := accepted(t, k.Open(setUpAt).Form(formtest.Having("title")).Fill("who", "Newcomer").Press("as it should be"))
	require.Contains(t, page.Text(), "Mix from fixer concentrate", "the open bottle is used up first")
	require.Contains(t, page.Text(), "Open a bottle of fixer lot and mix from it")
	page = accepted(t, page.Form(formtest.Doing("as-last-time")).Send())
	require.NotContains(t, page.Text(), "Not recorded")
	held := func(vessel string) quantity.Millilitre {
		return look(k.daemon, func(b *cards.ShelfBook) quantity.Millilitre { c, _ := b.Contents(vessel, b.At); return c.Volume })
	}
	for _, tray := range fixed {
		require.InDelta(t, 2000, float64(held(tray)), 0.1, tray)
	}
	require.InDelta(t, 0, float64(held("fixer concentrate")), 0.1)
	require.InDelta(t, 400, float64(held("fixer concentrate 2")), 0.1, "what the second fixer left of the new bottle")
	accepted(t, undoes(page))
	require.InDelta(t, 200, float64(held("fixer concentrate")), 0.1, "one Undo takes the whole press back, with the opened bottle")
}
