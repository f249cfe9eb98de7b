package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

// found is a fixing bath that somebody left in the first tray.
func found(batch string, fresh bool) ledger.BathFound {
	return ledger.BathFound{Container: "tray-fix", Batch: batch, Name: "fixer of somebody", Class: ledger.Fixer, Volume: 1500,
		Aim: ledger.Parts{Parent: 1, Water: 4}, Fresh: fresh}
}

func TestABathOfUnknownOriginHasNoStrengthAndNoAge(t *testing.T) {
	b := newBook(t).room()
	number := b.write(at("18:00"), found("F-1", false))
	held, ok := b.l.InTray("fixer 1", at("18:30"))
	require.True(t, ok)
	require.Nil(t, held.Strength)
	require.Zero(t, held.Made)
	require.InDelta(t, 0.2, *held.AimStrength, 1e-9, "as somebody says")
	require.InDelta(t, 0.5, held.OpenHours, 1e-9)
	require.True(t, held.SilverBearing)
	answer := b.l.MayPour("tray-fix", at("18:30"))
	require.Equal(t, ledger.TestFirst, answer.Verdict)
	require.Contains(t, answer.Because.Words.String(), "Nobody knows when it was mixed")

	b.write(at("18:30"), with(found("F-0", false), func(a *ledger.BathFound) { a.Container, a.Aim = "tray-fix-2", ledger.Parts{} }))
	unsaid, _ := b.l.InTray("fixer 2", at("18:30"))
	require.Nil(t, unsaid.AimStrength, "where nobody says")

	batch, _ := b.l.Batch("F-1")
	require.Zero(t, batch.Mixed)
	label, err := b.l.Label("F-1", at("18:30"))
	require.NoError(t, err)
	require.Equal(t, "Nobody knows when it was mixed", label.Mixed.String())
	require.Contains(t, label.DiscardBy.String(), "not known")
	require.Equal(t, number, b.l.LastFill("fixer 1"))
}

func TestABathMixedJustNowAgesFromThenAndATestSettlesTheRest(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), found("F-1", true))
	held, _ := b.l.InTray("fixer 1", at("18:30"))
	require.Equal(t, at("18:00"), held.Made)
	require.Nil(t, held.Strength)
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", at("18:30")).Verdict)
	b.write(at("18:35"), iodide("tray-fix", "cloudy"))
	require.Equal(t, ledger.Discard, b.l.MayPour("tray-fix", at("18:40")).Verdict)
}

func TestABathIsFoundInAnEmptyTrayAlone(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), found("F-1", true))
	require.Contains(t, b.refuse(b.entry(at("18:01"), found("F-2", true)), ledger.ErrTaken), "holds 1500 mL already")
	bottle := found("F-2", true)
	bottle.Container = "bottle-fix"
	require.Contains(t, b.refuse(b.entry(at("18:01"), bottle), ledger.ErrMismatch), "bottle-fix is a bottle, not a tray")
	second := found("F-1", true)
	second.Container = "tray-fix-2"
	b.refuse(b.entry(at("18:01"), second), ledger.ErrTaken)
	second.Container = "nowhere"
	second.Batch = "F-2"
	b.refuse(b.entry(at("18:01"), second), ledger.ErrUnknown)

	b.write(at("18:02"), ledger.Discarded{Container: "tray-fix", Volume: 1500, Emptied: true, To: "drum-silver", Reason: "unknown"})
	again := b.write(at("18:03"), found("F-2", true))
	require.Equal(t, again, b.l.LastFill("fixer 1"))
	account := b.l.Account()
	require.InDelta(t, float64(account.In), float64(account.Held+account.Out), 1e-9, "what came is there or went")
}

func TestTheTraysThatAnActFillsAreNamedByTheAct(t *testing.T) {
	pour := ledger.PortionPoured{From: "bottle", To: "tray", Volume: 1}
	for _, act := range []ledger.Act{pour, found("F", true), fixer("F", "tray", 10), ledger.Promoted{From: "a", To: "tray"},
		ledger.Correction{Of: 1, Reason: "r", Instead: pour}} {
		require.Len(t, ledger.Fills(act), 1, act.Kind())
	}
	require.Equal(t, []string{"a", "b"}, ledger.Fills(sheets(1, nil, "a", "b")))
	require.Empty(t, ledger.Fills(ledger.Correction{Of: 1, Reason: "withdrawn"}))
	require.Empty(t, ledger.Fills(ledger.Discarded{Container: "tray"}))
}
