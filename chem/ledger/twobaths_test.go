package ledger_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// analogue-photography.org, fixing prints (secondary): rotate after each 50
// sheets 8 x 10 a litre, discard both at 250.
func TestTwoBathsRotateAtEachCapacityAndEndAfterFourRotations(t *testing.T) {
	want := map[int]ledger.TwoBathStep{0: {}, 49: {}, 50: {Rotations: 1, Rotate: true}, 100: {Rotations: 2, Rotate: true},
		150: {Rotations: 3, Rotate: true},
		200: {Rotations: 4, Rotate: true}, 249: {Rotations: 4, Rotate: true}, 250: {Rotations: 4, Discard: true},
		999: {Rotations: 4, Discard: true}}
	for count, step := range want {
		got, ok := ledger.PublishedTwoBath().TwoBaths(ledger.EightByTen*quantity.SquareMetre(count), 1000)
		require.True(t, ok)
		require.Equal(t, step, got, "%d sheets", count)
	}
	few, ok := ledger.PublishedTwoBath().TwoBaths(ledger.EightByTen/20, 0.5) // a twentieth of a sheet in half a millilitre: 100 a litre
	require.True(t, ok)
	require.Equal(t, ledger.TwoBathStep{Rotations: 2, Rotate: true}, few)
	_, ok = ledger.PublishedTwoBath().TwoBaths(-1, 1000)
	require.False(t, ok)
	_, ok = ledger.PublishedTwoBath().TwoBaths(1, 0)
	require.False(t, ok, "no volume, no answer")
	_, ok = ledger.Capacity{}.TwoBaths(1, 1000)
	require.False(t, ok, "no capacity, no answer")
}

// pair is a room with two fresh fixing baths of 2 litres each: 100 sheets until the first is rotated.
func pair(t *testing.T) *book {
	b := newBook(t).room()
	b.write(at("12:00"), ledger.LotOpened{Lot: "lot-fix", Container: "conc-fix-2"})
	b.write(at("12:00"), ledger.LotOpened{Lot: "lot-fix", Container: "conc-fix-3"})
	b.write(at("12:01"), fixer("first", "tray-fix", 2000))
	b.write(at("12:02"), fixer("second", "tray-fix-2", 2000))
	return b
}

// print sends sheets through both baths, with a passed test of the first one behind them.
func (b *book) print(clock string, count int) {
	b.t.Helper()
	b.write(at(clock), sheets(count, nil, "tray-fix", "tray-fix-2"))
	b.write(at(clock), iodide("tray-fix", "clear"))
	b.write(at(clock), iodide("tray-fix-2", "clear"))
}

// rotate discards the first bath, moves the second up and mixes a fresh second one.
func (b *book) rotate(clock, batch string) {
	b.t.Helper()
	b.write(at(clock), ledger.Discarded{Container: "tray-fix", Volume: 2000, Emptied: true, To: "drum-silver", Reason: "spent"})
	b.write(at(clock), ledger.Promoted{From: "tray-fix-2", To: "tray-fix"})
	mix := fixer(batch, "tray-fix-2", 2000)
	for _, bottle := range []string{"conc-fix", "conc-fix-2", "conc-fix-3"} {
		if c, ok := b.l.Contents(bottle, at(clock)); ok && c.Volume >= mix.ParentVolume {
			mix.From = bottle
		}
	}
	b.write(at(clock), mix)
}

func TestTheFirstOfTwoFixingBathsIsSpentAndTheSecondIsNot(t *testing.T) {
	b := pair(t)
	b.print("13:00", 99)
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix", at("13:01")).Verdict)
	b.print("13:10", 1)
	first := b.l.MayPour("tray-fix", at("13:11"))
	require.Equal(t, ledger.Discard, first.Verdict)
	require.Contains(t, first.Because.Words.String(), "as the first of two baths")
	require.Contains(t, first.Do.String(), "move the second bath up into its place and mix a fresh second bath: rotation 1 of 4")
	second := b.l.MayPour("tray-fix-2", at("13:11"))
	require.Equal(t, ledger.Pour, second.Verdict, second.Sentence())
	require.Contains(t, limit(t, second, "area processed").Words.String(), "the first bath is spent")

	b.rotate("13:20", "third")
	promoted := b.l.MayPour("tray-fix", at("13:21"))
	require.Equal(t, ledger.Pour, promoted.Verdict, "a bath that has just moved up is not condemned: %s", promoted.Sentence())
	require.Contains(t, limit(t, promoted, "area processed").Words.String(), "0 % of the capacity")
	require.Contains(t, limit(t, promoted, "area processed").Words.String(), "rotations so far: 1")
}

