package ledger_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// What half a division of each graduate leaves open of c = P/(P+W), by the propagation of
// uncertainty (JCGM 100:2008, 5.1.2, equation 10): dc/c = (1-c)·√((d/2P)² + (d/2W)²).
func TestTheMarksOfTheGraduateSayHowWellTheStrengthIsKnown(t *testing.T) {
	for _, c := range []struct {
		name             string
		parent, division quantity.Millilitre // of 200 mL, meant as 1+9
		spread           float64
		words            string
		verdict          ledger.Verdict
		warned           string
	}{
		{"nobody said which graduate", 20, 0, 0, "The strength is as intended", ledger.Pour, ""},
		{"marks of 1 mL", 20, 1, 0.9 * math.Hypot(0.5/20, 0.5/180), "The strength is 100 % of what was intended, ± 2", ledger.Pour, ""},
		{"marks of 10 mL", 20, 10, 0.9 * math.Hypot(5.0/20, 5.0/180), "The strength is 100 % of what was intended, ± 23", ledger.TestFirst,
			"no verdict: with these graduates the strength is known to ± 22.6 % only"},
		{"weak by a quarter, or hardly", 15, 10, 0.925 * math.Hypot(5.0/15, 5.0/185), "The strength is 75 % of what was intended, ± 23",
			ledger.TestFirst, "no verdict"},
		{"too weak for certain", 12, 1, 0.94 * math.Hypot(0.5/12, 0.5/188), "The strength is 60 % of what was intended, ± 2", ledger.Discard,
			"too weak"},
		{"perhaps too weak to be used at all", 13, 3, 0.935 * math.Hypot(1.5/13, 1.5/187), "The strength is 65 % of what was intended, ± 7",
			ledger.TestFirst, "too weak"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBook(t).room()
			mix := developer("b", "tray-dev", 200)
			mix.ParentVolume, mix.Water, mix.Division = c.parent, 200-c.parent, c.division
			warned := b.l.Warnings(b.entry(evening(), mix))
			b.write(evening(), mix)
			batch, known := b.l.Batch("b")
			require.True(t, known)
			require.InDelta(t, c.spread, batch.StrengthSpread, 1e-12)
			passport := b.l.MayPour("tray-dev", evening())
			require.Equal(t, c.words, limit(t, passport, "strength").Words.String())
			require.Equal(t, c.verdict, limit(t, passport, "strength").Verdict)
			if c.warned == "" {
				require.Empty(t, warned)
				return
			}
			require.Len(t, warned, 1)
			require.Contains(t, warned[0].String(), c.warned)
		})
	}
}

func TestAPacketMadeUpToAVolumeIsAsWellKnownAsThatVolume(t *testing.T) {
	b := newBook(t).room()
	b.write(evening(), ledger.LotReceived{Lot: "lot-powder", Product: "print-developer", Class: ledger.PrintDeveloper, Powder: true, Units: 1,
		UnitVolume: 1000, Owner: ledger.House})
	b.write(evening(), ledger.BatchMixed{Batch: "b", Name: "Stock", Product: "print-developer", Class: ledger.PrintDeveloper,
		Into: "bottle-dev", Meant: ledger.FromPowder, Lot: "lot-powder", Water: 1000, Division: 50, Owner: ledger.House})
	batch, _ := b.l.Batch("b")
	require.InDelta(t, 0.025, batch.StrengthSpread, 1e-12, "25 of 1000 mL")
}

func TestAGraduateHasFinerMarksThanWhatIsMeasuredWithIt(t *testing.T) {
	b := newBook(t).room()
	mix := developer("b", "tray-dev", 200)
	mix.Division = 201
	require.Contains(t, b.refuse(b.entry(evening(), mix), ledger.ErrVolume), "201 mL is more than the volume measured")
	mix.Division = -1
	b.refuse(b.entry(evening(), mix), ledger.ErrVolume)
}

// What a mix leaves open goes with it wherever it is poured; a dilution of it adds its own.
func TestWhatTheGraduatesLeaveOpenStaysWithTheLiquid(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		b := newBook(t).room()
		mix := developer("b", "bottle-dev", quantity.Millilitre(rapid.IntRange(500, 4000).Draw(r, "made")))
		mix.Division = quantity.Millilitre(rapid.IntRange(1, 20).Draw(r, "marks"))
		b.write(evening(), mix)
		batch, _ := b.l.Batch("b")
		poured := quantity.Millilitre(rapid.IntRange(200, 400).Draw(r, "poured"))
		b.write(evening(), ledger.PortionPoured{From: "bottle-dev", To: "tray-dev", Volume: poured})
		for _, vessel := range []string{"bottle-dev", "tray-dev"} {
			held, known := b.l.Contents(vessel, evening())
			require.True(t, known)
			require.InDelta(t, batch.StrengthSpread, held.StrengthSpread, 1e-12, vessel)
		}
		again := developer("c", "tray-fix", 100)
		again.Meant, again.From, again.ParentVolume, again.Water, again.Division = ledger.FromStock, "tray-dev", 50, 50, 2
		b.write(evening(), again)
		next, _ := b.l.Batch("c")
		require.InDelta(t, batch.StrengthSpread+0.5*math.Hypot(0.02, 0.02), next.StrengthSpread, 1e-12)
	})
}

// From half a per cent on a strength is said to be off.
func TestAStrengthIsSaidToBeOffFromHalfAPerCentOn(t *testing.T) {
	for water, says := range map[quantity.Millilitre]string{904.4: "as intended", 905.6: "99 % of what was intended",
		895.6: "as intended", 894.5: "101 % of what was intended"} { // with 100 mL of concentrate, meant as 1+9
		b := newBook(t).room()
		b.write(evening(), with(fixer("fix", "tray-fix", 1000), func(a *ledger.BatchMixed) { a.Water = water }))
		require.Equal(t, "The strength is "+says, limit(t, b.l.MayPour("tray-fix", evening()), "strength").Words.String())
	}
}
