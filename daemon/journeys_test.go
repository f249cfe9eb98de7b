package daemon_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
)

// journey is what somebody comes for, with the most presses and typed texts that it may take.
type journey struct {
	name             string
	presses, entries int
	goes             func(*teaching)
}

// requireWalked goes the journeys one after another and prints what each took.
func requireWalked(t *testing.T, k *teaching, journeys []journey) {
	t.Logf("%-72s presses / typed", "journey")
	for _, j := range journeys {
		before := k.Effort()
		j.goes(k)
		took := formtest.Effort{Presses: k.Effort().Presses - before.Presses, Entries: k.Effort().Entries - before.Entries}
		t.Logf("%-72s %4d / %d", j.name, took.Presses, took.Entries)
		require.LessOrEqual(t, took.Presses, j.presses, j.name)
		require.LessOrEqual(t, took.Entries, j.entries, j.name)
	}
}

func accepted(t *testing.T, page *formtest.Page) *formtest.Page {
	t.Helper()
	require.Empty(t, page.Problem(), "%s", page.Address)
	return page
}

// TestTheJourneysOfAVolunteerTakeFewPresses counts every link, button and choice that is
// pressed and every text that is typed, on a site that knows nothing yet: three trays from a
// bottle of concentrate, a stored stop bath and a stored fixer, and then the take-down with a
// storage bottle that is new and a closing list.
func TestTheJourneysOfAVolunteerTakeFewPresses(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan")
	k.evening.until(time.Minute)
	requireWalked(t, k, []journey{
		{"volunteer, empty site: concentrate, stored stop bath, stored fixer", 12, 6, func(k *teaching) { setUpFromNothing(t, k) }},
		{"volunteer, take-down with a new storage bottle and a closing list", 6, 2, func(k *teaching) { takeDownIntoANewBottle(t, k) }},
		{"volunteer, second evening, as last time, and the list", 5, 0, func(k *teaching) { setUpFromTheShelf(t, k) }},
	})
	require.Equal(t, []string{"as it should be"}, look(k.daemon, func(b *cards.ShelfBook) []string { return b.Found["practice"].Lines }))
}

func setUpFromNothing(t *testing.T, k *teaching) {
	page := accepted(t, k.Open(setUpAt).Form(formtest.Having("title")).Fill("who", "Newcomer").Press("as it should be"))
	page = accepted(t, page.Form(formtest.To("/shelf/enter/lot-received")).Fill("product", "print-developer").Fill("unit_ml", "1 L").Send())
	page = accepted(t, page.Form(formtest.Having("meant", string(ledger.FromConcentrate))).Send())
	page = pouredFromStorage(t, page, stored{"stop bath bottle", ledger.StopColourTest, "yellow"})
	page = pouredFromStorage(t, page, stored{"fixer bottle", ledger.IodideTest, "clear"})
	page = accepted(t, page.FollowTo(setUpAt, "skip", "fixer-2").Form(formtest.Doing("put-away")).Send())
	page.FollowTo(boardAt)
	for _, bath := range []string{"developer", "stop-bath", "fixer-1"} {
		require.True(t, look(k.daemon, func(b *cards.ShelfBook) bool { _, ok := b.InTray(bath, b.At); return ok }), bath)
	}
}

// sessionsOf are the sessions of the book, the first one first.
func sessionsOf(b *cards.ShelfBook) (ids []string) {
	for _, r := range b.Records {
		if opened, is := r.Act.(ledger.SessionOpened); is {
			ids = append(ids, opened.Session)
		}
	}
	return ids
}

// setUpFromTheShelf fills the same three trays from what is on the shelf by now: the developer
// mixed from its bottle, stop bath and fixer poured after their tests.
func setUpFromTheShelf(t *testing.T, k *teaching) {
	page := accepted(t, k.Open(setUpAt).Form(formtest.Having("title")).Press("as it should be"))
	page = accepted(t, page.Form(formtest.Doing("as-last-time")).FillIn("stop-bath.seen", "yellow", "fixer-1.seen", "clear").Send())
	page = accepted(t, page.Form(formtest.Doing("put-away")).Send())
	require.Contains(t, page.Text(), "The baths are ready")
}

// stored is a bottle of working strength that no book knows, with the test that it passes.
type stored struct {
	bottle string
	test   ledger.TestKind
	seen   string
}

