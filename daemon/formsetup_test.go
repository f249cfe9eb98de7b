package daemon_test

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/northtest"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
)

// begins is the page of a set-up after somebody found the room in some way.
func (s *north) begins(found string, typed ...string) *formtest.Page {
	s.t.Helper()
	return s.opens(setUp).Form(formtest.Saying(found)).FillIn(typed...).Press(found)
}

// begun is the page of a set-up after the room was found as it should be, with some baths skipped.
func (s *north) begun(skipped ...string) *formtest.Page {
	s.t.Helper()
	page := s.begins("as it should be", "who", "Newcomer")
	s.sent(page)
	for range skipped {
		page = page.Follow("Skip this bath tonight")
	}
	return page
}

// Baths that stood over night are not "ready", and tonight's volunteer has a room to accept.
func TestASetUpOnTheDayAfterAForgottenTakeDownSaysSo(t *testing.T) {
	s := stocked(t)
	s.begun("developer", "stop", "fixer").Form(formtest.Doing("put-away")).Send()
	s.Passes(11 * time.Hour)
	require.Contains(t, s.page(setUp), "The baths are ready", "a long day")
	s.Passes(2 * time.Hour)
	page := s.opens(setUp)
	page.Says("has been open since")
	require.NotContains(t, page.Source, "The baths are ready")
	page.Follow("Go on with this session").Says("Mix from PD bottle")
	page.Follow("Take down").Form(formtest.Saying("all done")).FillIn("who", "Ida").Press("all done")
	require.NotNil(t, s.opens(setUp).Form(formtest.Saying("as it should be")))
}

func TestASetUpAsksOneThingAtATimeAndIsDoneInAFewEntries(t *testing.T) {
	s := stocked(t)
	text := s.page(setUp)
	require.Contains(t, text, "How did you find the room?")
	require.NotContains(t, text, "Pour concentrate into water", "nothing is poured before the room was looked at")
	page := s.begun()
	presses := 1
	text = s.read(page)
	require.Contains(t, text, "session", "the session is begun with the same entry")
	for _, tray := range []string{"Developer", "Stop bath", "Fixer"} {
		require.Contains(t, text, `<h2>`+tray+`</h2>`, "in the order in which the place pours")
		if tray == "Stop bath" { // no dilution of it is in the catalogue
			require.Contains(t, text, "Dilution, as on the label")
			dilution := page.Form(formtest.Having("parts"))
			colon := s.read(dilution.Fill("parts", "1:20").Send())
			require.Regexp(t, `(?s)1\+19: 100 mL concentrate.*1\+20: 95.2 mL concentrate`, colon, "a bare ratio is asked about")
			page = dilution.Fill("parts", "1+19").Send()
			require.Regexp(t, `(?s)<strong>1900</strong>.*<strong>100</strong>`, s.read(page))
		} else {
			require.Contains(t, text, "Recorded as Newcomer.")
			require.Regexp(t, `(?s)Water first</span> <strong>1800</strong>.*Then concentrate</span> <strong>200</strong>`, text)
		}
		page = page.First(formtest.To("/shelf/enter/batch-mixed")).Send()
		presses++
		text = s.sent(page)
	}
	require.NotContains(t, text, "The baths are ready", "concentrate still stands about")
	require.Contains(t, text, "Cupboard locked")
	require.Contains(t, s.sent(page.Form(formtest.Doing("put-away")).Send()), "The baths are ready")
	require.LessOrEqual(t, presses, 8)
	s.look(func(b *cards.ShelfBook) {
		for _, bath := range []string{"developer", "stop", "fixer"} {
			held, ok := b.InTray(bath, b.At)
			require.True(t, ok, bath)
			require.InDelta(t, 2000, float64(held.Volume), 0.1)
		}
		require.Equal(t, []string{"as it should be"}, b.Found["north"].Lines)
		require.Equal(t, "moving", b.Found["north"].Air)
	})
}

