package ledger_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// evening is a Tuesday at 18:00 in a room of invented people.
func evening() time.Time { return time.Date(2025, 3, 4, 18, 0, 0, 0, time.UTC) }

// at is a time of that evening, such as at("20:40").
func at(clock string) time.Time {
	t, err := time.Parse("15:04", clock)
	if err != nil {
		panic(err) // a slip in a test
	}
	return time.Date(2025, 3, 4, t.Hour(), t.Minute(), 0, 0, time.UTC)
}

// book writes entries one after another.
type book struct {
	t       *testing.T
	l       *ledger.Ledger
	entries []ledger.Entry
}

func catalogue(t *testing.T) ledger.Catalogue {
	data, err := os.ReadFile("../../configs/catalogue.toml")
	require.NoError(t, err)
	c, err := ledger.ParseCatalogue(data)
	require.NoError(t, err)
	return c
}

func newBook(t *testing.T) *book {
	return &book{t: t, l: ledger.New(ledger.Settings{Catalogue: catalogue(t)})}
}

func (b *book) entry(when time.Time, act ledger.Act) ledger.Entry {
	return ledger.Entry{Number: b.l.Version() + 1, At: when, Entered: when, By: "Ada", Act: act}
}

// write takes an act that must be possible and gives the number of its entry.
func (b *book) write(when time.Time, act ledger.Act) uint64 {
	b.t.Helper()
	return b.take(b.entry(when, act))
}

func (b *book) take(e ledger.Entry) uint64 {
	b.t.Helper()
	require.NoError(b.t, b.l.Check(e))
	require.NoError(b.t, b.l.Apply(e))
	b.entries = append(b.entries, e)
	return e.Number
}

// refuse says that an act must not be possible, and gives the sentence.
func (b *book) refuse(e ledger.Entry, sort error) string {
	b.t.Helper()
	err := b.l.Check(e)
	require.ErrorIs(b.t, err, sort)
	var problem ledger.Problem
	require.ErrorAs(b.t, err, &problem)
	require.NotEmpty(b.t, problem.Wrong)
	require.NotEmpty(b.t, problem.Do)
	return err.Error()
}

// room furnishes a darkroom the day before: bottles, trays, waste containers and concentrates.
func (b *book) room() *book {
	b.t.Helper()
	day := evening().AddDate(0, 0, -1)
	for _, c := range []ledger.ContainerNamed{
		{Container: "bottle-dev", Vessel: ledger.Bottle, Capacity: 5000, KeptFor: ledger.PrintDeveloper},
		{Container: "bottle-fix", Vessel: ledger.Bottle, Capacity: 4000, KeptFor: ledger.Fixer},
		{Container: "bottle-fix-2", Vessel: ledger.Bottle, Capacity: 4000, KeptFor: ledger.Fixer},
		{Container: "tray-dev", Vessel: ledger.Tray, Capacity: 3000, Bath: "developer"},
		{Container: "tray-fix", Vessel: ledger.Tray, Capacity: 3000, Bath: "fixer 1"},
		{Container: "tray-fix-2", Vessel: ledger.Tray, Capacity: 3000, Bath: "fixer 2"},
		{Container: "drum-silver", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream},
		{Container: "drum-plain", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.PlainStream},
	} {
		b.write(day, c)
	}
	b.write(day, ledger.LotReceived{Lot: "lot-dev", Product: "print-developer", Class: ledger.PrintDeveloper, Units: 3, UnitVolume: 1000,
		Owner: ledger.House})
	b.write(day, ledger.LotReceived{Lot: "lot-fix", Product: "rapid-fixer", Class: ledger.Fixer, Units: 4, UnitVolume: 1000,
		Owner: ledger.House})
	b.write(day, ledger.LotOpened{Lot: "lot-dev", Container: "conc-dev"})
	b.write(day, ledger.LotOpened{Lot: "lot-fix", Container: "conc-fix"})
	return b
}

// fixer mixes 1+9 of rapid fixer.
func fixer(batch, into string, volume quantity.Millilitre) ledger.BatchMixed {
	return ledger.BatchMixed{Batch: batch, Name: "Paper fixer", Product: "rapid-fixer", Class: ledger.Fixer, Into: into,
		Meant: ledger.FromConcentrate, From: "conc-fix", ParentVolume: volume / 10, Water: volume * 9 / 10,
		Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
}

// developer mixes 1+9 of print developer.
func developer(batch, into string, volume quantity.Millilitre) ledger.BatchMixed {
	return ledger.BatchMixed{Batch: batch, Name: "Paper developer", Product: "print-developer", Class: ledger.PrintDeveloper, Into: into,
		Meant: ledger.FromConcentrate, From: "conc-dev", ParentVolume: volume / 10, Water: volume * 9 / 10,
		Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
}

func sheets(count int, people []string, containers ...string) ledger.SheetsUsed {
	return ledger.SheetsUsed{Containers: containers, Material: ledger.ResinCoated, Count: count, SheetArea: ledger.EightByTen, People: people}
}

func iodide(container string, seen ledger.Seen) ledger.TestDone {
	return ledger.TestDone{Test: ledger.IodideTest, Container: container, Seen: seen}
}

// wroteLate is an entry written at nine the next morning.
func (b *book) wroteLate(when time.Time, act ledger.Act) ledger.Entry {
	e := b.entry(when, act)
	e.Entered = evening().Add(15 * time.Hour)
	return e
}
