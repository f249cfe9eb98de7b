package dashboard_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/sensors/quantity/phrase"
)

const setUp = "/rooms/north/set-up"

// begins is the page of a set-up after somebody found the room in some way.
func (s *shelf) begins(found string, typed ...string) *formtest.Page {
	s.t.Helper()
	return s.opens(setUp).Form(formtest.Saying(found)).FillIn(typed...).Press(found)
}

// begun is the page of a set-up after the room was found as it should be, with some baths skipped.
func (s *shelf) begun(skipped ...string) *formtest.Page {
	s.t.Helper()
	page := s.begins("as it should be", "who", "Newcomer")
	s.sent(page)
	for range skipped {
		page = page.Follow("Skip this bath tonight")
	}
	return page
}

// The board leads to the take-down until the session has ended on the shelf.
func TestTheBoardSendsNobodyToATakeDownThatIsSignedOff(t *testing.T) {
	s := stocked(t)
	shows := func(page string, off bool) string {
		snap := *s.Now().Rooms[0]
		snap.Session.Phase, snap.Session.SignedOff = session.TakeDown, off
		s.Show(&snap)
		return s.page(page)
	}
	for _, page := range []string{"/", "/rooms/north/air"} {
		require.Contains(t, shows(page, false), "Go on taking down")
		require.NotContains(t, shows(page, true), "Go on taking down")
		require.Contains(t, shows(page, true), "Nothing to do.")
	}
}

// Where the room is still to be aired the set-up says so before the first bath, as the board does.
func TestASetUpSaysThatTheRoomIsStillToBeAired(t *testing.T) {
	s := stocked(t)
	s.begun()
	shows := func(p rules.PurgeView) string {
		snap := *s.Now().Rooms[0]
		p.Sentence, snap.Purge = phrase.Plain("Airing: about 47 min left."), &p
		s.Show(&snap)
		return s.page(setUp)
	}
	require.Contains(t, shows(rules.PurgeView{}), "Airing: about 47 min left.")
	for _, over := range []rules.PurgeView{{Done: true}, {After: true}} {
		require.NotContains(t, shows(over), "Airing:")
	}
}

// The next class of the evening has a session of its own, unless somebody says that the trays are filled again for this one.
func TestASetUpWhileTheRoomIsTakenDownAsksForTheSignOff(t *testing.T) {
	s := stocked(t)
	s.begun()
	snap := *s.Now().Rooms[0]
	snap.Baths = slices.Clone(snap.Baths)
	for i := range snap.Baths {
		snap.Baths[i].Portion = nil
	}
	snap.Session.Phase = session.TakeDown
	s.Show(&snap)
	s.opens(setUp).Says("Not signed off yet").Follow("Go on with this session").Says("Mix from PD bottle")
}

// Baths that stood over night are not "ready", and tonight's volunteer has a room to accept.
func TestASetUpOnTheDayAfterAForgottenTakeDownSaysSo(t *testing.T) {
	s := stocked(t)
	s.begun("developer", "stop", "fixer").Form(formtest.Doing("put-away")).Send()
	s.Clock.Advance(11 * time.Hour)
	require.Contains(t, s.page(setUp), "The baths are ready", "a long day")
	s.Clock.Advance(2 * time.Hour)
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
	s.book.Look(func(b *cards.ShelfBook) {
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
		requireWhole(t, page.Source)
		require.Equal(t, c.who, page.Form(formtest.Saying(c.found)).Values().Get("who"))
	}
	require.Contains(t, s.opens(setUp).Form(formtest.Saying("as it should be")).FillIn("who", "Newcomer").Enter().Problem(),
		"Say how you found the room")
	s.sent(s.begins("not as it should be", "who", "Newcomer", "words", "a wet floor"))
	s.book.Look(func(b *cards.ShelfBook) {
		require.Equal(t, []string{"not as it should be", "a wet floor"}, b.Found["north"].Lines)
	})
}

func TestAirComesBeforeChemistryAndGoingOnWithoutItIsOnRecord(t *testing.T) {
	s := stocked(t)
	still := viewtest.Usual()
	still.Duct = 0.02
	s.Minutes(3, still, viewtest.Values{})
	s.Publish()
	page := s.begun()
	page.Says("Switch the ventilation on before you pour anything")
	require.NotContains(t, page.Source, "/shelf/enter/batch-mixed")
	without := page.Form(formtest.Doing("air"))
	require.Contains(t, without.Send().Problem(), "Please fill in: Reason")
	require.Contains(t, s.sent(without.Fill("reason", "the duct probe is being cleaned").Send()), "/shelf/enter/batch-mixed")
	s.book.Look(func(b *cards.ShelfBook) {
		require.Equal(t, []string{"the duct probe is being cleaned"}, b.Found["north"].Lines)
		require.Contains(t, b.Found["north"].Air, "accepted: ")
	})
}

func TestASetUpOffersWhatStandsReadyTestsWhatIsInDoubtAndNeverPoursWhatIsSpent(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
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
	s.does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
		ledger.TestDone{Test: ledger.IodideTest, Container: "fixer jug", Seen: "cloudy"})
	text := s.read(s.begun("developer", "stop"))
	require.NotContains(t, text, "/shelf/enter/portion-poured")
	require.Regexp(t, `(?s)Mix from FX bottle.*Do not pour from fixer jug.*DISCARD`, text, "what may not be poured comes last")
}

