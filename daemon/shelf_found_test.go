package daemon_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/dashboard/cards"
	"wetside/rules"
)

// finding is the entry of an invented bath that is in the tray of a bath, mixed just now.
func finding(d *daemon.Daemon, room, bath string) cards.ShelfEntry {
	e := cards.ShelfEntry{Room: room, Person: "invented volunteer"}
	b := d.Shelf().Book()
	at := slices.IndexFunc(b.Trays, func(t cards.ShelfTray) bool { return t.Room == room && t.Bath == bath })
	class := map[rules.Role]ledger.Class{rules.Developer: ledger.PrintDeveloper, rules.StopBath: ledger.StopBath,
		rules.Fixer: ledger.Fixer}[b.Trays[at].Role]
	e.Act = ledger.BathFound{Container: b.Trays[at].Container, Batch: "A1 " + bath, Name: "invented bath", Class: class, Volume: 2000,
		Aim: ledger.Parts{Parent: 1, Water: 9}, Fresh: true}
	return e
}

// found enters an invented bath that is in the tray of a bath.
func found(t *testing.T, d *daemon.Daemon, room, bath string) cards.ShelfReceipt {
	t.Helper()
	receipt, err := d.Enter(t.Context(), finding(d, room, bath))
	require.NoError(t, err)
	return receipt
}

// A lid that nobody entered as taken off must not keep the next bath from being counted as open.
func TestABathThatIsPouredIntoACoveredTrayStandsOpen(t *testing.T) {
	b := aBench(t)
	found(t, b.d, "darkroom", "fixer")
	b.does("Ada", ledger.TraysCovered{Containers: []string{fixerTray}})
	require.True(t, b.portions()["fixer"].Covered)
	b.does("Ada", ledger.Discarded{Container: fixerTray, Volume: 2000, Emptied: true, Route: "collected (invented)", Reason: "end"})
	b.does("Ada", fixer("FX-1", fixerTray))
	require.False(t, b.portions()["fixer"].Covered)
}
