package daemon_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/session"
)

// undoes presses the one button of a receipt.
func undoes(page *formtest.Page) *formtest.Page {
	return page.Form(formtest.Saying("Undo")).Press("Undo")
}

func offersUndo(page *formtest.Page) bool {
	return slices.ContainsFunc(page.Forms(), formtest.Saying("Undo"))
}

// aside are the forms of a page that put an alarm back.
func aside(page *formtest.Page) (forms []*formtest.Form) {
	for _, f := range page.Forms() {
		if formtest.Doing("restore")(f) && !formtest.Saying("Undo")(f) {
			forms = append(forms, f)
		}
	}
	return forms
}

func TestAReceiptOfTheShelfTakesItsEntryBackInOnePress(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan")
	k.evening.until(time.Minute)
	stands := func() bool {
		return look(k.daemon, func(b *cards.ShelfBook) bool { _, ok := b.InTray("stop-bath", b.At); return ok })
	}
	page := accepted(t, k.Open(setUpAt).Form(formtest.Having("title")).Fill("who", "Newcomer").Press("as it should be"))
	require.False(t, offersUndo(page), "a session has begun in the room too")
	require.Contains(t, page.Text(), "To undo the start or the end of a session")
	bottled := func() bool {
		return look(k.daemon, func(b *cards.ShelfBook) bool { _, ok := b.Container("stop bath bottle"); return ok })
	}
	page = page.FollowTo(setUpAt, "skip", "developer")
	listed := accepted(t, page.Form(formtest.Having("new_vessel")).FillIn("new_vessel", "stop bath bottle", "water_ml", "2 L").Send())
	require.True(t, bottled())
	page = accepted(t, undoes(listed))
	require.False(t, bottled(), "the bottle and what it holds, which one press listed, are taken back together")
	page = accepted(t, page.Form(formtest.Having("new_vessel")).FillIn("new_vessel", "stop bath bottle", "water_ml", "2 L").Send())
	require.False(t, stands())
	poured := accepted(t, testedAndPoured(t, page))
	require.True(t, stands())
	before := k.Effort()
	undone := accepted(t, undoes(poured))
	require.Equal(t, formtest.Effort{Presses: 1}, formtest.Effort{Presses: k.Effort().Presses - before.Presses,
		Entries: k.Effort().Entries - before.Entries})
	require.False(t, stands(), "the tray is empty again")
	require.Equal(t, setUpAt, undone.Address.Path)
	require.NotEmpty(t, undone.First(formtest.To("/shelf/enter/portion-poured")).Values().Get("from"), "the step asks for the bath again")
	require.False(t, offersUndo(undone))
	require.Contains(t, undone.Text(), "A correction is not undone")
	last := look(k.daemon, func(b *cards.ShelfBook) cards.ShelfRecord { return b.Records[len(b.Records)-1] })
	require.Equal(t, "Newcomer", last.By)
	require.Equal(t, "undone from the receipt", last.Act.(ledger.Correction).Reason)
}

// testedAndPoured does the test of the stop bath where the book asks for it, and pours.
func testedAndPoured(t *testing.T, page *formtest.Page) *formtest.Page {
	if slices.ContainsFunc(page.Forms(), formtest.Saying("yellow")) {
		page = accepted(t, page.First(formtest.Saying("yellow")).Press("yellow"))
	}
	return page.First(formtest.To("/shelf/enter/portion-poured")).Send()
}

func TestAReceiptOfAnAlarmThatWasPutAsidePutsItBack(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan; 1m stop fan")
	_, err := k.daemon.Do(k.ctx, rules.Command{Room: "practice", Person: "Ida", Act: rules.StartSession{Phase: session.Open}})
	require.NoError(t, err)
	k.evening.until(4 * time.Minute)
	page := k.Open("/rooms/practice/alarms")
	page = accepted(t, page.First(formtest.Doing("shelve")).FillIn("why", "the fan is being mended", "who", "Ida").Send())
	require.NotEmpty(t, aside(page))
	page = accepted(t, undoes(page))
	require.Empty(t, aside(page))
	require.False(t, offersUndo(page))
	require.Contains(t, page.Text(), "stays in the record")
}