func between(text, before, after string) string {
	_, rest, _ := strings.Cut(text, before)
	found, _, _ := strings.Cut(rest, after)
	return found
}

func TestASetUpInUSUnitsPoursTheTwoVolumesOfTeachingRooms(t *testing.T) {
	s := stocked(t)
	us := usUnits(t)
	s.Read(us)
	require.Regexp(t, `(?s)<strong>57.6</strong> <span class="numeral-unit">US fl oz</span>.*<strong>6.4</strong>.*<strong>64.0</strong>`,
		s.read(s.begun()), "6.4 + 57.6 US fl oz, common practice for a class")
	s = stocked(t)
	s.Read(us)
	require.Regexp(t, `(?s)<strong>43.2</strong>.*<strong>4.8</strong>.*<strong>48.0</strong>`, s.read(s.begins("as it should be", "who",
		"Newcomer", "fill", "one person")), "and for one person")
}

func TestATakeDownReturnsDiscardsBalancesAndLeavesANote(t *testing.T) {
	const takeDown = "/rooms/north/take-down"
	s := stocked(t)
	require.Contains(t, s.page(takeDown), "No session is open.</p>", "no tray is filled")
	s.does(ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"},
		ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
		ledger.PortionPoured{From: "fixer jug", To: "Fixer tray", Volume: 2000},
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 4, SheetArea: ledger.EightByTen},
		ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "clear"},
		ledger.BatchMixed{Batch: "D1", Name: "Developer", Product: "print-developer", Class: ledger.PrintDeveloper, Into: "Developer tray",
			Meant: ledger.FromConcentrate,
			From:  "PD bottle", ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House})
	text := s.page(takeDown)
	require.Contains(t, text, "<h2>Developer tray</h2>", "one vessel at a time")
	require.Contains(t, text, "does not keep overnight")
	text = s.sent(s.entry(takeDown, "discarded", "volume_ml", "1.9 L", "route", "foul drain, as the place allows", "who", "Bo").Send())
	require.Contains(t, text, "<h2>Fixer tray</h2>")
	require.Contains(t, text, "Silver-bearing: keep it apart.")
	require.Contains(t, text, "5.0 mg/L")
	require.Contains(t, text, "<strong>Return.</strong> The iodide precipitate test passed", "the verdict is said once")
	form := s.entry(takeDown, "returned", "volume_ml", "1900", "who", "Bo")
	require.Equal(t, "fixer jug", form.Values().Get("to"), "back to where it came from")
	text = s.sent(form.Send())
	require.Regexp(t, `(?s)print developer</th><td[^>]*>2000 mL</td><td[^>]*>0 mL</td><td[^>]*>1900 mL</td><td[^>]*>0 mL</td><td[^>]*>0 `+
		`mL</td><td[^>]*>0 mL</td><td[^>]*>100 mL \(5 %\)`, text, "mixed 2000, discarded 1900")
	require.Contains(t, text, "State: all trays and tanks are empty.")
	note := s.opens(takeDown).Form(formtest.Having("note")).FillIn("who", "Bo", "note", "  ")
	require.Contains(t, note.Press("all done").Problem(), "A note has one to 12 lines")
	s.does(ledger.ClosingListWritten{List: ledger.AfterTakeDown, Lines: []string{"Bench wiped"}})
	require.Contains(t, note.Fill("note", "State: all empty.").Press("all done").Problem(), "The list has changed")
	note = s.opens(takeDown).Form(formtest.Having("note")).FillIn("who", "Bo")
	require.Contains(t, note.Enter().Problem(), "Press the button that says whether", "the key Enter ends no session")
	require.Contains(t, s.sent(note.Fill("note", "State: all empty.\nFirst: wipe the bench 🙂").Press("all done")), "wipe the bench")
	text = s.page(setUp)
	require.Regexp(t, `(?s)Left by the last volunteer.*Bo.*First: wipe the bench`, text, "shown at the next set-up")
	s.book.Look(func(b *cards.ShelfBook) {
		session, ok := b.Session("north session")
		require.True(t, ok)
		require.False(t, session.Closed.IsZero())
		require.True(t, b.ClosingSigned(ledger.AfterTakeDown, session.ID), "and the list of the place is signed")
	})
}

