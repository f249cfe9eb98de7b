package dashboard_test

import (
	"regexp"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// classroom is a shelf with a developer and a fixer of 2 L each in the trays of the room.
func classroom(t *testing.T) *shelf {
	t.Helper()
	s := stocked(t)
	s.does(ledger.BatchMixed{Batch: "D1", Name: "Print developer", Product: "print-developer", Class: ledger.PrintDeveloper,
		Into:  "Developer tray",
		Meant: ledger.FromConcentrate, From: "PD bottle", ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9},
		Owner: ledger.House},
		mixed("F1", "Fixer tray", 200, 1800))
	s.Begin()
	s.Publish()
	return s
}

func TestTheInstructorSeesTonightAtAGlance(t *testing.T) {
	s := classroom(t)
	text := s.page("/rooms/north/tonight")
	for _, want := range []string{"<strong>2:06</strong>", "19.4 °C", "2:00 at 20 °C", "strength not known: taken as published", "MOVING",
		"; not counted: the age of the developer, oxidation, agitation",
		"Fixer", "I announced 2:06", "Will it last the class?", "Sheets used", "What was it earlier?"} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, text, "times as long", "one developer is not compared")
	line := regexp.MustCompile(`(?s)<table class="beside wet-line">.*?</table>`)
	require.Contains(t, line.FindString(text), "fix")
	require.Equal(t, line.FindString(s.page("/rooms/north/board")), line.FindString(text), "stop, fix and wash as on the board")
	require.Contains(t, text, "<li>Wash, RC: 2:00 at 20° [from memory; unverified]")
}

// What the time would be without is of use to whoever asks why, not to whoever develops.
func TestTheBoardLeavesOutWhatDoesNotChangeTheTime(t *testing.T) {
	s := classroom(t)
	s.Pour("developer", rules.Portion{Record: 51, Batch: "D1", What: "Print developer", By: "Ada", Filled: viewtest.Evening(),
		Known: &rules.Known{Made: 0.1, Aim: 0.1, Use: chem.BathUse{Capacity: 1, Words: phrase.Say("%.0f sheets 8x10", 0.0)}}})
	s.Minutes(1, viewtest.Usual(), viewtest.Values{})
	s.Publish()
	board := s.page("/rooms/north/board")
	require.Contains(t, board, "from 2:00 at 20 °C, +6 s for 19.4 °C<")
	for _, idle := range []string{"strength 10 %", "0 sheets 8x10"} {
		require.NotContains(t, board, idle)
		require.Contains(t, s.page("/rooms/north/tonight"), idle)
	}
}

func TestTheTimesOfThePlaceStandInTheSteadOfThePublishedOnesWithTheirSource(t *testing.T) {
	s := classroom(t)
	s.Room.Stages.Fibre = []chem.StageTime{{Stage: chem.Washing, Time: 40 * time.Minute, Standing: chem.OfThePlace,
		Source: phrase.Plain("invented data sheet")}}
	s.Minutes(1, viewtest.Usual(), viewtest.Values{})
	s.Publish()
	text := s.page("/rooms/north/tonight")
	require.Regexp(t, `(?s)<th scope="row">wash.*?2:00<.*?40:00<`, text)
	require.Contains(t, text, "<li>Wash, fibre: 40:00 at 20° [invented data sheet; of this place]")
}

// A time for a bath that must not be used would be taken for leave to use it.
func TestABathThatMustNotBeUsedGivesNoTimeBehindTheDeveloper(t *testing.T) {
	s := classroom(t)
	fixing := regexp.MustCompile(`(?s)<th scope="row">fix.*?</tr>`)
	require.Regexp(t, `data-gone="-:--">\d+:\d\d<`, fixing.FindString(s.page("/rooms/north/board")))
	s.Pour("fixer", rules.Portion{Record: 52, Batch: "F1", What: "Rapid fixer", By: "Ada", Filled: viewtest.Evening(),
		Known: &rules.Known{Limit: rules.Limit{Verdict: ledger.Discard, Words: phrase.Plain("the iodide precipitate test failed")}}})
	s.Minutes(1, viewtest.Usual(), viewtest.Values{})
	snap := s.Publish()
	for _, page := range []string{"/rooms/north/board", "/rooms/north/tonight"} {
		require.NotRegexp(t, `\d+:\d\d`, fixing.FindString(s.page(page)), page)
		require.Contains(t, fixing.FindString(s.page(page)), "-:--", page)
	}
	times := snap.BehindDeveloper(chem.ResinCoated)
	at := slices.IndexFunc(times, func(t chem.StageTime) bool { return t.Stage == chem.FirstFixing })
	require.Contains(t, times[at].Refusal.String(), "must not be used: the iodide precipitate test failed")
	may, _ := chem.WhiteLight(times, []chem.SheetAt{{Stage: chem.FirstFixing, Since: time.Hour}})
	require.False(t, may, "nobody knows whether the sheet in it is fixed")
}