func TestARoomThatWasNotFoundWellNeedsWordsAndKeepsThem(t *testing.T) {
	s := stocked(t)
	for _, c := range []struct{ found, who, want string }{
		{"as it should be", "", "Please fill in: Your name"},
		{"not as it should be", "Newcomer", "Please fill in: Notes"},
	} {
		page := s.begins(c.found, "who", c.who)
		require.Equal(t, http.StatusUnprocessableEntity, page.Status)
		require.Contains(t, page.Problem(), c.want)
		formtest.Whole(t, page.Source)
		require.Equal(t, c.who, page.Form(formtest.Saying(c.found)).Values().Get("who"))
	}
	require.Contains(t, s.opens(setUp).Form(formtest.Saying("as it should be")).FillIn("who", "Newcomer").Enter().Problem(),
		"Say how you found the room")
	s.sent(s.begins("not as it should be", "who", "Newcomer", "words", "a wet floor"))
	s.look(func(b *cards.ShelfBook) {
		require.Equal(t, []string{"not as it should be", "a wet floor"}, b.Found["north"].Lines)
	})
}

func TestAirComesBeforeChemistryAndGoingOnWithoutItIsOnRecord(t *testing.T) {
	s := stocked(t)
	still := northtest.Usual()
	still.Duct = 0.02
	s.Minutes(3, still)
	page := s.begun()
	page.Says("Switch the ventilation on before you pour anything")
	require.NotContains(t, page.Source, "/shelf/enter/batch-mixed")
	without := page.Form(formtest.Doing("air"))
	require.Contains(t, without.Send().Problem(), "Please fill in: Reason")
	require.Contains(t, s.sent(without.Fill("reason", "the duct probe is being cleaned").Send()), "/shelf/enter/batch-mixed")
	s.look(func(b *cards.ShelfBook) {
		require.Equal(t, []string{"the duct probe is being cleaned"}, b.Found["north"].Lines)
		require.Contains(t, b.Found["north"].Air, "accepted: ")
	})
}

func TestASetUpOffersWhatStandsReadyTestsWhatIsInDoubtAndNeverPoursWhatIsSpent(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
		ledger.PortionPoured{From: "fixer jug", To: "Fixer tray", Volume: 2000},
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 4, SheetArea: ledger.EightByTen},
		ledger.Returned{From: "Fixer tray", To: "fixer jug", Volume: 1950, Emptied: true})
	page := s.begun("developer", "stop")
	require.Regexp(t, `(?s)Pour from fixer jug.*TEST FIRST.*Mix from FX bottle`, s.read(page))
	require.Contains(t, page.Text(), "Measure exactly 100 mL of the bath into a clean glass.")
	require.Contains(t, page.Text(), "The Darkroom Cookbook")
	require.Regexp(t, `(?s)name="seen" value="clear".*passed: it may be poured.*name="seen" value="cloudy".*spent: do not pour it`,
		page.Source)
	nameless := s.opens(setUp + "?who=&skip=developer&skip=stop").Form(formtest.To("/shelf/enter/test-done")).Press("clear")
	require.Contains(t, nameless.Problem(), "Your name")
	require.Contains(t, nameless.Source, "<h1>Set-up</h1>", "a touch without a name leaves the page no more than any other")
	page = page.Form(formtest.To("/shelf/enter/test-done")).Press("clear")
	require.Equal(t, setUp, page.Address.Path, "and back to the set-up")
	require.Regexp(t, `(?s)Pour from fixer jug.*POUR.*<strong>1950</strong>`, s.read(page))
	page.First(formtest.To("/shelf/enter/portion-poured")).Send().Says("Put away")

	s = stocked(t)
	s.Does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
		ledger.TestDone{Test: ledger.IodideTest, Container: "fixer jug", Seen: "cloudy"})
	text := s.read(s.begun("developer", "stop"))
	require.NotContains(t, text, "/shelf/enter/portion-poured")
	require.Regexp(t, `(?s)Mix from FX bottle.*Do not pour from fixer jug.*DISCARD`, text, "what may not be poured comes last")
}

