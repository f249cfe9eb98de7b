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
	require.InDelta(t, 30000, float64(all[0].OnHand), 1e-9, "all that its concentrate makes")
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
	require.InDelta(t, 2000, float64(all[1].OnHand), 1e-9)
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
	require.InDelta(t, 1000+37200, float64(all[2].OnHand), 1e-9, "in the tray, and what is left of 4 L makes at 1+9")
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
	require.InDelta(t, 1000, float64(all[0].OnHand), 1e-9)

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

// A tenth less than the fill still covers the paper (common practice): nothing more is opened for the last tenth.
func TestNoFurtherBottleIsOpenedForTheLastTenth(t *testing.T) {
	for volume, verdict := range map[quantity.Millilitre]ledger.SupplyVerdict{1800: ledger.Stored, 1799: ledger.Stored, 1700: ledger.Stored} {
		b := newBook(t).room()
		b.write(at("12:00"), fixer("F1", "bottle-fix", volume))
		b.write(at("12:00"), fixer("F2", "bottle-fix-2", 2000))
		s := b.supplies()[1]
		require.Equal(t, verdict, s.Verdict)
		want := []ledger.Draw{{Container: "bottle-fix", Volume: volume}}
		if volume < 1800 {
			want = append(want, ledger.Draw{Container: "bottle-fix-2", Volume: 2000 - volume})
		}
		require.Equal(t, want, s.Ready, "%v of 2000 mL", volume)
		require.Nil(t, s.Mix)
	}
	// The same of a bath that is in doubt, and of concentrate beside it.
	for volume, more := range map[quantity.Millilitre]bool{1800: false, 1700: true} {
		b := newBook(t).room()
		b.write(at("12:00"), fixer("F1", "tray-fix", volume))
		b.write(at("12:10"), sheets(1, nil, "tray-fix"))
		b.write(at("12:20"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: volume, Emptied: true})
		s := b.supplies()[1]
		require.Equal(t, ledger.StoredTest, s.Verdict)
		require.Equal(t, []ledger.Draw{{Container: "bottle-fix", Volume: volume}}, s.Test)
		require.Equal(t, more, s.Mix != nil, "%v of 2000 mL", volume)
		require.Zero(t, s.Missing)
	}
	for made, verdict := range map[quantity.Millilitre]ledger.SupplyVerdict{180: ledger.MixedFresh, 179: ledger.NotEnough} {
		b := newBook(t)
		b.write(at("10:00"), ledger.LotReceived{Lot: "last", Product: "rapid-fixer", Class: ledger.Fixer, Units: 1, UnitVolume: made,
			Owner: ledger.House})
		require.Equal(t, verdict, b.supplies()[1].Verdict, "%v mL of concentrate at 1+9", made)
	}
}

// What is mixed for a tray is of its class and has a name in the catalogue; an opened bottle counts where no closed one is left.
func TestATrayIsFilledFromItsOwnChemistryAlone(t *testing.T) {
	lot := func(id, product string, class ledger.Class) ledger.LotReceived {
		return ledger.LotReceived{Lot: id, Product: product, Class: class, Units: 1, UnitVolume: 1000, Owner: ledger.House}
	}
	b := newBook(t)
	b.write(at("10:00"), lot("developer", "print-developer", ledger.PrintDeveloper))
	b.write(at("10:00"), lot("nameless", "", ledger.Fixer))
	require.Equal(t, ledger.NothingHere, b.supplies()[1].Verdict, "a developer fixes nothing, and of what has no product nothing is known")
	b.write(at("10:01"), lot("fixer", "rapid-fixer", ledger.Fixer))
	b.write(at("10:02"), ledger.LotOpened{Lot: "fixer", Container: "opened"})
	opened := b.supplies()[1]
	require.Equal(t, ledger.MixedFresh, opened.Verdict)
	require.Equal(t, "rapid-fixer", opened.Mix.Product)
	b.write(at("10:03"), lot("a", "house-fixer", ledger.Fixer))
	require.Equal(t, "rapid-fixer", b.supplies()[1].Mix.Product, "of the other nobody has said how it is diluted")

	b = newBook(t)
	b.write(at("10:00"), lot("ours", "house-fixer", ledger.Fixer))
	b.write(at("10:00"), with(lot("powder", "print-developer-powder", ledger.PrintDeveloper), func(a *ledger.LotReceived) { a.Powder = true }))
	require.Equal(t, ledger.NoDilution, b.supplies()[1].Verdict, "that another product is powder says nothing of this one")
}

