package ledger_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
)

// Strength and age mix by volume; the arithmetic by hand.
func TestTopUpMixesByVolume(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("18:00"), fixer("fresh", "bottle-fix", 1000))
	b.write(at("18:00"), ledger.ToppedUp{Container: "tray-fix", From: "bottle-fix", Volume: 500, Water: 500})
	c, ok := b.l.InTray("fixer 1", at("18:00"))
	require.True(t, ok)
	require.InDelta(t, 3000, float64(c.Volume), 1e-9)
	require.InDelta(t, (2000*0.1+500*0.1)/3000, *c.Strength, 1e-12)
	require.InDelta(t, 0.1, *c.AimStrength, 1e-12)
	require.WithinDuration(t, at("12:00").Add(72*time.Minute), c.Made, time.Second, "a fifth of the batches is six hours younger")
	require.Equal(t, at("12:00"), c.Oldest)
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", at("18:01")).Verdict, "17 % weaker than meant")
}

// What was said of temperatures is told with the entry: nothing else is worked out from them.
func TestATemperatureThatWasEnteredIsTold(t *testing.T) {
	mix := fixer("fix", "tray-fix", 1000)
	mix.WaterTemperature, mix.MixTemperature = warm(24), warm(21.5)
	require.Contains(t, mix.Sentence().String(), "of water at 24.0 °C, into tray-fix, at 21.5 °C once mixed")
	require.Equal(t, "tray-fix topped up with 200 mL of water at 18.0 °C",
		ledger.ToppedUp{Container: "tray-fix", Water: 200, WaterTemp: warm(18)}.Sentence().String())
}

// Concentrate put into a weak bath brings it to the strength that was meant.
func TestTopUpWithConcentrate(t *testing.T) {
	b := newBook(t).room()
	weak := fixer("fix", "tray-fix", 2000)
	weak.ParentVolume, weak.Water = 100, 1900
	b.write(at("12:00"), weak)
	require.Equal(t, ledger.Discard, b.l.MayPour("tray-fix", at("12:01")).Verdict, "half as strong")
	// To repair it: (100 + x) / (2000 + x) = 0.1, x = 100/0.9.
	b.write(at("12:05"), ledger.ToppedUp{Container: "tray-fix", From: "conc-fix", Volume: 100 / 0.9})
	a := b.l.MayPour("tray-fix", at("12:06"))
	require.Equal(t, ledger.Pour, a.Verdict, a.Sentence())
	require.Contains(t, limit(t, a, "strength").Words.String(), "as intended")
	held, _ := b.l.Contents("tray-fix", at("12:06"))
	require.Equal(t, at("12:00"), held.Oldest, "the bottle was opened the day before, the bath was mixed at noon")
	require.WithinDuration(t, at("12:00"), held.Made, time.Minute)
	tray, _ := b.l.Container("tray-fix")
	require.Empty(t, tray.FilledFrom, "used fixer never goes back into the bottle of concentrate")
	said := b.refuse(b.entry(at("12:10"), ledger.ToppedUp{Container: "conc-fix", Water: 10}), ledger.ErrMismatch)
	require.Contains(t, said, "Enter the batch")
}

func TestWarnings(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("12:10"), ledger.Discarded{Container: "tray-fix", Volume: 1000, Emptied: true, Route: "as the local code allows",
		Reason: "wrong tray"})
	warned := told(b.l.Warnings(b.entry(at("12:20"), developer("dev", "tray-fix", 1000))))
	require.Equal(t, []string{"tray-fix last held fixer: wash it well before print developer goes in"}, warned)
	require.Empty(t, b.l.Warnings(b.entry(at("12:20"), developer("dev", "tray-dev", 1000))))

	// 100 + 1000 mL for 1+9: 1/11 is 9.1 % too weak; 1100 (0.1 - 1/11) / (1 - 0.1) = 11.1 mL more.
	student := developer("dev", "tray-dev", 1100)
	student.ParentVolume, student.Water = 100, 1000
	require.Equal(t, []string{"tray-dev: 9.1 % too weak: add 11.1 mL of concentrate, and enter it as a top-up"},
		told(b.l.Warnings(b.entry(at("12:20"), student))))
	student.ParentVolume, student.Water = 100, 910
	require.Empty(t, b.l.Warnings(b.entry(at("12:20"), student)), "1 % is let pass")
	// A developer is poured into a tray that held fixer, from a bottle: said as well, and only where the tray is empty.
	b.write(at("12:21"), ledger.ContainerNamed{Container: "bottle", Vessel: ledger.Bottle, Capacity: 2000})
	b.write(at("12:21"), developer("poured", "bottle", 1000))
	pour := ledger.PortionPoured{From: "bottle", To: "tray-fix", Volume: 500}
	require.Equal(t, []string{"tray-fix last held fixer: wash it well before print developer goes in"},
		told(b.l.Warnings(b.entry(at("12:22"), pour))))
	for _, to := range []string{"tray-dev", "nowhere"} {
		require.Empty(t, b.l.Warnings(b.entry(at("12:22"), with(pour, func(a *ledger.PortionPoured) { a.To = to }))), to)
	}
	again := &book{t: t, l: b.l.Copy()}
	again.write(at("12:22"), pour)
	require.Empty(t, again.l.Warnings(again.entry(at("12:23"), pour)), "it is too late to wash it")
	b.write(at("12:25"), ledger.ContainerNamed{Container: "small tray", Vessel: ledger.Tray, Capacity: 1105})
	student.ParentVolume, student.Water, student.Into = 100, 1000, "small tray"
	require.Contains(t, b.l.Warnings(b.entry(at("12:26"), student))[0].String(), "the vessel holds 1105 mL: discard and start again")

	b.write(at("12:30"), fixer("old", "bottle-fix", 4000))
	late := b.entry(at("12:30").AddDate(0, 3, 0), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix-2", Volume: 1000})
	warned = told(b.l.Warnings(late))
	require.Len(t, warned, 1)
	require.Contains(t, warned[0], "discard: life in a full bottle")
	require.NoError(t, b.l.Check(late), "it is said, not forbidden")

	b.write(at("12:40"), ledger.Discarded{Container: "bottle-fix", Volume: 4000, To: "drum-silver", Reason: "old"})
	require.Equal(t, ledger.Discard, b.l.MayPour("drum-silver", at("12:41")).Verdict, "waste is never poured")
}

