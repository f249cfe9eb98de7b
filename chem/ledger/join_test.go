package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
)

// A tested bath mixed with a used one that was never tested must be tested again; with an unused one it need not.
func TestAPassDoesNotCoverAnUntestedPart(t *testing.T) {
	for _, c := range []struct {
		used int
		want ledger.Verdict
	}{{0, ledger.Pour}, {20, ledger.TestFirst}} {
		b := newBook(t).room()
		b.write(at("17:00"), fixer("one", "tray-fix", 1000))
		b.write(at("17:01"), fixer("two", "tray-fix-2", 1000))
		b.write(at("17:10"), sheets(4, nil, "tray-fix"))
		b.write(at("17:20"), iodide("tray-fix", "clear"))
		if c.used > 0 {
			b.write(at("17:30"), sheets(c.used, nil, "tray-fix-2"))
		}
		b.write(at("17:40"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
		require.Equal(t, c.want, b.l.MayPour("tray-fix", at("17:41")).Verdict, "%d sheets", c.used)
	}
}

// Two stop baths that were both looked at after their work did none since, together as well.
func TestTheWorkOfBothPartsCameBeforeTheirTests(t *testing.T) {
	b := stopBath(t, 11)
	b.yellow("13:01")
	b.write(at("13:01"), ledger.ContainerNamed{Container: "tray-stop-2", Vessel: ledger.Tray, Capacity: 3000})
	b.write(at("13:02"), ledger.BatchMixed{Batch: "more", Name: "Stop bath", Product: "stop-bath", Class: ledger.StopBath,
		Into: "tray-stop-2", Meant: ledger.FromConcentrate, From: "conc-stop", ParentVolume: 50, Water: 950,
		Aim: ledger.Parts{Parent: 1, Water: 19}, Owner: ledger.House})
	b.write(at("13:03"), sheets(11, nil, "tray-stop-2"))
	b.write(at("13:04"), ledger.TestDone{Test: ledger.StopColourTest, Container: "tray-stop-2", Seen: "yellow", WhiteLight: true})
	b.write(at("13:05"), ledger.Merged{From: "tray-stop-2", Into: "tray-stop"})
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-stop", at("13:06")).Verdict)
}

// Entries about an open tray do not count its hours twice.
func TestOpenHoursAreCountedOnce(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("13:00"), ledger.ToppedUp{Container: "tray-fix", Water: 10})
	b.write(at("14:00"), ledger.ToppedUp{Container: "tray-fix", Water: 10})
	b.write(at("14:00"), ledger.TraysUncovered{Containers: []string{"tray-fix"}})
	c, ok := b.l.Contents("tray-fix", at("15:00"))
	require.True(t, ok)
	require.InDelta(t, 3, c.OpenHours, 1e-9)
}

// What evaporated or was carried over leaves all of its use behind.
func TestLossConcentratesTheUse(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("12:30"), sheets(10, nil, "tray-fix"))
	b.write(at("13:00"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 1600, Emptied: true})
	c, ok := b.l.Contents("bottle-fix", at("13:01"))
	require.True(t, ok)
	require.InDelta(t, 10*float64(ledger.EightByTen), float64(c.Load.Total()), 1e-12)
	require.InDelta(t, 1600, float64(c.Volume), 1e-9)
}

// House chemistry with a private part in it is no longer the house's to give away.
func TestAPrivatePartKeepsItsOwner(t *testing.T) {
	b := newBook(t).room()
	own := fixer("own", "tray-fix-2", 500)
	own.Owner = ledger.Owner("private: Cy")
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("12:01"), own)
	b.write(at("12:02"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
	held, _ := b.l.Contents("tray-fix", at("12:03"))
	require.Equal(t, ledger.Owner("private: Cy"), held.Owner)
}

func TestFloatingLidHasNoLidToTakeOff(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), ledger.ContainerNamed{Container: "tank", Vessel: ledger.Tank, Capacity: 3000, FloatingLid: true})
	b.refuse(b.entry(at("12:01"), ledger.TraysCovered{Containers: []string{"tank"}}), ledger.ErrMismatch)
	b.refuse(b.entry(at("12:01"), ledger.TraysCovered{Containers: []string{"tray-fix", "tray-fix"}}), ledger.ErrForm)
	b.refuse(b.entry(at("12:01"), ledger.TraysUncovered{}), ledger.ErrForm)
}

// Poured together in either order, the older part sets the oldest, and what nobody knows of one part nobody knows of the mix.
func TestTheMixIsAsOldAsItsOldestAndAsKnownAsItsLeastKnownPart(t *testing.T) {
	for _, c := range [][2]string{{"tray-fix", "tray-fix-2"}, {"tray-fix-2", "tray-fix"}} {
		b := newBook(t).room()
		b.write(at("10:00"), fixer("older", c[0], 500))
		b.write(at("12:00"), fixer("newer", c[1], 1500))
		b.write(at("12:01"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
		held, _ := b.l.Contents("tray-fix", at("12:01"))
		require.Equal(t, at("10:00"), held.Oldest)
		require.Equal(t, at("11:30"), held.Made, "a quarter of it is two hours older")

		b = newBook(t).room()
		b.write(at("10:00"), with(found("F", false), func(a *ledger.BathFound) { a.Container, a.Volume = c[0], 500 }))
		b.write(at("10:00"), fixer("known", c[1], 1500))
		b.write(at("10:01"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
		held, _ = b.l.Contents("tray-fix", at("10:02"))
		require.Nil(t, held.Strength)
		require.Zero(t, held.Made)
		require.Zero(t, held.Oldest)
		require.Equal(t, "Nobody knows when it was mixed", limit(t, b.l.MayPour("tray-fix", at("10:02")), "life").Words.String())
	}
}

// Each material is counted for itself: what went through twice, and what is poured together, adds up.
func TestTheLoadAddsUpForEachMaterial(t *testing.T) {
	for _, m := range ledger.Materials() {
		b := newBook(t).room()
		b.write(at("10:00"), fixer("one", "tray-fix", 1000))
		b.write(at("10:00"), fixer("two", "tray-fix-2", 1000))
		use := func(count int, tray string) {
			b.write(at("10:01"), with(sheets(count, nil, tray), func(a *ledger.SheetsUsed) { a.Material = m }))
		}
		use(1, "tray-fix")
		use(2, "tray-fix")
		use(4, "tray-fix-2")
		b.write(at("10:02"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
		held, _ := b.l.Contents("tray-fix", at("10:03"))
		for _, other := range ledger.Materials() {
			want := 0.0
			if other == m {
				want = 7
			}
			require.InDelta(t, want, float64(held.Load.Of(other)/ledger.EightByTen), 1e-9, "%s of %s", other, m)
		}
		require.InDelta(t, 7, float64(held.Load.Total()/ledger.EightByTen), 1e-9)
	}
}