func TestSheetsGoInByOnePressOfTheirSizeAndATimeIsAnnounced(t *testing.T) {
	s := stocked(t)
	s.does(mixed("F1", "Fixer tray", 200, 1800))
	const baths = "/rooms/north/baths"
	form := s.entry(baths, "sheets-used", "who", "Ada", "count", "5")
	require.Equal(t, []string{"Fixer tray"}, form.Values()["containers"])
	after := form.Press("8x10")
	require.Equal(t, baths, after.Address.Path)
	require.Contains(t, s.sent(after), "5 × 8x10 of resin-coated paper through Fixer tray")

	s.Begin()
	s.Publish()
	text := s.page(baths)
	require.Regexp(t, `Announce \d:\d\d`, text)
	s.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 9, Sentence: phrase.Plain("Record 9: announced.")}, nil
	})
	announce := s.opens(baths).Form(formtest.To("/rooms/north/announce")).Fill("who", "Ada")
	require.Contains(t, s.sent(announce.Send()), "Record 9: announced.")
	commands := s.Commands()
	announced, ok := commands[len(commands)-1].Act.(rules.AnnounceTime)
	require.True(t, ok)
	require.Equal(t, "developer", announced.Bath)
	require.InDelta(t, 120, announced.Seconds, 30)
}