func TestASetUpInUSUnitsPoursTheTwoVolumesOfTeachingRooms(t *testing.T) {
	s := stocked(t, usUnits)
	require.Regexp(t, `(?s)<strong>57.6</strong> <span class="numeral-unit">US fl oz</span>.*<strong>6.4</strong>.*<strong>64.0</strong>`,
		s.read(s.begun()), "6.4 + 57.6 US fl oz, common practice for a class")
	s = stocked(t, usUnits)
	require.Regexp(t, `(?s)<strong>43.2</strong>.*<strong>4.8</strong>.*<strong>48.0</strong>`, s.read(s.begins("as it should be", "who",
		"Newcomer", "fill", "one person")), "and for one person")
}

func TestAClockOfTheBrowserThatIsWrongDoesNotMatter(t *testing.T) {
	s := stocked(t)
	s.enters("batch-mixed", fixerForm()...)
	s.look(func(b *cards.ShelfBook) {
		batch, ok := b.Batch(b.Batches()[0])
		require.True(t, ok)
		require.WithinDuration(t, s.Clock.Now().Wall, batch.Mixed, time.Second, "the time is that of the program")
	})
}

// Whatever else can be done about a bath comes after the best way and its cautions; it comes
// first where nothing stands ready.
func TestASetUpOffersOtherWaysWhereTheyAreLookedFor(t *testing.T) {
	began := func(s *north) string {
		return s.read(s.begun())
	}
	require.Regexp(t, `(?s)Mix from PD bottle.*Wear goggles.*<summary>Another way</summary>.*Skip this bath tonight`, began(stocked(t)))
	bare := began(newNorth(t))
	require.Regexp(t, `(?s)Nothing on the shelf for this bath yet. What do you have\?.*<h3>Ready-to-use bottle</h3>.*<h3>Mix from a `+
		`bottle of concentrate</h3>.*`+
		`<h3>It is already in the tray</h3>.*Wear goggles.*<summary>Another way</summary>.*I have a bottle that is not listed`, bare)
}

// A bottle that passed its test in this session is poured; one that passed in an earlier session is tested again.
func TestAPassedTestLeadsToThePourForTheSessionInWhichItWasDone(t *testing.T) {
	s := newNorth(t)
	page := s.begun("developer", "stop").Form(formtest.Having("new_vessel")).FillIn("new_vessel", "fixer jug", "water_ml", "2 L").Send()
	s.Passes(time.Minute)
	page = page.Form(formtest.Having("test", string(ledger.IodideTest))).Press("clear")
	require.Contains(t, page.Text(), "Its test was passed.")
	require.NotContains(t, page.Text(), "Does a precipitate form?")
	poured := s.opens(page.Address.String()).First(formtest.To("/shelf/enter/portion-poured")).Send().Text()
	require.Contains(t, poured, "fixer jug: its test was passed in this session, and its strength is known by its label alone")
	require.NotContains(t, poured, "fixer jug: test first")
	for _, page := range []string{"/shelf", "/rooms/north/baths"} { // nobody is asked for the test that was just passed
		require.Regexp(t, `(?s)TESTED.*The iodide precipitate test passed \d+ min ago, no sheet since\.`, s.page(page), page)
	}
	s.Passes(time.Minute)
	s.Does(ledger.Returned{From: "Fixer tray", To: "fixer jug", Volume: 2000, Emptied: true})
	s.Does(ledger.SessionClosed{Session: "north session 2026-01-15 a"},
		ledger.SessionOpened{Session: "next", Title: "Next class", Lead: "Ada"})
	s.opens(setUp).Follow("Skip this bath tonight").Follow("Skip this bath tonight").Says("Does a precipitate form?")
}

