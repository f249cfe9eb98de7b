package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
)

func TestForwardBackAndSiblings(t *testing.T) {
	b := class(t)
	b.write(at("21:00"), fixer("fix-b", "tray-fix-2", 1000))
	forward, err := b.l.Forward("lot-fix")
	require.NoError(t, err)
	require.Equal(t, []string{"fix", "fix-b"}, forward.Batches)
	require.Equal(t, []string{"bottle-fix", "conc-fix", "tray-fix", "tray-fix-2"}, forward.Containers)
	require.Equal(t, []string{"class"}, forward.Sessions)
	require.Equal(t, []string{"Bo", "Cy"}, forward.People)

	b.write(at("21:10"), ledger.Discarded{Container: "tray-fix", Volume: 2000, Emptied: true, To: "drum-silver", Reason: "end"})
	forward, err = b.l.Forward("lot-fix")
	require.NoError(t, err)
	require.Contains(t, forward.Containers, "tray-fix", "it held some while it was used")

	back, err := b.l.Back("class")
	require.NoError(t, err)
	require.Equal(t, []string{"lot-dev", "lot-fix"}, back.Lots)
	require.Equal(t, []string{"dev", "fix"}, back.Batches)

	siblings, err := b.l.Siblings("fix")
	require.NoError(t, err)
	require.Equal(t, []string{"fix-b"}, siblings)
	for _, err := range []error{second(b.l.Forward("x")), second(b.l.Back("x")), second(b.l.Siblings("x")), second(b.l.Affected(1))} {
		require.ErrorIs(t, err, ledger.ErrUnknown)
	}
}

func second[T any](_ T, err error) error { return err }

// A stain on one print a week later: everything in the same fixer since its last pass, in other sessions too.
func TestStainOnAPrintNamesOtherSessions(t *testing.T) {
	b := class(t) // passes at 20:50, after its own sheets
	b.write(at("21:00"), sheets(5, []string{"Dee"}, "tray-fix"))
	b.write(at("21:10"), ledger.SessionClosed{Session: "class"})
	b.write(at("21:20"), ledger.SessionOpened{Session: "night", Title: "Night", Lead: "Eli"})
	b.write(at("21:30"), sheets(5, nil, "tray-fix"))
	b.write(at("22:00"), ledger.SessionClosed{Session: "night"})
	stain := b.entry(at("23:00"), ledger.TestDone{Test: ledger.ResidualSilver, Seen: "stain"})
	stain.Session = "night"
	a, err := b.l.Affected(b.take(stain))
	require.NoError(t, err)
	require.Equal(t, at("20:50"), a.LastPass)
	require.Equal(t, []string{"Dee", "Eli"}, a.Tell)

	wash := b.entry(at("23:10"), ledger.TestDone{Test: ledger.ResidualFixer, Seen: "darker than the comparison"})
	wash.Session = "night"
	a, err = b.l.Affected(b.take(wash))
	require.NoError(t, err)
	require.Equal(t, []string{"Eli"}, a.Tell, "washing concerns one session")
	require.Contains(t, a.Instruction.String(), "Wash the prints again")
	require.Len(t, b.l.Failures(), 2)
}

