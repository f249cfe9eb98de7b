package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

func TestAFullBottleIsFoundAndAFullerOneIsNot(t *testing.T) {
	b := newBook(t).room()
	full := ledger.BottleFound{Container: "relic", Volume: 1000, Capacity: 1000, Where: "under the sink"}
	require.NoError(t, b.l.Check(b.entry(at("18:00"), full)))
	full.Volume = 1000.1
	require.ErrorIs(t, b.l.Check(b.entry(at("18:00"), full)), ledger.ErrVolume)
}

// A packet is for a litre: made up to one it has its full strength, made up to two half of it.
func TestPowderHasItsStrengthWhereThePacketIsMadeUpToItsVolume(t *testing.T) {
	for water, want := range map[float64]float64{1000: 1, 2000: 0.5} {
		b := newBook(t).room()
		b.write(at("08:00"), ledger.LotReceived{Lot: "powder", Product: "print-developer-powder", Class: ledger.PrintDeveloper, Units: 2,
			UnitVolume: 1000, Powder: true, Owner: ledger.House})
		mix := ledger.BatchMixed{Batch: "P", Name: "Developer", Product: "print-developer-powder", Class: ledger.PrintDeveloper,
			Into: "bottle-dev", Meant: ledger.FromPowder, Lot: "powder", Owner: ledger.House}
		mix.Water = quantity.Millilitre(water)
		b.write(at("08:01"), mix)
		held, known := b.l.Contents("bottle-dev", at("08:02"))
		require.True(t, known)
		require.InDelta(t, want, *held.Strength, 1e-9)
		batch, _ := b.l.Batch("P")
		require.Equal(t, []string{"powder"}, batch.Parents)
		require.InDelta(t, 1, batch.AimStrength, 1e-9, "what was meant is the strength of the packet")
		off, known := batch.StrengthError()
		require.True(t, known)
		require.InDelta(t, want-1, off, 1e-9)
	}
}

func TestTheLastFillIsThatOfTheBathsOwnTray(t *testing.T) {
	b := newBook(t).room()
	first := b.write(at("12:00"), fixer("first", "tray-fix", 1000))
	second := b.write(at("12:01"), fixer("second", "tray-fix-2", 1000))
	b.write(at("12:02"), developer("dev", "bottle-dev", 1000))
	require.Equal(t, first, b.l.LastFill("fixer 1"))
	require.Equal(t, second, b.l.LastFill("fixer 2"))
	require.Zero(t, b.l.LastFill("developer"))
	require.Zero(t, b.l.LastFill("no bath"))
	b.write(at("12:03"), ledger.Discarded{Container: "tray-fix", Volume: 1000, Emptied: true, To: "drum-silver", Reason: "spent"})
	require.Equal(t, first, b.l.LastFill("fixer 1"), "also after it was emptied")
}