// A bath that fails its test is not the end of a set-up: what else there is is asked for at once, and the form that discards
// the bath knows how much that is and why.
func TestABathThatFailsItsTestGivesWayToAnother(t *testing.T) {
	s := newNorth(t)
	page := s.begun("developer").Form(formtest.Having("new_vessel")).FillIn("new_vessel", "stop jug", "water_ml", "1,5 L").Send()
	page = page.Form(formtest.Having("test", string(ledger.StopColourTest))).Press("purple")
	text := s.read(page)
	require.Regexp(t, `(?s)What else do you have\?.*<h3>Mix from a bottle of concentrate</h3>.*`+
		`<summary>Do not pour from stop jug</summary>`, text)
	discard := page.Follow("Discard").Form(formtest.To("/shelf/enter/discarded"))
	require.Equal(t, "1500 mL", discard.Values().Get("volume_ml"))
	require.Equal(t, "it failed its test", discard.Values().Get("reason"))
	require.NotContains(t, s.page("/shelf/stop%20jug"), "/shelf/enter/portion-poured", "nobody is asked to pour it")
	s.sent(discard.Fill("route", "as the place allows").Send())
	s.look(func(b *cards.ShelfBook) {
		_, holds := b.Contents("stop jug", b.At)
		require.False(t, holds)
	})
}

// A volume that can't be read comes back at its own door, not in the form of all that a batch can have.
func TestAMistypedVolumeComesBackAtTheDoorThroughWhichItCame(t *testing.T) {
	page := newNorth(t).begun().Form(formtest.Having("new_vessel")).FillIn("new_vessel", "jug", "water_ml", "two jugs").Send()
	require.Contains(t, page.Problem(), `Volume in it: "two jugs" is not a volume.`)
	door := page.Form(formtest.Having("new_vessel"))
	require.Equal(t, "two jugs", door.Values().Get("water_ml"))
	require.Contains(t, page.Text(), "Ready-to-use bottle")
	require.Empty(t, door.Fill("water_ml", "2 L").Send().Problem())
}

func TestATrayThatIsNotFullIsFilledUpFromStorageAndThenFromConcentrate(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 100, 900))
	page := s.begun("developer", "stop").Form(formtest.To("/shelf/enter/portion-poured")).Send()
	text := s.sent(page)
	require.Contains(t, text, "1000 mL of 2000 mL in the tray: fill it up.")
	require.Regexp(t, `(?s)Water first</span> <strong>900</strong>.*Then concentrate</span> <strong>100</strong>`, text)
	require.NotContains(t, text, "It is already in the tray", "what is in the tray is known")
	require.Contains(t, s.sent(page.Form(formtest.To("/shelf/enter/topped-up")).Send()), "<h2>Put away</h2>")
	s.look(func(b *cards.ShelfBook) {
		held, ok := b.InTray("fixer", b.At)
		require.True(t, ok)
		require.InDelta(t, 2000, float64(held.Volume), 0.1)
	})
}

func TestThePitcherOfAChemicalIsNamedAndRecordedAndAnotherIsRefused(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.ContainerNamed{Container: "blue pitcher", Vessel: ledger.Pitcher, Capacity: 2000, KeptFor: ledger.PrintDeveloper},
		ledger.ContainerNamed{Container: "green pitcher", Vessel: ledger.Pitcher, Capacity: 2000, KeptFor: ledger.Fixer})
	whole := s.entry("/shelf/enter/batch-mixed", "batch-mixed", "who", "Ada", "product", "print-developer", "meant", "concentrate", "from",
		"PD bottle",
		"aim", "1+9", "parent_ml", "100 mL", "water_ml", "900 mL", "into", "Developer tray", "with", "green pitcher")
	require.Contains(t, whole.Send().Problem(), "green pitcher is kept for fixer and this is print developer")

	page := s.begun()
	page.Says("Measure with blue pitcher")
	s.sent(page.First(formtest.To("/shelf/enter/batch-mixed")).Send())
	s.look(func(b *cards.ShelfBook) {
		mix, ok := b.LastMix("print-developer")
		require.True(t, ok)
		require.Equal(t, "blue pitcher", mix.With)
	})
}