func TestTheMixingTableWorksOutEveryQuestion(t *testing.T) {
	s := newShelf(t)
	big := func(value, unit string) string {
		return fmt.Sprintf(`<strong>%s</strong> <span class="numeral-unit">%s</span>`, value, unit)
	}
	text := s.worksOut("plan", "parts", "1+9", "make", "64floz")
	require.Contains(t, text, big("1703", "mL"))
	require.Contains(t, text, "6.4 + 57.6 = 64 US fl oz", "common practice for a class")
	require.Contains(t, text, "= 66.61 imp fl oz", "64 US fl oz x 29.5735 mL / 28.4131 mL")
	text = s.worksOut("plan", "parts", "1:10", "make", "2L")
	require.Regexp(t, `(?s)1\+9: 200 mL concentrate \+ 1800 mL water = 2000 mL.*1\+10: 181.8 mL concentrate \+ 1818.2 mL water = 2000 mL`,
		text)
	require.NotContains(t, text, "numeral-unit", "and nothing is worked out before one is chosen")
	require.Contains(t, text, `parts=1%2B10`)

	text = s.worksOut("water", "make", "2L", "hot", "50", "cold", "10", "target", "20")
	require.Contains(t, text, big("500", "mL"), "(20 - 10)/(50 - 10) of 2 L is hot")
	require.Contains(t, text, "comes to 20.0 °C")
	require.Contains(t, s.worksOut("water", "make", "2L", "hot", "50", "cold", "25", "target", "20"), "cannot be reached")

	text = s.worksOut("check", "parts", "1+9", "poured", "100", "water", "1000")
	require.Regexp(t, `(?s)CORRECT.*<strong>11</strong>`, text, "1100 mL at 1/11 lack 11.1 mL of concentrate for 1/10")
	require.Contains(t, text, "9.09 %; intended: 10 %")
	require.Contains(t, s.worksOut("check", "parts", "1+9", "poured", "100", "water", "1000", "vessel", "1.105 L"), "DISCARD")
	require.Contains(t, s.worksOut("check", "parts", "1+9", "poured", "100", "water", "900"), "USE IT")
	require.Contains(t, s.worksOut("percent", "stock", "28", "wanted", "1.5 %", "make", "1 L"), big("54", "mL"), "1000 x 1.5 / 28 = 53.6 mL")

	text = s.worksOut("session", "product", "rapid-fixer", "material", "fibre-based paper", "students", "10", "sheets", "8", "size",
		"8x10in", "tray", "2 L")
	require.Contains(t, text, big("5785", "mL"), "80 sheets at 80 a US gallon are 3785 mL, and 2 L in the tray")
	require.Contains(t, text, "The Darkroom Cookbook")
	for _, bad := range [][]string{{"plan", "parts", "", "make", "1L"}, {"plan", "parts", "1+9", "make", "lots"}, {"check", "parts", "1+9",
		"poured", "0", "water", "5"},
		{"percent", "stock", "5", "wanted", "28", "make", "1L"}, {"session", "product", "toner", "material", "film", "students", "1", "sheets",
			"1", "size", "8x10in", "tray", "1L"},
		{"water", "make", "1L", "hot", "warm", "cold", "10", "target", "20"}} {
		require.Contains(t, s.worksOut(bad[0], bad[1:]...), `role="alert"`, bad)
	}
}

func TestAClockOfTheBrowserThatIsWrongDoesNotMatter(t *testing.T) {
	s := stocked(t)
	s.enters("batch-mixed", fixerForm()...)
	s.book.Look(func(b *cards.ShelfBook) {
		batch, ok := b.Batch(b.Batches()[0])
		require.True(t, ok)
		require.WithinDuration(t, s.Clock.Now().Wall, batch.Mixed, time.Second, "the time is that of the program")
	})
}

// Whatever else can be done about a bath comes after the best way and its cautions; it comes
// first where nothing stands ready.
func TestASetUpOffersOtherWaysWhereTheyAreLookedFor(t *testing.T) {
	began := func(s *shelf) string {
		return s.read(s.begun())
	}
	require.Regexp(t, `(?s)Mix from PD bottle.*Wear goggles.*<summary>Another way</summary>.*Skip this bath tonight`, began(stocked(t)))
	bare := began(newShelf(t))
	require.Regexp(t, `(?s)Nothing on the shelf for this bath yet. What do you have\?.*<h3>Ready-to-use bottle</h3>.*<h3>Mix from a `+
		`bottle of concentrate</h3>.*`+
		`<h3>It is already in the tray</h3>.*Wear goggles.*<summary>Another way</summary>.*I have a bottle that is not listed`, bare)
}

// A bottle that passed its test in this session is poured; one that passed in an earlier session is tested again.
func TestAPassedTestLeadsToThePourForTheSessionInWhichItWasDone(t *testing.T) {
	s := newShelf(t)
	page := s.begun("developer", "stop").Form(formtest.Having("new_vessel")).FillIn("new_vessel", "fixer jug", "water_ml", "2 L").Send()
	s.Clock.Advance(time.Minute)
	page = page.Form(formtest.Having("test", string(ledger.IodideTest))).Press("clear")
	require.Contains(t, page.Text(), "Its test was passed.")
	require.NotContains(t, page.Text(), "Does a precipitate form?")
	poured := s.opens(page.Address.String()).First(formtest.To("/shelf/enter/portion-poured")).Send().Text()
	require.Contains(t, poured, "fixer jug: its test was passed in this session, and its strength is known by its label alone")
	require.NotContains(t, poured, "fixer jug: test first")
	for _, page := range []string{"/shelf", "/rooms/north/baths"} { // nobody is asked for the test that was just passed
		require.Regexp(t, `(?s)TESTED.*The iodide precipitate test passed \d+ min ago, no sheet since\.`, s.page(page), page)
	}
	s.Clock.Advance(time.Minute)
	s.does(ledger.Returned{From: "Fixer tray", To: "fixer jug", Volume: 2000, Emptied: true})
	s.does(ledger.SessionClosed{Session: "north session 2026-01-15 a"}, ledger.SessionOpened{Session: "next", Title: "Next class", Lead: "Ada"})
	s.opens(setUp).Follow("Skip this bath tonight").Follow("Skip this bath tonight").Says("Does a precipitate form?")
}