// benchmarkBook is a year of classes, a session each: fifteen thousand entries.
func benchmarkBook() []ledger.Entry {
	now := evening()
	entries := []ledger.Entry{{Act: ledger.ContainerNamed{Container: "tray", Vessel: ledger.Tray, Capacity: 3000}},
		{Act: ledger.ContainerNamed{Container: "drum", Vessel: ledger.WasteContainer, Capacity: 1e6, Stream: ledger.SilverStream}}}
	for n := range 2500 {
		mix := ledger.BatchMixed{Batch: fmt.Sprintf("b%d", n), Name: "Fixer", Class: ledger.Fixer, Into: "tray", Meant: ledger.FromUnknown,
			Water: 100, Owner: ledger.House}
		session := fmt.Sprintf("s%d", n)
		for _, act := range []ledger.Act{ledger.SessionOpened{Session: session, Title: "Class", Lead: "Ada"}, mix, sheets(3, nil, "tray"),
			iodide("tray", "clear"),
			ledger.Discarded{Container: "tray", Volume: 100, To: "drum", Reason: "end"}, ledger.SessionClosed{Session: session}} {
			entries = append(entries, ledger.Entry{Act: act})
		}
	}
	for i := range entries {
		now = now.Add(time.Minute)
		entries[i].Number, entries[i].At, entries[i].Entered, entries[i].By = uint64(i+1), now, now, "Ada"
	}
	return entries
}

func BenchmarkReplay(b *testing.B) {
	entries := benchmarkBook()
	for b.Loop() {
		require.NoError(b, ledger.New(ledger.Settings{}).Replay(entries))
	}
}

func BenchmarkLateCheck(b *testing.B) {
	l := ledger.New(ledger.Settings{})
	entries := benchmarkBook()
	require.NoError(b, l.Replay(entries))
	last := entries[len(entries)-1]
	e := ledger.Entry{At: last.At.Add(-time.Hour), Entered: last.At, By: "Ada", Act: ledger.WasteAdded{Container: "drum", Volume: 1,
		What: "rinse"}}
	for b.Loop() {
		require.NoError(b, l.Check(e))
	}
}

func TestADrawOfWhatAPageShowsToATenthOfAnOunceTakesAll(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 999)) // 33.78 US fl oz, which a page shows as 33.8
	const ounce = 29.5735295625
	require.ErrorIs(t, b.l.Check(b.entry(at("12:10"), ledger.PortionPoured{From: "tray-fix", To: "tray-fix-2", Volume: 34 * ounce})),
		ledger.ErrNotEnough)
	b.write(at("12:10"), ledger.PortionPoured{From: "tray-fix", To: "tray-fix-2", Volume: 33.8 * ounce})
	poured, _ := b.l.Contents("tray-fix-2", at("12:11"))
	require.InDelta(t, 999, float64(poured.Volume), 1e-9, "no more than there was")
	b.write(at("12:20"), ledger.Discarded{Container: "tray-fix-2", Volume: 33.8 * ounce, Route: "as the place allows", Reason: "old"})
	_, holds := b.l.Contents("tray-fix-2", at("12:21"))
	require.False(t, holds)
	a := b.l.Account()
	require.InDelta(t, float64(a.In), float64(a.Held+a.Out), 1e-6)
}

// A working bath from stock of 1+9 that was mixed 1+1 is as meant; with a tenth more water it is not.
func TestAPourFromStockIsHeldAgainstTheStock(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), developer("stock", "bottle-dev", 2000))
	working := with(developer("dev", "tray-dev", 1000), func(a *ledger.BatchMixed) {
		a.Meant, a.From, a.ParentVolume, a.Water, a.Aim = ledger.FromStock, "bottle-dev", 500, 500, ledger.Parts{Parent: 1, Water: 1}
	})
	require.Empty(t, b.l.Warnings(b.entry(at("12:01"), working)))
	working.Water = 700
	require.Contains(t, b.l.Warnings(b.entry(at("12:01"), working))[0].String(), "16.7 % too weak")
}

// Nothing is said of a pour from or into what the book does not know, or from what is empty: the check refuses it.
func TestAPourOfWhatIsNotThereIsNotWarnedOf(t *testing.T) {
	b := newBook(t).room()
	for _, mix := range []ledger.BatchMixed{with(fixer("x", "tray-fix", 1000), func(a *ledger.BatchMixed) { a.From = "" }),
		with(fixer("x", "nowhere", 1000), func(a *ledger.BatchMixed) { a.Water = 100 })} {
		require.Empty(t, b.l.Warnings(b.entry(at("12:00"), mix)))
	}
	for _, from := range []string{"bottle-fix", "nowhere"} {
		weak := with(fixer("x", "tray-fix", 1000), func(a *ledger.BatchMixed) { a.From, a.Water = from, 2000 })
		warned := told(b.l.Warnings(b.entry(at("12:00"), weak)))
		require.Len(t, warned, 1)
		require.Contains(t, warned[0], from+": test first", "of its strength nothing can be said")
	}
	require.Empty(t, b.l.Warnings(b.entry(at("12:00"), ledger.TraysCovered{Containers: []string{"tray-fix"}})))
}