func TestThePlaceWritesTheListThatEndsASetUp(t *testing.T) {
	s := stocked(t)
	page := s.begun("developer", "stop", "fixer").Follow("Change this list")
	page = page.Form(formtest.To("/shelf/enter/closing-list-written")).FillIn("who", "Newcomer", "lines",
		"Key back to the porter\nLights checked").Send()
	text := s.sent(page)
	require.Regexp(t, `(?s)<li>Key back to the porter</li><li>Lights checked</li>`, text)
	require.NotContains(t, text, "Cupboard locked")
	s.Does(ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: []string{"Key back to the office", "Lights checked"}})
	changed := page.Form(formtest.Doing("put-away")).Send()
	require.Contains(t, changed.Problem(), "The list has changed since this page was shown")
	changed.Says("Key back to the office")
	ready := changed.Form(formtest.Doing("put-away")).Send()
	require.Contains(t, s.sent(ready), "The baths are ready")
	ready.Follow("Fill another tray").Says("Mix from PD bottle")
}

// A mix that surely is not as it was meant is not done: its tray is put right first, by the amount that the receipt names.
func TestASetUpStaysAtATrayWhoseMixIsNotAsMeant(t *testing.T) {
	s := stocked(t)
	mix := s.begun().First(formtest.To("/shelf/enter/batch-mixed"))
	page := mix.Fill("parent_ml", "100 mL").Fill("water_ml", "1900 mL").Send()
	text := s.sent(page)
	require.Contains(t, text, "50 % too weak: add 111.1 mL of concentrate")
	require.Contains(t, text, "<h2>Developer</h2>", "the set-up stays at this tray")
	require.Regexp(t, `(?s)Put the mix right.*Add concentrate</span> <strong>111</strong>.*Start again`, text)
	require.NotContains(t, text, "Pour from", "nothing else goes into this tray")
	require.Contains(t, text, "100 mL from PD bottle and 1900 mL of water, into Developer tray. 50 % too weak")
	text = s.sent(page.First(formtest.To("/shelf/enter/topped-up")).Send())
	require.Contains(t, text, "<h2>Stop bath</h2>")
	s.look(func(b *cards.ShelfBook) { require.Equal(t, ledger.Pour, b.MayPour("Developer tray", b.At).Verdict) })
}

// Too strong by what was in the bottle: with its last drop gone, and a bottle closed, water is still all that it takes. The
// step had the tray filled up with as much again of the usual mix, and stayed half as strong again.
func TestAMixThatIsTooStrongTakesWaterWhenItsBottleIsEmpty(t *testing.T) {
	s := stocked(t)
	mix := s.begun().First(formtest.To("/shelf/enter/batch-mixed"))
	text := s.sent(mix.Fill("parent_ml", "1000 mL").Fill("water_ml", "6000 mL").Send())
	require.Regexp(t, `(?s)Put the mix right.*Add water</span> <strong>3000</strong>`, text)
	require.NotContains(t, text, "fill it up")
	require.NotContains(t, text, "Open a bottle of")
}

// Too weak, with no open bottle left: another one is opened for it.
func TestAMixThatIsTooWeakHasABottleOpenedForIt(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.Discarded{Container: "PD bottle", Volume: 900, Route: "sink", Reason: "spilt"})
	mix := s.begun().First(formtest.To("/shelf/enter/batch-mixed"))
	page := mix.Fill("parent_ml", "100 mL").Fill("water_ml", "1900 mL").Send()
	text := s.sent(page)
	require.Contains(t, text, "50 % too weak, and nothing stronger is to hand")
	require.Contains(t, text, "Open a bottle of PD bottle lot")
	require.NotContains(t, text, "the parent at 100 %", "concentrate is concentrate down to the last drop of its bottle")
	require.NotContains(t, text, "fill it up")
}

