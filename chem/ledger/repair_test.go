package ledger_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// A mix of half the strength that was meant is put right by x mL of concentrate: (100 + x) / (2000 + x) = 0.1.
func TestAWrongMixIsPutRightByWhatStandsReady(t *testing.T) {
	b := newBook(t).room()
	weak := fixer("fix", "tray-fix", 2000)
	weak.ParentVolume, weak.Water = 100, 1900
	b.write(at("12:00"), weak)
	repair, ok := b.l.Repair("tray-fix", "conc-fix")
	require.True(t, ok)
	require.Equal(t, chem.AddConcentrate, repair.Remedy)
	without, ok := b.l.Repair("tray-fix", "")
	require.True(t, ok)
	require.Equal(t, chem.DiscardAndStartAgain, without.Remedy, "water alone makes nothing stronger")
	require.InDelta(t, 100/0.9, float64(repair.Add), 1e-9)
	b.write(at("12:05"), ledger.ToppedUp{Container: "tray-fix", From: "conc-fix", Volume: repair.Add})
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix", at("12:06")).Verdict)
	_, ok = b.l.Repair("tray-fix", "conc-fix")
	require.False(t, ok, "it is as meant now")
	require.InDelta(t, 100+100/0.9, float64(b.l.StockUsed("")[0].Volume), 1e-9, "what put it right is stock used too")
}

// Half as strong again: 2000 mL (1.5 - 1) = 1000 mL of water.
func TestAMixThatIsTooStrongTakesWater(t *testing.T) {
	b := newBook(t).room()
	strong := fixer("fix", "tray-fix", 2000)
	strong.ParentVolume, strong.Water = 300, 1700
	b.write(at("12:00"), strong)
	repair, ok := b.l.Repair("tray-fix", "conc-fix")
	require.True(t, ok)
	require.Equal(t, chem.AddWater, repair.Remedy)
	require.InDelta(t, 1000, float64(repair.Add), 1e-9)
	water, ok := b.l.Repair("tray-fix", "")
	require.True(t, ok, "whatever became of the bottle of concentrate")
	require.Equal(t, repair, water)
	_, ok = b.l.Repair("tray-fix", "conc-dev")
	require.False(t, ok, "nothing is put right with another product")
	_, ok = b.l.Repair("tray-dev", "conc-dev")
	require.False(t, ok, "an empty tray has nothing wrong in it")
}

// Weak by 14 % with marks of 10 mL on the graduate, half of one either way (JCGM 100:2008, 5.1.2): what is left open is
// more than what is off beyond a tenth, so nobody is told to mend it. With marks of 1 mL it is surely off.
func TestAMixThatMayBeRightIsLeftAsItIs(t *testing.T) {
	for marks, mends := range map[quantity.Millilitre]bool{10: false, 1: true, 0: true} {
		b := newBook(t).room()
		b.write(at("12:00"), with(fixer("fix", "tray-fix", 1000), func(a *ledger.BatchMixed) {
			a.ParentVolume, a.Water, a.Division = 86, 914, marks
		}))
		_, ok := b.l.Repair("tray-fix", "conc-fix")
		require.Equal(t, mends, ok, "marks of %v mL", marks)
	}
}

// A bottle from which was poured many times is no stronger than on its first day, whatever rounding says:
// a wrong mix is found as surely with its last drops.
func TestAWrongMixIsFoundHoweverOftenItsBottleWasUsed(t *testing.T) {
	b := newBook(t).room()
	for i, volume := range []quantity.Millilitre{2000, 2000, 1950, 370, 1430, 950, 700} {
		now := at("12:00").Add(time.Duration(i) * time.Hour)
		b.write(now.Add(time.Minute), fixer(fmt.Sprintf("right %d", i), "tray-fix", volume))
		b.write(now.Add(2*time.Minute), ledger.Discarded{Container: "tray-fix", Volume: volume, To: "drum-silver", Reason: "used"})
		weak := fixer(fmt.Sprintf("weak %d", i), "tray-fix", 100)
		weak.ParentVolume, weak.Water = 5, 95
		require.NotEmpty(t, b.l.Warnings(b.entry(now.Add(3*time.Minute), weak)), "after %v mL of bath", volume)
		b.write(now.Add(3*time.Minute), weak)
		_, wrong := b.l.Repair("tray-fix", "conc-fix")
		require.True(t, wrong, "after %v mL of bath", volume)
		b.write(now.Add(4*time.Minute), ledger.Discarded{Container: "tray-fix", Volume: 100, To: "drum-silver", Reason: "weak"})
	}
}

// Where nobody knows how strong a mix is, or how strong it was meant, there is nothing to mend.
func TestAMixOfUnknownStrengthIsNotMended(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), with(fixer("unknown", "tray-fix", 1000), func(a *ledger.BatchMixed) {
		a.Meant, a.From, a.ParentVolume, a.Water = ledger.FromUnknown, "", 0, 1000
	}))
	b.write(at("12:00"), with(fixer("aimless", "tray-fix-2", 1000), func(a *ledger.BatchMixed) { a.Aim = ledger.Parts{} }))
	b.write(at("12:00"), with(fixer("weak", "bottle-fix", 1000), func(a *ledger.BatchMixed) { a.ParentVolume, a.Water = 50, 950 }))
	b.write(at("12:00"), ledger.ContainerNamed{Container: "mixed", Vessel: ledger.Bottle, Capacity: 4000})
	b.write(at("12:00"), with(fixer("half", "mixed", 1000), func(a *ledger.BatchMixed) { a.ParentVolume, a.Water = 50, 950 }))
	b.write(at("12:00"), ledger.PortionPoured{From: "tray-fix", To: "mixed", Volume: 500})
	for vessel, mends := range map[string]bool{"mixed": false, "tray-fix": false, "tray-fix-2": false, "bottle-fix": true, "nowhere": false} {
		_, ok := b.l.Repair(vessel, "conc-fix")
		require.Equal(t, mends, ok, vessel)
	}
	for _, with := range []string{"tray-fix", "bottle-fix-2", "nowhere"} {
		_, ok := b.l.Repair("bottle-fix", with)
		require.False(t, ok, "with what is in %s", with)
	}
}