// Used and never tested: the board and the shelf say so, and so does the page of the baths, whether work is booked or not.
func TestTheBathsSayThatABathIsToBeTestedFirst(t *testing.T) {
	s := stocked(t)
	s.does(mixed("F1", "Fixer tray", 200, 1800))
	require.NotContains(t, s.page("/rooms/north/baths"), "TEST FIRST")
	s.does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 22, SheetArea: ledger.EightByTen})
	for _, page := range []string{"/shelf", "/rooms/north/baths"} {
		require.Regexp(t, `(?s)TEST FIRST.*Used and never tested`, s.page(page), page)
	}
}

// The trays are seen to in the order in which sheets go through them, and nobody chooses among no waste containers.
func TestATakeDownGoesAlongTheTrays(t *testing.T) {
	s := stocked(t)
	s.does(ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.BathFound{Batch: "S1", Name: "stop bath", Class: ledger.StopBath, Container: "Stop bath tray", Volume: 1000},
		ledger.BathFound{Batch: "D1", Name: "developer", Class: ledger.PrintDeveloper, Container: "Developer tray", Volume: 1000})
	page := s.opens("/rooms/north/take-down")
	require.Regexp(t, `(?s)Developer tray.*Stop bath tray.*Fixer tray.*Note for the next volunteer`, page.Text())
	discard := page.Form(formtest.To("/shelf/enter/discarded"))
	require.NotContains(t, discard.Shown(), "to", "no waste container is for developer")
	s.sent(discard.Fill("route", "foul drain, as the place allows").Fill("who", "Ada").Send())
}

// A bath of a take-down is tested where it is seen to: one press records what was seen, and the same page goes on with
// the bath and its volume.
func TestABathIsTestedWithinItsTakeDown(t *testing.T) {
	const takeDown = "/rooms/north/take-down"
	for seen, next := range map[string]string{"clear": "<h3>Back to storage</h3>", "cloudy": "<h3>Discard</h3>"} {
		s := stocked(t)
		s.does(ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"},
			ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
			ledger.PortionPoured{From: "fixer jug", To: "Fixer tray", Volume: 2000},
			ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 22, SheetArea: ledger.EightByTen})
		page := s.opens(takeDown)
		require.Regexp(t, `(?s)Test it first.*Does a precipitate form\?.*passed: it may go back to storage`, page.Text())
		after := page.Form(formtest.Having("test", string(ledger.IodideTest))).Fill("who", "Bo").Press(seen)
		require.Equal(t, takeDown, after.Address.Path)
		text := s.sent(after)
		require.Contains(t, text, next, seen)
		require.Equal(t, seen == "cloudy", strings.Contains(text, "Back to storage all the same"), seen)
		form := after.Form(formtest.To("/shelf/enter/returned"))
		require.Equal(t, []string{"2000 mL", "Bo"}, []string{form.Values().Get("volume_ml"), form.Values().Get("who")})
	}
}

// A bath that fails its test is not the end of a set-up: what else there is is asked for at once, and the form that discards
// the bath knows how much that is and why.
func TestABathThatFailsItsTestGivesWayToAnother(t *testing.T) {
	s := newShelf(t)
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
	s.book.Look(func(b *cards.ShelfBook) {
		_, holds := b.Contents("stop jug", b.At)
		require.False(t, holds)
	})
}

