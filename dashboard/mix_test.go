package dashboard_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors"
)

// worksOut asks the mixing table one of its questions.
func (s *shelf) worksOut(question string, typed ...string) string {
	s.t.Helper()
	page := s.opens("/mix?do=" + question).Form(formtest.Having("do", question)).FillIn(typed...).Send()
	return s.read(page)
}

func TestATimeIsWorkedOutFromPublishedPoints(t *testing.T) {
	s := newShelf(t)
	// Kodak F-32, TMY 135 in XTOL 1:1 at 20/21/22/24 °C; at 23 °C sqrt(6.5 x 5.5) = 5.979 min (derived).
	text := s.worksOut("time", "points", "20C=7:45, 21C=7:00, 22C=6:30, 24C=5:30", "bath", "23 C")
	require.Contains(t, text, "<strong>5:59</strong>")
	require.Contains(t, text, "7:45 at 20 °C")
	require.Contains(t, text, "not counted: the age of the developer, oxidation, agitation, strength, use.")
	// US Air Force TO 33B-1-1, table 6-16, X-ray film, normal: 5 min at 68 °F, 4.5 min at 70 °F.
	text = s.worksOut("time", "points", "70F=4:30; 68F=5:00", "bath", "70 F")
	require.Contains(t, text, "<strong>4:30</strong>")
	require.Contains(t, text, "5:00 at 68 °F, 70 °F", "what was published in °F is told in °F")
	require.Regexp(t, `(?s)NO TIME.*above the table's last point, 70.0 °F`, s.worksOut("time", "points", "70F=4:30 68F=5:00", "bath", "75 F"))
	require.Contains(t, s.worksOut("time", "points", "14C=7:00, 24C=5:00", "bath", "15 C"), "hydroquinone loses its power")
	require.NotContains(t, s.worksOut("time", "points", "14C=7:00, 24C=5:00", "bath", "15 C", "without", "on"), "hydroquinone loses its power")

	text = s.worksOut("time", "points", "20C=9.30, 24C=7:00", "bath", "20 C")
	require.Regexp(t, `(?s)9.30 can be read in two ways.*9:30 \(minutes and seconds\).*9:18 \(minutes and seconds\)`, text)
	require.NotContains(t, text, "numeral-unit", "nothing is worked out before one is chosen")
	require.Contains(t, text, "20C%3D9%3A18%2C+24C%3D7%3A00", "the reading stands in its place, and the rest as it was typed")
	// TMX 120 in XTOL 1:1 (row R11 of the reference): a probable misprint.
	require.Contains(t, s.worksOut("time", "points", "20C=7:45, 21C=7:30, 22C=7:15, 24C=6:45", "bath", "20 C"), "check for a misprint")
}

func TestTheTrayHasItsOwnQuestions(t *testing.T) {
	s := newShelf(t)
	// Published arithmetic of the factorial method: 30 s x 10 = 300 s; pyro 4 + metol 2 parts (6 and 30): factor 14.
	require.Contains(t, s.worksOut("factor", "emergence", "30", "factor", "10"), "<strong>5:00</strong>")
	require.Contains(t, s.worksOut("factor", "emergence", "28, 30, 45", "factor", "6 x 4, 30 × 2"), "Factor 14.0")
	require.Contains(t, s.worksOut("factor", "emergence", "30", "factor", "one"), "is not a factor")
	// Clerc, Photography: Theory and Practice, s. 556-557: full black at 140 s, clean at 200 s, stained at 280 s.
	for at, verdict := range map[string]string{"2:00": "PULLED EARLY", "3:20": "IN RANGE", "4:40": "TOO LONG"} {
		require.Contains(t, s.worksOut("window", "black", "2:20", "developed", at), verdict)
	}
	require.Contains(t, s.worksOut("window", "black", "2.20", "developed", "3:00"), "can be read in two ways")
	// V (Tt - T)/(Th - Tt) = 2 L x 4/25 (equal heat capacity).
	require.Contains(t, s.worksOut("jacket", "make", "2L", "bath", "16", "target", "20", "hot", "45"), "<strong>320</strong>")
	require.Contains(t, s.worksOut("jacket", "make", "2L", "bath", "21", "target", "20", "hot", "45"), "no jacket is needed")
}