// pouredFromStorage lists the bottle, tests what is in it where the book asks for that, and pours.
func pouredFromStorage(t *testing.T, page *formtest.Page, s stored) *formtest.Page {
	page = accepted(t, page.Form(formtest.Having("new_vessel")).Fill("new_vessel", s.bottle).Fill("water_ml", "2 L").Send())
	pours := func(f *formtest.Form) bool { return f.Path() == "/shelf/enter/portion-poured" }
	if !slices.ContainsFunc(page.Forms(), pours) {
		page = accepted(t, page.Form(formtest.Having("test", string(s.test))).Press(s.seen))
	}
	return accepted(t, page.Form(pours).Send())
}

// takeDownIntoANewBottle pours the developer away, the stop bath back, the fixer into a bottle
// that nobody has listed yet, and leaves the closing list.
func takeDownIntoANewBottle(t *testing.T, k *teaching) {
	page := k.Open(takeDownAt)
	for range 3 {
		switch {
		case page.Form(formtest.To("/shelf/enter/discarded")).Values().Get("container") == "Developer tray":
			page = accepted(t, page.Form(formtest.To("/shelf/enter/discarded")).Fill("route", "foul drain, as the place allows").Send())
		case page.Form(formtest.To("/shelf/enter/returned")).Values().Get("from") == "First fixer tray":
			page = accepted(t, page.Form(formtest.To("/shelf/enter/returned")).Fill("new_vessel", "new fixer bottle").Send())
		default:
			page = accepted(t, page.Form(formtest.To("/shelf/enter/returned")).Send())
		}
	}
	accepted(t, page.Form(formtest.Having("note")).Press("all done"))
	require.True(t, look(k.daemon, func(b *cards.ShelfBook) bool { return b.ClosingSigned(ledger.AfterTakeDown, sessionsOf(b)[0]) }))
	held := look(k.daemon, func(b *cards.ShelfBook) ledger.Contents { c, _ := b.Contents("new fixer bottle", b.At); return c })
	require.InDelta(t, 2000, float64(held.Volume), 1, "all of the fixer is in the new bottle")
}

// TestNothingIsPouredAsLastTimeWithoutItsTest leaves a test out, and then fails it.
func TestNothingIsPouredAsLastTimeWithoutItsTest(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan")
	k.evening.until(time.Minute)
	setUpFromNothing(t, k)
	takeDownIntoANewBottle(t, k)
	stands := func(bath string) bool {
		return look(k.daemon, func(b *cards.ShelfBook) bool { _, ok := b.InTray(bath, b.At); return ok })
	}
	begun := accepted(t, k.Open(setUpAt).Form(formtest.Having("title")).Press("as it should be"))
	mix := formtest.To("/shelf/enter/batch-mixed")
	refused := begun.First(mix).Fill("water_ml", "a jug").Send()
	require.Equal(t, "a jug", refused.First(mix).Values().Get("water_ml"), "a refused step comes back as typed beside the way of last time")
	page := begun.Form(formtest.Doing("as-last-time")).FillIn("fixer-1.seen", "clear").Send()
	require.Contains(t, page.Problem(), "Stop bath: test it first")
	for _, bath := range []string{"developer", "stop-bath", "fixer-1"} {
		require.False(t, stands(bath), "nothing is recorded of a form that lacks a test: %s", bath)
	}
	page = accepted(t, page.Form(formtest.Doing("as-last-time")).FillIn("stop-bath.seen", "yellow", "fixer-1.volume_ml", "90 L").Send())
	require.Contains(t, page.Text(), "Not recorded, and nothing after it")
	require.True(t, stands("developer"), "what stands before a refusal is kept, with its undo")
	require.False(t, stands("fixer-1"))
	page = accepted(t, undoes(page))
	require.False(t, stands("developer"))
	page = accepted(t, page.Form(formtest.Doing("as-last-time")).FillIn("stop-bath.seen", "purple", "fixer-1.seen", "clear").Send())
	require.True(t, stands("developer"))
	require.True(t, stands("fixer-1"), "what was chosen before is still chosen")
	require.False(t, stands("stop-bath"), "its test was not passed")
	verdict := func() ledger.Verdict {
		return look(k.daemon, func(b *cards.ShelfBook) ledger.Verdict { return b.MayPour("stop bath bottle", b.At).Verdict })
	}
	require.Equal(t, ledger.Discard, verdict())
	require.Contains(t, page.Text(), "Stop bath", "the bath is asked for at a step of its own")
	require.NotEmpty(t, page.Forms())
	accepted(t, undoes(page))
	require.False(t, stands("developer"), "one Undo takes the whole press back")
	require.Equal(t, ledger.TestFirst, verdict())
}