// Of two products the one that reaches further is taken, and powder without a dilution makes its bath as it is.
func TestTheProductThatReachesFurthestIsMixed(t *testing.T) {
	for _, large := range []string{"a", "z"} {
		b := newBook(t)
		b.write(at("10:00"), ledger.LotReceived{Lot: "m", Product: "rapid-fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 50,
			Owner: ledger.House})
		b.write(at("10:00"), ledger.LotReceived{Lot: large, Product: "fixer-powder", Class: ledger.Fixer, Units: 2, UnitVolume: 1000,
			Powder: true, Owner: ledger.House})
		s := b.supplies()[1]
		require.Equal(t, ledger.Mixing{Product: "fixer-powder", Parts: ledger.Parts{Parent: 1}, Concentrate: 2000, OnHand: 2000, Makes: 2000},
			*s.Mix)
		require.Equal(t, ledger.MixedFresh, s.Verdict)
		require.Equal(t, ledger.NotEnough, b.supplies()[2].Verdict, "0.5 L are left for the other tray")
		require.InDelta(t, 1500, float64(b.supplies()[2].Missing), 1e-9)
	}
}

// Of two products that both fill the tray the one that is open is used up first; else the one of the first lot.
func TestAnOpenedProductIsMixedBeforeOneThatIsClosed(t *testing.T) {
	b := newBook(t)
	b.write(at("10:00"), ledger.LotReceived{Lot: "a", Product: "fixer-powder", Class: ledger.Fixer, Units: 1, UnitVolume: 4000, Powder: true,
		Owner: ledger.House})
	b.write(at("10:00"), ledger.LotReceived{Lot: "z", Product: "rapid-fixer", Class: ledger.Fixer, Units: 2, UnitVolume: 1000,
		Owner: ledger.House})
	require.Equal(t, "fixer-powder", b.supplies()[1].Mix.Product)
	b.write(at("10:02"), ledger.LotOpened{Lot: "z", Container: "opened"})
	require.Equal(t, "rapid-fixer", b.supplies()[1].Mix.Product)
}

// Without a dilution in the catalogue the one counts that it was mixed at last, from its concentrate and with parts that were said.
func TestTheDilutionOfTheLastMixCountsWhereTheCatalogueHasNone(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.LotReceived{Lot: "lot-stop", Product: "stop-bath", Class: ledger.StopBath, Units: 1, UnitVolume: 1000,
		Owner: ledger.House})
	b.write(at("08:00"), ledger.LotOpened{Lot: "lot-stop", Container: "conc-stop"})
	b.write(at("08:00"), ledger.ContainerNamed{Container: "tray-stop", Vessel: ledger.Tray, Capacity: 3000})
	_, known := b.l.UsualParts("stop-bath")
	require.False(t, known)
	stop := ledger.BatchMixed{Batch: "S1", Name: "Stop", Product: "stop-bath", Class: ledger.StopBath, Into: "tray-fix",
		Meant: ledger.FromConcentrate, From: "conc-stop", ParentVolume: 50, Water: 950, Aim: ledger.Parts{Parent: 1, Water: 19},
		Owner: ledger.House}
	b.write(at("08:01"), stop)
	stop.Batch, stop.Into, stop.Aim = "S2", "tray-fix-2", ledger.Parts{}
	b.write(at("08:02"), stop)
	stop.Batch, stop.Into, stop.Meant, stop.From, stop.Aim = "S3", "tray-stop", ledger.FromStock, "tray-fix", ledger.Parts{Parent: 1, Water: 1}
	b.write(at("08:03"), stop)
	parts, known := b.l.UsualParts("stop-bath")
	require.True(t, known)
	require.Equal(t, ledger.Parts{Parent: 1, Water: 19}, parts, "neither one of unsaid parts nor one from stock")
	_, known = b.l.UsualParts("fixer-powder")
	require.False(t, known, "of another product nothing was mixed")
	b.write(at("08:03"), ledger.ContainerNamed{Container: "jug", Vessel: ledger.Bottle, Capacity: 2000})
	nameless := with(stop, func(a *ledger.BatchMixed) { a.Batch, a.Into, a.Product = "S4", "jug", "" })
	nameless.Meant, nameless.From, nameless.Aim = ledger.FromConcentrate, "conc-stop", ledger.Parts{Parent: 1, Water: 3}
	b.write(at("08:04"), nameless)
	_, known = b.l.UsualParts("")
	require.False(t, known)
}