func TestADeveloperThatIsUsedAgainAndTheSilverItLeadsTo(t *testing.T) {
	s := newShelf(t)
	reuse := func(nth string) string {
		return s.worksOut("reuse", "first", "10:00", "added", "10 %", "every", "1", "most", "10", "nth", nth, "source", "from memory")
	}
	require.Contains(t, reuse("3"), "<strong>12:00</strong>", "twice 10 % of the first time")
	require.Regexp(t, `(?s)DISCARD.*one too many`, reuse("11"))
	// US Army course SS0514: 3 % of a US gallon for two idle days are 3.84 fl oz = 113.6 mL.
	text := s.worksOut("replenish", "rate", "70 mL", "rolls", "2", "source", "from memory", "tank", "1 gal", "days", "2", "share", "3")
	require.Regexp(t, `(?s)<strong>140</strong>.*<strong>114</strong>`, text)
	require.Contains(t, text, "Take some of the used developer out")
	// Kodak D-32: 84 ft in 70 s at 2 mL a foot are 144 mL a minute.
	text = s.worksOut("machine", "path", "84 ft", "dwell", "70s", "rate", "2 mL", "each", "1 ft", "source", "Kodak D-32")
	require.Regexp(t, `(?s)<strong>144</strong>.*Only while film runs.*Kodak D-32`, text)
	require.Contains(t, s.worksOut("machine", "path", "0 ft", "dwell", "70s", "rate", "2 mL", "each", "1 ft", "source", "x"),
		"The length must be above zero")
	require.Contains(t, s.worksOut("machine", "path", "long", "dwell", "70s", "rate", "2 mL", "each", "1 ft", "source", "x"),
		"expected a length")
	// Worked load of the reference: 40 8x10 at 1.615 g/m², 70 % dissolved, 2 L: 1.167 g/L (derived).
	text = s.worksOut("silver", "count", "40", "size", "8x10in", "make", "2 L", "coating", "1.615", "dissolved", "70 %")
	require.Contains(t, text, "<strong>1.17</strong>")
	require.Contains(t, text, "NOT AS A SINGLE BATH")
	require.Contains(t, s.worksOut("silver", "count", "40", "size", "8x10in", "make", "2 L", "coating", "0.538-3.229", "dissolved", "70"),
		"0.39 to 2.33")
	for _, bad := range [][]string{{"reuse", "first", "soon", "added", "10", "every", "1", "most", "10", "nth", "1", "source", "x"},
		{"replenish", "rate", "70 mL", "rolls", "none", "source", "x"}, {"time", "points", "warm", "bath", "20"},
		{"silver", "count", "1", "size", "8x10in", "make", "1L", "coating", "1", "dissolved", "170"}} {
		require.Contains(t, s.worksOut(bad[0], bad[1:]...), `role="alert"`, bad)
	}
}

// Two baths: 50 sheets 8x10 a litre, then rotate; both out at 250 (analogue-photography.org,
// secondary). Residue: 1.4 µg/cm² within 14 days (a laboratory page citing ISO 18917, secondary).
func TestTwoFixingBathsAndWhatWashingLeaves(t *testing.T) {
	s := newShelf(t)
	rotated := func(sheets string) string {
		return s.worksOut("two-bath", "count", sheets, "size", "8x10in", "make", "1 L")
	}
	for sheets, times := range map[string]string{"49": "0", "50": "1", "100": "2", "150": "3", "200": "4", "249": "4"} {
		require.Contains(t, rotated(sheets), "<strong>"+times+"</strong>", sheets)
	}
	require.Regexp(t, `(?s)DISCARD.*discard both as silver-bearing waste`, rotated("250"))
	require.Contains(t, rotated("0.5"), `role="alert"`)
	alone := s.worksOut("two-bath", "product", "fixer-powder", "material", "fibre-based paper", "count", "53", "size", "8x10in", "make", "1 L")
	require.Contains(t, alone, "<strong>1</strong>", "200 a US gallon are 52.8 a litre (US Navy, NAVEDTRA 14209)")
	require.Contains(t, alone, "NAVEDTRA 14209")
	residue := func(figure, days string) string {
		return s.worksOut("residue", "residue", figure, "days", days)
	}
	require.Contains(t, residue("1.4", "14"), "WITHIN THE LIMIT")
	require.Contains(t, residue("1.41", "3"), "OVER THE LIMIT")
	require.Contains(t, residue("0.1", "15"), "NO VERDICT")
	require.Contains(t, residue("a little", "3"), `role="alert"`)
	for _, slip := range [][2]string{{"-1", "3"}, {"1", "-3"}} {
		require.Contains(t, residue(slip[0], slip[1]), "check the sign", "a slip is not a late test")
	}
}

func TestTheBathsPageSaysWhenABathLeavesItsBandAndWhatBringsItBack(t *testing.T) {
	s := newPages(t)
	s.Room.Baths[0].Band = sensors.Range{Low: 19.5, High: 21.5}
	s.FillTrays()
	v := viewtest.Usual()
	v.Developer = 20.5
	s.Minutes(5, v, viewtest.Values{Developer: -0.02})
	s.Publish()
	require.Contains(t, s.page("/rooms/north/baths"), "Too early to say: less than 10 minutes of readings")
	v.Developer = 20.4
	s.Minutes(20, v, viewtest.Values{Developer: -0.02})
	s.Publish()
	text := s.page("/rooms/north/baths")
	require.Regexp(t, `2[0-9] min until out of range at 19.5 °C \(`, text, "(20.0 - 19.5)/0.02")
	require.Regexp(t, `Hot-water jacket: at least [0-9]+ mL of water at 45.0 °C around the tray brings the bath to 20.5 °C`, text)
	require.Regexp(t, `2[0-9] min until out of range`, s.page("/rooms/north/board"))
	require.Equal(t, rules.InBand, s.Now().Rooms[0].Baths[0].Band)
	s.Silence(time.Minute, sensors.StateGone)
	s.Publish()
	require.NotContains(t, s.page("/rooms/north/baths"), "until it leaves", "a silent probe tells nothing of what is to come")
}