// Enter in a field must not choose one of several answers.
func TestTheKeyEnterChoosesNoSizeOfSheet(t *testing.T) {
	s := classroom(t)
	require.Regexp(t, `action="/shelf/enter/sheets-used"(?s)[^§]*?<button type="submit" hidden="hidden" disabled="disabled">`,
		s.page("/rooms/north/tonight"), "the first button of the form is off")
}

// What is left is the smallest capacity that the catalogue names with its source, for
// the two litres in the tray, less what went through.
func TestWhetherTheBathsLastTheClassFollowsThePublishedCapacity(t *testing.T) {
	s := classroom(t)
	p, ok := catalogueOf(t).Product("rapid-fixer")
	require.True(t, ok)
	least := 1e9
	for _, c := range p.Capacity {
		if area, known := c.AreaPerLitre(); known && c.Material == ledger.ResinCoated {
			least = min(least, float64(area/ledger.EightByTen))
		}
	}
	ask := func(students, each string) string {
		return s.page("/rooms/north/tonight?size=8x10in&material=resin-coated+paper&students=" + students + "&each=" + each)
	}
	text := ask("2", "5")
	require.Regexp(t, `(?s)<h3>Fixer</h3>.*?ENOUGH.*?About `+whole(2*least)+` sheets 8x10 left; the class needs 10`, text)
	s.does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: int(least),
		SheetArea: ledger.EightByTen})
	require.Regexp(t, `(?s)<h3>Fixer</h3>.*?About `+whole(least)+` sheets 8x10 left; the class needs 10`, ask("2", "5"))
	require.Regexp(t, `(?s)<h3>Fixer</h3>.*?SHORT.*?more, or change the bath during class`, ask("30", "10"))
	require.Contains(t, ask("2", "5"), "/shelf/enter/work-booked?", "what was asked can be booked")
	film := s.page("/rooms/north/tonight?size=roll&material=film&students=2&each=5")
	require.NotContains(t, film, "<h3>Developer</h3>", "film goes through no print developer")
	require.Contains(t, film, "<h3>Fixer</h3>")
	require.Contains(t, ask("two", "5"), `People who print: "two" is not a count`)
	require.Contains(t, ask("2", "1e9"), `Sheets each: "1e9" is not a count`)
	require.Contains(t, ask("2", "-1"), `value="-1"`, "what was typed is still there")
}

func whole(sheets float64) string { return strconv.Itoa(int(sheets + 1e-6)) }

// A tray may be entered on the shelf a moment before its room knows of it.
func TestAnEntryThatTheRoomHasNotSeenYetBreaksNoPage(t *testing.T) {
	s := stocked(t)
	s.does(ledger.BatchMixed{Batch: "D1", Name: "Print developer", Product: "print-developer", Class: ledger.PrintDeveloper,
		Into:  "Developer tray",
		Meant: ledger.FromConcentrate, From: "PD bottle", ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9},
		Owner: ledger.House})
	require.Contains(t, s.page("/rooms/north/tonight"), "no batch is entered")
	s.page("/rooms/north/baths")
}

func TestTwoDevelopersStandSideBySide(t *testing.T) {
	p := newPages(t)
	second := p.Room.Baths[0]
	second.ID, second.Name, second.Channel = "second", "Warm-tone developer", p.Room.Baths[1].Channel
	p.Room.Baths = append([]rules.Bath{p.Room.Baths[0], second}, p.Room.Baths[1:]...)
	p.FillTrays()
	p.Pour("second", rules.Portion{Record: 43, Batch: "WT-3", What: "Warm-tone developer", By: "Ida", Filled: viewtest.Evening()})
	p.Minutes(5, viewtest.Values{Developer: 22, Stop: 18, Fixer: 18.8, Duct: 2.9}, viewtest.Values{})
	p.Publish()
	text := p.page("/rooms/north/tonight?look=red")
	require.Regexp(t, `Warm-tone developer takes \d:\d\d longer than Developer: 1\.\d times as long\.`, text)
	require.Contains(t, text, "look-red.css")
}
