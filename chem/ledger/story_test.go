package ledger_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
)

// A fixer passes at the opening of one session, serves two, and fails at the
// close of the second: everything since the pass is doubtful, the later the more.
func TestStoryFixerPassesAtOpeningAndFailsAtClose(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix-1", "bottle-fix", 4000))
	b.write(at("17:05"), ledger.SessionOpened{Session: "early", Title: "Early class", Lead: "Bo", People: []string{"Cy"}})
	b.write(at("17:06"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	b.write(at("17:30"), sheets(10, []string{"Cy"}, "tray-fix"))
	b.write(at("18:00"), iodide("tray-fix", "clear"))
	b.write(at("18:10"), sheets(10, []string{"Dee"}, "tray-fix"))
	b.write(at("18:30"), ledger.SessionClosed{Session: "early"})
	b.write(at("18:31"), ledger.SessionOpened{Session: "late", Title: "Late class", Lead: "Eli", People: []string{"Flo", "Gus"}})
	b.write(at("19:00"), sheets(20, nil, "tray-fix"))
	fail := b.write(at("21:00"), iodide("tray-fix", "cloudy"))

	require.Equal(t, ledger.Discard, b.l.MayPour("tray-fix", at("21:01")).Verdict)
	a, err := b.l.Affected(fail)
	require.NoError(t, err)
	require.Equal(t, at("18:00"), a.LastPass)
	require.Len(t, a.Uses, 2, "what came before the pass is not in doubt")
	// Weights by hand: 10 sheets at the pass, 20 after the first use, 40 at the fail.
	require.InDelta(t, 10.0/30, a.Uses[0].Weight, 1e-9)
	require.InDelta(t, 1, a.Uses[1].Weight, 1e-9)
	require.Equal(t, []string{"Dee", "Eli", "Flo", "Gus"}, a.Tell, "Cy's prints were fixed before the pass")
	require.Equal(t, "late", a.Sessions[0].ID, "the most doubtful first")
	require.Equal(t, 20, a.Sessions[0].Sheets)
	require.Contains(t, a.Instruction.String(), "fix them again in fresh fixer")

	// What was returned to the bottle spoils the bottle.
	b.write(at("21:10"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 1900, Emptied: true})
	require.Equal(t, ledger.Discard, b.l.MayPour("bottle-fix", at("21:11")).Verdict)
}

// The first bath is discarded and the second moves up: its history goes with it.
func TestStorySecondBathPromoted(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("first", "tray-fix", 2000))
	b.write(at("17:05"), fixer("second", "tray-fix-2", 2000))
	b.write(at("17:06"), ledger.TestDone{Test: ledger.ClearingTest, Container: "tray-fix-2", Film: "test film", Seconds: 30, Baseline: true})
	b.write(at("18:00"), sheets(12, []string{"Cy"}, "tray-fix", "tray-fix-2"))
	before, ok := b.l.InTray("fixer 2", at("19:00"))
	require.True(t, ok)

	require.Contains(t, b.refuse(b.entry(at("19:00"), ledger.Promoted{From: "tray-fix-2", To: "tray-fix"}), ledger.ErrTaken),
		"Discard the first bath")
	b.write(at("19:00"), ledger.Discarded{Container: "tray-fix", Volume: 1900, Emptied: true, To: "drum-silver", Reason: "two-bath rotation"})
	b.write(at("19:00"), ledger.Promoted{From: "tray-fix-2", To: "tray-fix"})

	after, ok := b.l.InTray("fixer 1", at("19:00"))
	require.True(t, ok)
	require.Equal(t, before.Load, after.Load)
	require.Equal(t, before.Shares, after.Shares)
	require.InDelta(t, before.OpenHours, after.OpenHours, 1e-9)
	require.Equal(t, before.Made, after.Made)
	_, ok = b.l.InTray("fixer 2", at("19:00"))
	require.False(t, ok)

	// The baseline of the liquid counts in its new place (rule: US Navy 14209), and a fail names prints from the old one.
	fail := b.write(at("19:30"), ledger.TestDone{Test: ledger.ClearingTest, Container: "tray-fix", Film: "test film", Seconds: 60})
	a, err := b.l.Affected(fail)
	require.NoError(t, err)
	require.Len(t, a.Uses, 1)
	require.Equal(t, "tray-fix-2", a.Uses[0].Container)
}

// Nobody logged in the evening what was mixed; the sheets were counted. Next
// morning three batches are entered late, and the counts find their baths.
func TestStoryThreeBatchesLoggedNextMorning(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), ledger.SessionOpened{Session: "class", Title: "Class", Lead: "Bo"})
	b.write(at("19:00"), sheets(8, []string{"Cy"}, "tray-dev", "tray-fix", "tray-fix-2"))
	require.Equal(t, ledger.UnknownClass, b.l.Uses()[0].Class)
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", at("20:00")).Verdict)

	late := b.wroteLate(at("18:05"), developer("dev-1", "tray-dev", 2000))
	require.True(t, late.Late())
	b.take(late)
	b.take(b.wroteLate(at("18:10"), fixer("fix-1", "tray-fix", 2000)))
	b.take(b.wroteLate(at("18:15"), fixer("fix-2", "tray-fix-2", 2000)))

	for i, use := range b.l.Uses() {
		require.Len(t, use.Shares, 1, "use %d", i)
	}
	c, ok := b.l.Contents("tray-fix", at("19:00"))
	require.True(t, ok)
	require.InDelta(t, 8*float64(ledger.EightByTen), float64(c.Load.Total()), 1e-12)
	batch, ok := b.l.Batch("fix-1")
	require.True(t, ok)
	require.Equal(t, at("18:10"), batch.Mixed)

	trace, err := b.l.Back("class")
	require.NoError(t, err)
	require.Equal(t, []string{"dev-1", "fix-1", "fix-2"}, trace.Batches)
	require.Equal(t, []string{"lot-dev", "lot-fix"}, trace.Lots)
}

