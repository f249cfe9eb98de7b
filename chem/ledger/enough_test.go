package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// tonight is a class with 2 L in each of three trays: a developer and two fixing baths.
func tonight() []ledger.Need {
	return []ledger.Need{
		{Bath: "developer", Classes: []ledger.Class{ledger.PrintDeveloper, ledger.FilmDeveloper}, Volume: 2000},
		{Bath: "fixer 1", Classes: []ledger.Class{ledger.Fixer}, Volume: 2000},
		{Bath: "fixer 2", Classes: []ledger.Class{ledger.Fixer}, Volume: 2000},
	}
}

func (b *book) supplies() []ledger.Supply { return b.l.Supplies(tonight(), at("18:00")) }

// The dilution of the invented catalogue is 1+9: 2 L take 200 mL of concentrate. On the shelf are
// three bottles of developer and four of fixer of 1 L each, one of each opened.
func TestConcentrateOpenedOrNotMakesWhatIsNotStored(t *testing.T) {
	b := newBook(t).room()
	all := b.supplies()
	for i, s := range all {
		require.Equal(t, ledger.MixedFresh, s.Verdict, tonight()[i].Bath)
		require.InDelta(t, 200, float64(s.Mix.Concentrate), 1e-9)
		require.InDelta(t, 2000, float64(s.Mix.Makes), 1e-9)
		require.Zero(t, s.Missing)
	}
	require.InDelta(t, 3000, float64(all[0].Mix.OnHand), 1e-9)
	require.InDelta(t, 4000, float64(all[1].Mix.OnHand), 1e-9)
	require.InDelta(t, 3800, float64(all[2].Mix.OnHand), 1e-9, "the second tray no longer has what the first one takes")
}

func TestStoredBathsComeFirstAndOneInDoubtOnlyAfterItsTest(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("F1", "bottle-fix", 2000))
	require.Equal(t, ledger.Pour, b.l.MayPour("bottle-fix", at("18:00")).Verdict)
	all := b.supplies()
	require.Equal(t, ledger.Stored, all[1].Verdict)
	require.Equal(t, []ledger.Draw{{Container: "bottle-fix", Volume: 2000}}, all[1].Ready)
	require.Equal(t, ledger.MixedFresh, all[2].Verdict, "the bottle fills one tray only")

	b.write(at("13:00"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	b.write(at("14:00"), sheets(5, nil, "tray-fix"))
	b.write(at("15:00"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 1900, Emptied: true})
	require.Equal(t, ledger.TestFirst, b.l.MayPour("bottle-fix", at("18:00")).Verdict)
	all = b.supplies()
	require.Equal(t, ledger.StoredTest, all[1].Verdict, "1.9 of 2 L cover the paper")
	require.Empty(t, all[1].Ready)
	require.InDelta(t, 190, float64(all[1].Instead.Concentrate), 1e-9, "what makes it new if it fails")
	require.InDelta(t, 3800-190, float64(all[2].Mix.OnHand), 1e-9, "both trays cannot count on the same concentrate")
}

func TestATrayThatIsFullEnoughNeedsNothingAndOneThatIsNotIsFilledUp(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("F1", "tray-fix", 1800))
	b.write(at("12:05"), fixer("F2", "tray-fix-2", 1000))
	all := b.supplies()
	require.Equal(t, ledger.InTheTray, all[1].Verdict)
	require.Equal(t, ledger.MixedFresh, all[2].Verdict)
	require.InDelta(t, 100, float64(all[2].Mix.Concentrate), 1e-9, "for the half that is missing")
}

func TestWhatIsMissingIsSaidBeforeAnythingIsPoured(t *testing.T) {
	b := newBook(t)
	b.write(at("10:00"), ledger.ContainerNamed{Container: "tray-dev", Vessel: ledger.Tray, Capacity: 3000, Bath: "developer"})
	all := b.supplies()
	require.Equal(t, ledger.NothingHere, all[0].Verdict)
	require.InDelta(t, 2000, float64(all[0].Missing), 1e-9)

	b.write(at("10:00"), ledger.LotReceived{Lot: "small", Product: "print-developer", Class: ledger.PrintDeveloper, Units: 1,
		UnitVolume: 100, Owner: ledger.House})
	all = b.supplies()
	require.Equal(t, ledger.NotEnough, all[0].Verdict)
	require.InDelta(t, 1000, float64(all[0].Missing), 1e-9, "100 mL at 1+9 make half of it")

	b.write(at("10:00"), ledger.LotReceived{Lot: "unknown", Product: "house-fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 500,
		Owner: ledger.House})
	require.Equal(t, ledger.NoDilution, b.supplies()[1].Verdict, "nobody has said how it is diluted")
}

func TestAPackPastItsDateFillsNoTray(t *testing.T) {
	b := newBook(t)
	b.write(at("10:00"), ledger.LotReceived{Lot: "old", Product: "rapid-fixer", Class: ledger.Fixer, Units: 1,
		UnitVolume: quantity.Millilitre(1000), Owner: ledger.House,
		Expiry: evening().AddDate(0, -1, 0)})
	require.Equal(t, ledger.NothingHere, b.supplies()[1].Verdict)
}