// A volume that can't be read comes back at its own door, not in the form of all that a batch can have.
func TestAMistypedVolumeComesBackAtTheDoorThroughWhichItCame(t *testing.T) {
	page := newShelf(t).begun().Form(formtest.Having("new_vessel")).FillIn("new_vessel", "jug", "water_ml", "two jugs").Send()
	require.Contains(t, page.Problem(), `Volume in it: "two jugs" is not a volume.`)
	door := page.Form(formtest.Having("new_vessel"))
	require.Equal(t, "two jugs", door.Values().Get("water_ml"))
	require.Contains(t, page.Text(), "Ready-to-use bottle")
	require.Empty(t, door.Fill("water_ml", "2 L").Send().Problem())
}

func TestASetUpSaysBeforeAnythingIsPouredWhetherThereIsEnough(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 130, 1170))
	text := s.page(setUp)
	class := between(text, `data-fill="class">`, "</ul>")
	require.Regexp(t, `(?s)<strong>Developer</strong>.*1800 mL of water \+ 200 mL of concentrate, of 2000 mL on hand.*`+
		`class="enough-part" width="10".*✓ enough to mix`, class, "a tenth of what is there")
	require.Regexp(t, `(?s)<strong>Stop bath</strong>.*enter its dilution when you mix`, class)
	require.Regexp(t, `(?s)<strong>Fixer</strong>.*1300 mL from fixer jug; 630 mL of water \+ 70 mL of concentrate.*✓ enough to mix`,
		class)
	require.Contains(t, between(text, `data-fill="one person">`, "</ul>"), "150 mL of concentrate")
	require.Contains(t, text, "One person: 1500 mL in each tray")
	bare := newShelf(t)
	text = bare.page(setUp)
	require.Contains(t, text, "! you add a bottle at this step")
	require.Contains(t, text, `class="enough-part" width="0"`)
	bare.does(ledger.LotReceived{Lot: "small", Product: "print-developer", Class: ledger.PrintDeveloper, Units: 1, UnitVolume: 100,
		Owner: ledger.House})
	require.Regexp(t, `(?s)data-fill="class">.*<li class="short"><strong>Developer</strong>.*class="enough-part" width="50".*! 1000 mL short`,
		bare.page(setUp), "half of what tonight takes")
}

func TestATrayThatIsNotFullIsFilledUpFromStorageAndThenFromConcentrate(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 100, 900))
	page := s.begun("developer", "stop").Form(formtest.To("/shelf/enter/portion-poured")).Send()
	text := s.sent(page)
	require.Contains(t, text, "1000 mL of 2000 mL in the tray: fill it up.")
	require.Regexp(t, `(?s)Water first</span> <strong>900</strong>.*Then concentrate</span> <strong>100</strong>`, text)
	require.NotContains(t, text, "It is already in the tray", "what is in the tray is known")
	require.Contains(t, s.sent(page.Form(formtest.To("/shelf/enter/topped-up")).Send()), "<h2>Put away</h2>")
	s.book.Look(func(b *cards.ShelfBook) {
		held, ok := b.InTray("fixer", b.At)
		require.True(t, ok)
		require.InDelta(t, 2000, float64(held.Volume), 0.1)
	})
}

func TestThePitcherOfAChemicalIsNamedAndRecordedAndAnotherIsRefused(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "blue pitcher", Vessel: ledger.Pitcher, Capacity: 2000, KeptFor: ledger.PrintDeveloper},
		ledger.ContainerNamed{Container: "green pitcher", Vessel: ledger.Pitcher, Capacity: 2000, KeptFor: ledger.Fixer})
	whole := s.entry("/shelf/enter/batch-mixed", "batch-mixed", "who", "Ada", "product", "print-developer", "meant", "concentrate", "from",
		"PD bottle",
		"aim", "1+9", "parent_ml", "100 mL", "water_ml", "900 mL", "into", "Developer tray", "with", "green pitcher")
	require.Contains(t, whole.Send().Problem(), "green pitcher is kept for fixer and this is print developer")

	page := s.begun()
	page.Says("Measure with blue pitcher")
	s.sent(page.First(formtest.To("/shelf/enter/batch-mixed")).Send())
	s.book.Look(func(b *cards.ShelfBook) {
		mix, ok := b.LastMix("print-developer")
		require.True(t, ok)
		require.Equal(t, "blue pitcher", mix.With)
	})
}