// A late entry that would make a later one impossible is refused with the number of that one.
func TestLateEntryThatContradictsALaterOne(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), fixer("fix-1", "bottle-fix", 2000))
	pour := b.write(at("19:00"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 1500})
	said := b.refuse(b.wroteLate(at("18:30"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix-2", Volume: 1000}), ledger.ErrLater)
	require.Contains(t, said, "bottle-fix holds 1000 mL, but 1500 mL was taken out")
	require.Equal(t, uint64(14), pour)
	require.Contains(t, said, "correct entry 14 first")
}

// An unknown bottle is a normal entry: never pour, silver-bearing until somebody knows better.
func TestStoryUnknownBottleFound(t *testing.T) {
	b := newBook(t).room()
	found := b.write(at("18:00"), ledger.BottleFound{Container: "found-1", Volume: 700, Capacity: 1000, Where: "under the sink",
		Looks: "clear, no label"})
	answer := b.l.MayPour("found-1", at("18:01"))
	require.Equal(t, ledger.TestFirst, answer.Verdict)
	require.Contains(t, answer.Do.String(), "silver-bearing")
	b.refuse(b.entry(at("18:05"), ledger.Discarded{Container: "found-1", Volume: 700, To: "drum-plain", Reason: "unknown"}),
		ledger.ErrMismatch)
	b.refuse(b.entry(at("18:05"), ledger.PortionPoured{From: "found-1", To: "bottle-fix", Volume: 700}), ledger.ErrMismatch)

	// Somebody remembers: the correction says what it is, and still nobody knows how strong it is.
	b.write(at("18:20"), ledger.Correction{Of: found, Reason: "Bo filled it last week", At: at("17:00").AddDate(0, 0, -1),
		Instead: ledger.ContainerNamed{Container: "found-1", Vessel: ledger.Bottle, Capacity: 1000}})
	b.write(at("18:21"), ledger.BatchMixed{Batch: "bo", Name: "Fixer of last week", Product: "rapid-fixer", Class: ledger.Fixer,
		Into:  "found-1",
		Meant: ledger.FromUnknown, Water: 700, Owner: ledger.House})
	answer = b.l.MayPour("found-1", at("18:30"))
	require.Equal(t, ledger.TestFirst, answer.Verdict)
	require.Equal(t, "strength", answer.Because.Name.String())
}

// Stock is taken for concentrate: the check says so and by how much; poured even so, the bath is condemned.
func TestStoryStockMistakenForConcentrate(t *testing.T) {
	b := newBook(t).room()
	stock := developer("stock", "bottle-dev", 4000)
	stock.ParentVolume, stock.Water, stock.Aim = 1000, 3000, ledger.Parts{Parent: 1, Water: 3}
	b.write(at("18:00"), stock)

	working := developer("working", "tray-dev", 2000)
	working.From = "bottle-dev"
	said := b.refuse(b.entry(at("18:30"), working), ledger.ErrMismatch)
	require.Contains(t, said, "bottle-dev holds stock, not concentrate")
	require.Contains(t, said, "4.0 times weaker")

	working.Confirmed = true
	b.write(at("18:30"), working)
	batch, _ := b.l.Batch("working")
	require.InDelta(t, 0.25*0.1, batch.Strength, 1e-12, "1+9 of 1+3")
	off, known := batch.StrengthError()
	require.True(t, known)
	require.InDelta(t, -0.75, off, 1e-12)
	answer := b.l.MayPour("tray-dev", at("18:31"))
	require.Equal(t, ledger.Discard, answer.Verdict)
	require.Equal(t, "strength", answer.Because.Name.String())
	require.True(t, strings.Contains(answer.Because.Words.String(), "25 %"), answer.Because.Words)
}

// A student pours 100 mL + 1000 mL for 1+9: 9 % weak, which is within the 10 % of the passport, and shown.
func TestStoryOneTooMuchWater(t *testing.T) {
	b := newBook(t).room()
	mix := developer("working", "tray-dev", 1000)
	mix.Water = 1000
	b.write(at("18:00"), mix)
	batch, _ := b.l.Batch("working")
	off, known := batch.StrengthError()
	require.True(t, known)
	require.InDelta(t, 1.0/11/0.1-1, off, 1e-12) // -9 %
	answer := b.l.MayPour("tray-dev", at("18:01"))
	require.Equal(t, ledger.Pour, answer.Verdict)
	require.Contains(t, limit(t, answer, "strength").Words.String(), "91 %")
}

// Waiting for the next evening: the working developer is a day old.
func TestDeveloperOfYesterday(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), developer("working", "tray-dev", 1000))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-dev", at("18:00")).Verdict)
	answer := b.l.MayPour("tray-dev", at("18:00").Add(24*time.Hour))
	require.Equal(t, ledger.Discard, answer.Verdict)
	require.Contains(t, answer.Sentence().String(), "24 hours")
}

func limit(t *testing.T, a ledger.Answer, name string) ledger.Limit {
	t.Helper()
	for _, c := range a.Limits {
		if c.Name.String() == name {
			return c
		}
	}
	t.Fatalf("no limit called %q in %v", name, a.Limits)
	return ledger.Limit{}
}

func TestALidStaysOnlyWhileTheBathIsUnderIt(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix-1", "tray-fix", 500))
	b.write(at("20:00"), ledger.TraysCovered{Containers: []string{"tray-fix"}})
	b.write(at("20:10"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 500, Emptied: true})
	b.write(at("21:00"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 500})
	c, known := b.l.Container("tray-fix")
	require.True(t, known)
	require.False(t, c.Covered, "nobody pours through a lid")
	require.Equal(t, at("21:00"), c.OpenSince)
}
