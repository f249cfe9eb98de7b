package dashboard_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/sensors/quantity/phrase"
)

const setUp = "/rooms/north/set-up"

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

// inSession is a stocked shelf in whose room a session has begun.
func inSession(t *testing.T) *shelf {
	s := stocked(t)
	s.does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Newcomer"})
	return s
}

// Where the room is still to be aired the set-up says so before the first bath, as the board does.
func TestASetUpSaysThatTheRoomIsStillToBeAired(t *testing.T) {
	s := inSession(t)
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
	s := inSession(t)
	snap := *s.Now().Rooms[0]
	snap.Baths = slices.Clone(snap.Baths)
	for i := range snap.Baths {
		snap.Baths[i].Portion = nil
	}
	snap.Session.Phase = session.TakeDown
	s.Show(&snap)
	s.opens(setUp).Says("Not signed off yet").Follow("Go on with this session").Says("Mix from PD bottle")
}

func between(text, before, after string) string {
	_, rest, _ := strings.Cut(text, before)
	found, _, _ := strings.Cut(rest, after)
	return found
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

// A form that offered both lists beside the lines of one let the lines of a take-down be signed as done after a set-up.
func TestAClosingListIsChosenBeforeItsLinesAreShown(t *testing.T) {
	signing := formtest.To("/shelf/enter/closing-list-signed")
	page := formtest.On(t, stocked(t).Server).Open("/shelf/enter/closing-list-signed")
	require.Empty(t, page.Forms(), "no list can be signed before it is chosen")
	for list, line := range map[string]string{"After set-up": "Cupboard locked", "After take-down": "Chemicals locked up"} {
		require.Contains(t, page.Follow(list).Form(signing).Values().Get("lines"), line)
	}
}