// What stands in a vessel keeps it what it is; an empty one may become anything.
func TestAVesselIsChangedOnlyAsItsContentAllows(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "bottle-fix", 1000))
	b.write(at("12:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 1000, What: "rinse"})
	bottle := ledger.ContainerNamed{Container: "bottle-fix", Vessel: ledger.Bottle, Capacity: 1000}
	drum := ledger.ContainerNamed{Container: "drum-silver", Vessel: ledger.WasteContainer, Capacity: 1000, Stream: ledger.SilverStream}
	for _, c := range []struct {
		act ledger.ContainerNamed
		can bool
	}{
		{bottle, true}, {with(bottle, func(a *ledger.ContainerNamed) { a.Capacity = 999 }), false},
		{with(bottle, func(a *ledger.ContainerNamed) { a.Vessel = ledger.Carboy }), false},
		{with(bottle, func(a *ledger.ContainerNamed) { a.Vessel, a.Stream = ledger.WasteContainer, ledger.SilverStream }), false},
		{drum, true}, {with(drum, func(a *ledger.ContainerNamed) { a.Stream = ledger.PlainStream }), false},
		{ledger.ContainerNamed{Container: "bottle-dev", Vessel: ledger.Tray, Capacity: 10}, true},
	} {
		require.Equal(t, c.can, b.l.Check(b.entry(at("12:01"), c.act)) == nil, "%+v", c.act)
	}
}

func TestALotIsOpenedAsOftenAsItHasBottles(t *testing.T) {
	b := newBook(t)
	b.write(at("12:00"), ledger.LotReceived{Lot: "L", Product: "rapid-fixer", Class: ledger.Fixer, Units: 2, UnitVolume: 500,
		Owner: ledger.House})
	b.write(at("12:00"), ledger.LotOpened{Lot: "L", Container: "one"})
	b.refuse(b.entry(at("12:01"), ledger.LotOpened{Lot: "L", Container: "one"}), ledger.ErrTaken)
	b.write(at("12:01"), ledger.LotOpened{Lot: "L", Container: "two"})
	require.Contains(t, b.refuse(b.entry(at("12:02"), ledger.LotOpened{Lot: "L", Container: "three"}), ledger.ErrNotEnough),
		"All 2 of lot L are opened already")
	require.InDelta(t, 1000, float64(b.l.OnHand("rapid-fixer")), 1e-9)
	c, _ := b.l.Container("two")
	require.Equal(t, quantity.Millilitre(500), c.Capacity, "a bottle without a name is as large as what was in it")
}

// What was read off a graduate may be more than the book has left by 2 mL and at most 2 % (common practice); what is poured
// in may be more than a vessel takes by a ten-thousandth, the rounding of a page in ounces.
func TestADrawAndAFillMayBeOffByTheReadingOfAGraduate(t *testing.T) {
	for held, most := range map[quantity.Millilitre]quantity.Millilitre{1000: 1002, 100: 102, 50: 51} {
		b := newBook(t).room()
		b.write(at("12:00"), fixer("fix", "tray-fix", held))
		require.NoError(t, b.l.Check(b.entry(at("12:01"), ledger.PortionPoured{From: "tray-fix", To: "bottle-fix", Volume: most})))
		b.refuse(b.entry(at("12:01"), ledger.PortionPoured{From: "tray-fix", To: "bottle-fix", Volume: most + 0.1}), ledger.ErrNotEnough)
	}
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 2000))
	require.NoError(t, b.l.Check(b.entry(at("12:01"), ledger.ToppedUp{Container: "tray-fix", Water: 1000.2})))
	b.refuse(b.entry(at("12:01"), ledger.ToppedUp{Container: "tray-fix", Water: 1000.4}), ledger.ErrVolume)
}

// Who keeps the wastes apart keeps them apart on every way into a drum.
func TestEachWayIntoAWasteContainerKeepsTheWastesApart(t *testing.T) {
	for drum, can := range map[string]bool{"drum-silver": true, "drum-plain": false} {
		b := newBook(t).room()
		b.write(at("12:00"), fixer("fix", "tray-fix", 100))
		b.write(at("12:00"), ledger.WasteAdded{Container: drum, Volume: 100, What: "rinse"})
		for _, act := range []ledger.Act{ledger.Discarded{Container: "tray-fix", Volume: 100, To: drum, Reason: "old"},
			ledger.PortionPoured{From: "tray-fix", To: drum, Volume: 100}, ledger.Merged{From: "tray-fix", Into: drum}} {
			require.Equal(t, can, b.l.Check(b.entry(at("12:01"), act)) == nil, "%T into %s", act, drum)
		}
	}
	toner := newBook(t).room()
	toner.write(at("12:00"), ledger.ContainerNamed{Container: "drum-toner", Vessel: ledger.WasteContainer, Capacity: 1000,
		Stream: ledger.TonerStream})
	toner.write(at("12:00"), ledger.WasteAdded{Container: "drum-toner", Volume: 100, What: "toner"})
	held, _ := toner.l.Contents("drum-toner", at("12:01"))
	require.Equal(t, ledger.TonerStream, held.Stream)
	require.Equal(t, ledger.Toner, held.Class)
}