// A form that offered both lists beside the lines of one let the lines of a take-down be signed as done after a set-up.
func TestAClosingListIsChosenBeforeItsLinesAreShown(t *testing.T) {
	signing := formtest.To("/shelf/enter/closing-list-signed")
	page := formtest.On(t, stocked(t).Server).Open("/shelf/enter/closing-list-signed")
	require.Empty(t, page.Forms(), "no list can be signed before it is chosen")
	for list, line := range map[string]string{"After set-up": "Cupboard locked", "After take-down": "Chemicals locked up"} {
		require.Contains(t, page.Follow(list).Form(signing).Values().Get("lines"), line)
	}
}

func TestThePlaceWritesTheListThatEndsASetUp(t *testing.T) {
	s := stocked(t)
	page := s.begun("developer", "stop", "fixer").Follow("Change this list")
	page = page.Form(formtest.To("/shelf/enter/closing-list-written")).FillIn("who", "Newcomer", "lines",
		"Key back to the porter\nLights checked").Send()
	text := s.sent(page)
	require.Regexp(t, `(?s)<li>Key back to the porter</li><li>Lights checked</li>`, text)
	require.NotContains(t, text, "Cupboard locked")
	s.does(ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: []string{"Key back to the office", "Lights checked"}})
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
	s.book.Look(func(b *cards.ShelfBook) { require.Equal(t, ledger.Pour, b.MayPour("Developer tray", b.At).Verdict) })
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
	s.does(ledger.Discarded{Container: "PD bottle", Volume: 900, Route: "sink", Reason: "spilt"})
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

func TestAFailedTestLeadsToItsPrintsFromTheReceipt(t *testing.T) {
	s := stocked(t)
	s.does(ledger.SessionOpened{Session: "evening", Title: "Invented class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen})
	test := func(seen string) *formtest.Page {
		return s.opens("/shelf/enter/test-done?container=Fixer+tray&test="+url.QueryEscape(string(ledger.IodideTest))).
			Form(formtest.To("/shelf/enter/test-done")).FillIn("seen", seen, "who", "Ada").Send()
	}
	require.NotContains(t, s.read(test("clear")), "Which prints are affected")
	s.does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen})
	require.Contains(t, s.read(test("cloudy").Follow("Which prints are affected")), "Invented class")
}

// From the page of the tests to what shelf and list say afterwards. A print tells nothing of how far the bath had gone.
func TestAStainOnAPrintIsRecordedFromThePageOfTests(t *testing.T) {
	s := stocked(t)
	s.does(ledger.SessionOpened{Session: "evening", Title: "Invented class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
	require.NotRegexp(t, `(?s)Fixer tray</a>.*?TEST FIRST`, s.page("/shelf"))
	record := regexp.MustCompile(`href="([^"]*test=residual\+silver)">Record the result`).FindStringSubmatch(s.page("/shelf/tests"))
	require.Len(t, record, 2)
	form := s.opens(strings.ReplaceAll(record[1], "&amp;", "&")).Form(formtest.To("/shelf/enter/test-done"))
	require.Contains(t, s.read(form.FillIn("who", "Ada").Send()), "No result of this test is given. Choose one of: no stain, stain.")
	receipt := form.FillIn("who", "Ada", "seen", "stain").Send()
	require.Contains(t, s.read(receipt), "Residual silver test of finished prints: stain (failed)")
	require.Contains(t, s.page("/shelf"), "The residual silver test of finished prints failed")
	require.Regexp(t, `(?s)Fixer tray</a>.*?TEST FIRST.*?A print fixed in it failed the residual silver test`, s.page("/shelf"))
	affected := s.read(receipt.Follow("Which prints are affected"))
	require.Contains(t, affected, "Invented class")
	require.NotContains(t, affected, "100")
}