// What was mixed right and typed wrong is corrected, not repaired: the step names what was recorded, and leads to it and back.
func TestASetUpLeadsToTheEntryThatWasTypedWrong(t *testing.T) {
	s := stocked(t)
	mix := s.begun().First(formtest.To("/shelf/enter/batch-mixed"))
	for _, typed := range []string{"1.8", "18"} { // millilitres, where litres and more were meant
		wrong := mix.Fill("parent_ml", "200 mL").Fill("water_ml", typed).Send()
		require.Contains(t, s.sent(wrong), "It was typed wrong, but mixed right")
		mix = wrong.Follow("Correct the entry").First(formtest.To("/shelf/enter/batch-mixed")).Fill("because", "typed without its unit")
		require.Equal(t, "200 mL", mix.Values().Get("parent_ml"))
	}
	right := mix.Fill("water_ml", "1.8 L").Send()
	require.Contains(t, s.sent(right), "<h2>Stop bath</h2>", "back in the set-up, at the next bath")
}

// A step that was refused is seen again as it was typed, on its own page and not on the long form of the shelf.
func TestARefusedStepComesBackOnItsPage(t *testing.T) {
	s := stocked(t)
	page := s.begun()
	refused := page.First(formtest.To("/shelf/enter/batch-mixed")).Fill("water_ml", "a jug").Send()
	require.Equal(t, http.StatusUnprocessableEntity, refused.Status)
	require.Contains(t, refused.Problem(), "a jug")
	require.Contains(t, refused.Source, "<h1>Set-up</h1>")
	require.NotContains(t, refused.Source, "Starting from")
	again := refused.First(formtest.To("/shelf/enter/batch-mixed"))
	require.Equal(t, "a jug", again.Values().Get("water_ml"))
	require.Contains(t, s.sent(again.Fill("water_ml", "1800 mL").Send()), "<h2>Stop bath</h2>")

	down := s.opens("/rooms/north/take-down?who=Ida")
	refused = down.First(formtest.To("/shelf/enter/discarded")).Fill("volume_ml", "some").Send()
	require.Equal(t, http.StatusUnprocessableEntity, refused.Status)
	require.Contains(t, refused.Source, "<h1>Take-down</h1>")
	require.Equal(t, "some", refused.First(formtest.To("/shelf/enter/discarded")).Values().Get("volume_ml"))
}

func TestAnotherAmountIsMixedInOneFieldAndTheTrayIsDone(t *testing.T) {
	s := stocked(t)
	page := s.begun()
	amount := page.Form(formtest.Having("amount"))
	for _, wrong := range []string{"9 L", "0 mL", "a jug"} {
		require.NotContains(t, s.read(amount.Fill("amount", wrong).Send()), "<strong>1350</strong>", wrong)
		require.Contains(t, s.read(amount.Fill("amount", wrong).Send()), `role="alert"`, wrong)
	}
	page = amount.Fill("amount", "1.5 L").Send()
	require.Regexp(t, `(?s)<h2>Developer</h2>.*<strong>1350</strong>.*<strong>150</strong>`, s.read(page))
	mix := formtest.To("/shelf/enter/batch-mixed")
	refused := page.First(mix).Fill("water_ml", "a jug").Send()
	require.Equal(t, "a jug", refused.First(mix).Values().Get("water_ml"), "a refused step comes back with its amount")
	red := refused.Follow("Safelight view")
	require.Regexp(t, `(?s)<h2>Developer</h2>.*<strong>1350</strong>`, s.read(red), "the look is changed on the page of the step")
	text := s.read(page.First(mix).Send())
	require.Contains(t, text, "<h2>Stop bath</h2>", "the tray is not asked to be filled up")
	require.Contains(t, text, "1500 mL")
}