// A portion that was kept apart after the pass is not blamed for the other.
func TestAPortionKeptApartIsNotBlamed(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix", "bottle-fix", 4000))
	b.write(at("17:05"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 1500})
	b.write(at("17:05"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix-2", Volume: 1500})
	b.write(at("18:00"), sheets(5, []string{"Cy"}, "tray-fix"))
	b.write(at("18:00"), sheets(5, []string{"Dee"}, "tray-fix-2"))
	a, err := b.l.Affected(b.write(at("19:00"), iodide("tray-fix-2", "cloudy")))
	require.NoError(t, err)
	require.Equal(t, []string{"Dee"}, a.Tell)
	require.True(t, a.LastPass.IsZero())
	// Poured together, both share the doubt.
	b.write(at("19:10"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
	a, err = b.l.Affected(b.write(at("19:20"), iodide("tray-fix", "cloudy")))
	require.NoError(t, err)
	require.Equal(t, []string{"Cy", "Dee"}, a.Tell)
	require.Equal(t, ledger.Discard, b.l.MayPour("tray-fix", at("19:21")).Verdict)
}

func TestWhoEnteredPrintsIsToldWhereNobodyElseIsKnown(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix", "tray-fix", 1000))
	printed := b.entry(at("18:00"), sheets(5, nil, "tray-fix"))
	printed.By = "Hal"
	b.take(printed)
	a, err := b.l.Affected(b.write(at("19:00"), iodide("tray-fix", "cloudy")))
	require.NoError(t, err)
	require.Equal(t, []string{"Hal"}, a.Tell)
}

// A stain is traced to the last pass of the fixer that the prints went through: neither a fail, nor the pass of another
// bath, nor one that came after the session, clears anybody.
func TestOnlyAPassOfTheSameFixerBeforeTheSessionClearsPrints(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("12:00"), fixer("other", "tray-fix-2", 1000))
	b.write(at("12:10"), sheets(2, []string{"Bo"}, "tray-fix"))
	b.write(at("12:20"), iodide("tray-fix", "clear"))
	b.write(at("13:00"), sheets(3, []string{"Cy"}, "tray-fix"))
	b.write(at("13:00"), sheets(3, []string{"Gus"}, "tray-fix-2"))
	b.write(at("13:10"), iodide("tray-fix", "cloudy"))
	b.write(at("13:20"), iodide("tray-fix-2", "clear"))
	b.write(at("14:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Eli"})
	b.write(at("14:10"), sheets(4, []string{"Flo"}, "tray-fix"))
	b.write(at("14:20"), iodide("tray-fix", "clear"))
	a, err := b.l.Affected(b.write(at("15:00"), ledger.TestDone{Test: ledger.ResidualSilver, Seen: "stain"}))
	require.NoError(t, err)
	require.Equal(t, at("12:20"), a.LastPass)
	require.Equal(t, []string{"Cy", "Flo"}, a.Tell)
	for _, use := range a.Uses {
		require.Equal(t, 1.0, use.Weight, "a print says nothing of how far the bath had gone")
	}
	require.Contains(t, a.Instruction.String(), "fix them again")
	failures := len(b.l.Failures())
	b.write(at("15:01"), ledger.TestDone{Test: ledger.ResidualSilver, Seen: "no stain"})
	require.Len(t, b.l.Failures(), failures)
}

// A print with silver left throws doubt on every fixer it went through, until that bath has shown that it fixes; not on another
// batch, and not on a bath that cleared film after the print went through it: then the time was too short. A clear iodide test shows
// that little silver is in the bath, as it does of plain water.
func TestAStainOnAPrintAsksForTestsOfItsFixers(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("first", "tray-fix", 1000))
	b.write(at("12:00"), fixer("second", "tray-fix-2", 1000))
	b.write(at("12:00"), fixer("third", "bottle-fix", 1000))
	clears := func(container string, baseline bool) ledger.TestDone {
		return ledger.TestDone{Container: container, Test: ledger.ClearingTest, Film: "leader", Seconds: 40, Baseline: baseline}
	}
	b.write(at("12:10"), clears("tray-fix", true))
	b.write(at("12:10"), clears("tray-fix-2", true))
	b.write(at("14:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Eli"})
	b.write(at("14:10"), sheets(1, nil, "tray-fix", "tray-fix-2"))
	b.write(at("14:20"), clears("tray-fix-2", false))
	verdicts := func(clock string) (all []ledger.Verdict) {
		for _, id := range []string{"tray-fix", "tray-fix-2", "bottle-fix"} {
			all = append(all, b.l.MayPour(id, at(clock)).Verdict)
		}
		return all
	}
	require.Equal(t, []ledger.Verdict{ledger.Pour, ledger.Pour, ledger.Pour}, verdicts("14:30"))
	b.write(at("15:00"), ledger.TestDone{Test: ledger.ResidualSilver, Seen: "stain"})
	require.Equal(t, []ledger.Verdict{ledger.TestFirst, ledger.Pour, ledger.Pour}, verdicts("15:01"))
	answer := b.l.MayPour("tray-fix", at("15:01"))
	require.Contains(t, answer.Because.Words.String(), "A print fixed in it failed the residual silver test on")
	require.Contains(t, answer.Do.String(), "enter the result before you pour: clearing time.")
	b.write(at("15:10"), iodide("tray-fix", "clear"))
	require.Equal(t, []ledger.Verdict{ledger.TestFirst, ledger.Pour, ledger.Pour}, verdicts("15:11"), "plain water passes too")
	b.write(at("15:20"), clears("tray-fix", false))
	require.Equal(t, []ledger.Verdict{ledger.Pour, ledger.Pour, ledger.Pour}, verdicts("15:21"))
}

// Where nobody timed how fast the fresh bath clears film, no clearing time can be judged, and the iodide test is all there is.
func TestAClearIodideTestEndsTheDoubtWhereNoClearingTimeCanBeJudged(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("14:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Eli"})
	b.write(at("14:10"), sheets(1, nil, "tray-fix"))
	b.write(at("15:00"), ledger.TestDone{Test: ledger.ResidualSilver, Seen: "stain"})
	doubted := b.l.MayPour("tray-fix", at("15:01"))
	require.Equal(t, ledger.TestFirst, doubted.Verdict)
	require.Contains(t, doubted.Do.String(), "iodide")
	b.write(at("15:10"), iodide("tray-fix", "clear"))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix", at("15:11")).Verdict)
}

// A sheet that went through two fixers is one print that is to be fixed again.
func TestSheetsThatWentThroughTwoFixersAreCountedOnce(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("first", "tray-fix", 1000))
	b.write(at("12:00"), fixer("second", "tray-fix-2", 1000))
	b.write(at("14:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Eli"})
	b.write(at("14:10"), sheets(4, nil, "tray-fix", "tray-fix-2"))
	b.write(at("14:20"), sheets(3, nil, "tray-fix", "tray-fix-2"))
	a, err := b.l.Affected(b.write(at("15:00"), ledger.TestDone{Test: ledger.ResidualSilver, Seen: "stain"}))
	require.NoError(t, err)
	require.Len(t, a.Uses, 4, "of each bath")
	require.Equal(t, 7, a.Sessions[0].Sheets)
}

// Of 2 L that passed after 10 sheets one is left, with half of the work: 5 sheets a litre. It fails at 15, so what went through
// up to 10 was half way.
func TestHowFarABathHadGoneIsReckonedInWhatIsLeftOfIt(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("12:10"), sheets(10, nil, "tray-fix"))
	b.write(at("12:20"), iodide("tray-fix", "clear"))
	b.write(at("12:30"), ledger.PortionPoured{From: "tray-fix", To: "bottle-fix", Volume: 1000})
	b.write(at("12:40"), sheets(5, nil, "tray-fix"))
	b.write(at("12:50"), sheets(5, nil, "tray-fix"))
	a, err := b.l.Affected(b.write(at("13:00"), iodide("tray-fix", "cloudy")))
	require.NoError(t, err)
	require.Len(t, a.Uses, 2)
	require.InDelta(t, 0.5, a.Uses[0].Weight, 1e-9)
	require.InDelta(t, 1, a.Uses[1].Weight, 1e-9)
	require.Equal(t, 10, a.Sessions[0].Sheets)
}