// Both readers of the same book give the same answer at every rotation: what the calculator works out
// from the count alone, and what the passports say after each sheet.
func TestCalculatorAndPassportRotateTwoBathsAtTheSameSheet(t *testing.T) {
	b := pair(t)
	clocks := []string{"13:00", "14:00", "15:00", "16:00", "17:00"}
	total := 0
	for i, hour := range clocks {
		for part := range 4 {
			b.print(hour, 25)
			total += 25
			step, ok := ledger.PublishedTwoBath().TwoBaths(ledger.EightByTen*quantity.SquareMetre(total), 2000)
			require.True(t, ok)
			held, _ := b.l.Contents("tray-fix", at(hour))
			p, _ := b.l.Catalogue().Product(held.Product)
			wear := p.Wear(held).Step()
			require.Equal(t, step.Rotations, wear.Rotations, "after %d sheets", total)
			require.Equal(t, step.Discard, wear.Discard, "after %d sheets", total)
			first := b.l.MayPour("tray-fix", at(hour))
			require.Equal(t, part == 3, first.Verdict == ledger.Discard, "after %d sheets", total)
			require.Equal(t, total == 400, strings.Contains(first.Do.String(), "The Darkroom Cookbook, p. 107, discards both baths now"),
				"at the fourth rotation the sources differ: after %d sheets", total)
		}
		if i < len(clocks)-1 {
			require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix-2", at(hour)).Verdict)
			b.rotate(hour, "fix-"+hour)
		}
	}
	for _, tray := range []string{"tray-fix", "tray-fix-2"} {
		a := b.l.MayPour(tray, at("17:01"))
		require.Equal(t, ledger.Discard, a.Verdict, tray)
		require.Contains(t, a.Do.String(), "Discard both fixing baths", tray)
	}
}

func TestASecondFixingBathThatNobodyMovesUpIsSpentInTheEnd(t *testing.T) {
	b := pair(t)
	b.print("13:00", 199)
	require.NotEqual(t, ledger.Discard, b.l.MayPour("tray-fix-2", at("13:01")).Verdict)
	b.print("13:10", 1)
	require.Equal(t, ledger.Discard, b.l.MayPour("tray-fix-2", at("13:11")).Verdict, "a spent first bath hands everything on")
}

func TestRotationsAreCountedThroughBottlesAndFromFreshBathsAnew(t *testing.T) {
	b := pair(t)
	b.print("13:00", 100)
	b.rotate("13:10", "third")
	b.write(at("13:20"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 2000, Emptied: true})
	b.write(at("13:30"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	held, _ := b.l.Contents("tray-fix", at("13:31"))
	require.Equal(t, 1, held.Row.Rotations, "the count goes with the liquid into the bottle and back")
	for _, tray := range []string{"tray-fix", "tray-fix-2"} {
		b.write(at("14:00"), ledger.Discarded{Container: tray, Volume: 2000, Emptied: true, To: "drum-silver", Reason: "end of term"})
	}
	b.write(at("14:10"), fixer("fresh", "tray-fix", 2000))
	held, _ = b.l.Contents("tray-fix", at("14:11"))
	require.Zero(t, held.Row.Rotations)
}

// A bath that fixes alone is judged by what is published for one bath: 80 sheets a US gallon (The Darkroom Cookbook, p. 108).
func TestAFirstBathThatThenWorksAloneIsJudgedByBothCapacities(t *testing.T) {
	b := pair(t)
	b.print("13:00", 50) // half of what the first of two baths carries
	b.write(at("13:10"), sheets(21, nil, "tray-fix"))
	held, _ := b.l.Contents("tray-fix", at("13:11"))
	p, _ := b.l.Catalogue().Product("rapid-fixer")
	perLitre := 80 / 3.785411784
	require.InDelta(t, 50.0/100+21/(2*perLitre), p.Wear(held).Part, 1e-9)
}

// Pouring, dividing and joining keep what a fixing bath did in its places.
func TestWhatABathDidInItsPlaceIsDividedWithTheLiquid(t *testing.T) {
	b := pair(t)
	b.print("13:00", 40)
	whole, _ := b.l.Contents("tray-fix-2", at("13:01"))
	entries := b.entries
	rapid.Check(t, func(t *rapid.T) {
		l := ledger.New(ledger.Settings{Catalogue: catalogue(b.t)})
		require.NoError(t, l.Replay(entries))
		v := quantity.Millilitre(rapid.Float64Range(1, 1999).Draw(t, "volume"))
		e := ledger.Entry{Number: l.Version() + 1, At: at("13:10"), Entered: at("13:10"), By: "Ada",
			Act: ledger.PortionPoured{From: "tray-fix-2", To: "bottle-fix", Volume: v}}
		require.NoError(t, l.Apply(e))
		part, _ := l.Contents("bottle-fix", at("13:11"))
		rest, _ := l.Contents("tray-fix-2", at("13:11"))
		require.InDelta(t, float64(whole.Row.Followed.Total()), float64(part.Row.Followed.Total()+rest.Row.Followed.Total()), 1e-9)
		p, _ := l.Catalogue().Product("rapid-fixer")
		require.InDelta(t, p.Wear(whole).Part, p.Wear(part).Part, 1e-9, "each part is as used up as the whole was")
	})
}
