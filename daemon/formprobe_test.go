package daemon_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/northtest"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
)

// acts sends the form of an act and gives the page that it leads to.
func (s *north) acts(path, act string, typed ...string) *formtest.Page {
	s.t.Helper()
	return s.fills(path, act, append(typed, "who", "Ida")...).Send()
}

func TestActsOnProbesAreReadInTheUnitsOfThePlace(t *testing.T) {
	s := newNorth(t)
	at := func(text string) time.Time {
		v, err := time.Parse(time.RFC3339, text)
		require.NoError(t, err)
		return v
	}
	id := sensors.ChannelID("north-developer")
	s.sent(s.acts(developerPage, "fit", "probe", "P-20", "make", "", "accuracy", "±0,5 °C", "from", "2026-01-15 18:30"))
	s.enteredAs(truth.FitProbe{Channel: id, Probe: "P-20", Accuracy: 0.5, From: at("2026-01-15T17:30:00Z"), Uncorrected: true})
	s.sent(s.acts(developerPage, "hand", "value", "68 F", "with", "glass thermometer", "uncertainty", "0.2"))
	hand, _ := lastOf[truth.HandReading](s, truth.HandReading{}.Kind())
	require.InDelta(t, 20, hand.Value, 1e-9)
	s.sent(s.acts(developerPage, "correct", "slope", "1", "offset", "-0.6", "from", "2026-01-01", "why", "two weeks wrong"))
	s.enteredAs(truth.SetCorrection{Channel: id, From: at("2025-12-31T23:00:00Z"), Slope: 1, Offset: -0.6, Why: "two weeks wrong"})
	s.sent(s.acts(developerPage+"/check?method=reference&step=4", "check", "as-found", "20.4", "reference", "20", "instrument", "R-1",
		"uncertainty", "0.1", "certificate", "K-5", "correct", "yes", "as-left", "", "next", "2026-07-15", "note", ""))
	s.enteredAs(truth.CheckProbe{Channel: id, Method: truth.Reference, Reference: 20, Uncertainty: 0.1, Instrument: "R-1",
		Certificate: "K-5", AsFound: 20.4, Correct: true, Next: at("2026-07-15T22:00:00Z")})
	s.sent(s.acts("/rooms/north/probes", "clock", "seen", "20:41", "against", "radio clock"))
	clock, _ := lastOf[rules.ConfirmClock](s, rules.ConfirmClock{}.Kind())
	require.Equal(t, at("2026-01-15T19:41:00Z"), clock.Seen.UTC())
	s.sent(s.acts(developerPage, "take-out", "why", "for a check in ice"))
	s.enteredAs(truth.RemoveProbe{Channel: id, Why: "for a check in ice"})
}

func TestAProbesFormThatCannotBeReadComesBackAsItWasTyped(t *testing.T) {
	s := newNorth(t)
	for _, c := range []struct {
		path, act string
		typed     []string
		want      string
	}{
		{developerPage, "hand", []string{"value", "warm", "with", "glass"}, `is not a number`},
		{developerPage, "hand", []string{"value", "20", "with", ""}, `Thermometer used`},
		{developerPage, "fit", []string{"probe", "P-1", "from", "yesterday"}, `is not a date`},
		{developerPage + "/check?method=ice&step=4", "check", []string{"as-found", "0,2,3"}, `is not a number`},
		{developerPage + "/check?method=ice&step=4", "check", []string{"as-found", ""}, `Please fill in: As found`},
		{developerPage, "correct", []string{"slope", ""}, `Please fill in: Slope`},
		{"/rooms/north/probes", "clock", []string{"seen", "late", "against", "sun"}, `is not a time`},
	} {
		back := s.acts(c.path, c.act, c.typed...)
		require.Contains(t, back.Problem(), c.want)
		require.Equal(t, c.typed[1], back.Form(formtest.Doing(c.act)).Values().Get(c.typed[0]))
	}
	require.Empty(t, s.Kept(truth.HandReading{}.Kind(), truth.FitProbe{}.Kind(), truth.CheckProbe{}.Kind(), truth.SetCorrection{}.Kind()))
}

// The goals of a keeper: another probe in 3 presses with 2 entries, an ice point in 6 with one.
func TestAProbeIsReplacedAndCheckedInFewPresses(t *testing.T) {
	s := newNorth(t)
	b := s.browser()
	b.Open("/rooms/north/probes").FollowTo(developerPage).Form(formtest.Doing("fit")).Fill("probe", "P-21").Fill("who", "Ida").Send()
	require.Equal(t, formtest.Effort{Presses: 3, Entries: 2}, b.Effort())
	iced := northtest.Usual()
	iced.Developer = 0.17
	s.Minutes(5, iced)
	b = s.browser()
	page := b.Open("/rooms/north/probes").FollowTo(developerPage).Follow("Ice point")
	for range 3 {
		page = page.Follow("Next")
	}
	page = page.Form(formtest.Doing("check")).Fill("who", "Ida").Send()
	require.Empty(t, page.Problem())
	require.Contains(t, page.Text(), "off by +0.17 °C.", "the answer says what the check came to")
	require.Equal(t, formtest.Effort{Presses: 6, Entries: 1}, b.Effort())
	fit, _ := lastOf[truth.FitProbe](s, truth.FitProbe{}.Kind())
	require.Equal(t, "P-21", fit.Probe)
	check, _ := lastOf[truth.CheckProbe](s, truth.CheckProbe{}.Kind())
	require.InDelta(t, 0.17, check.AsFound, 1e-9)
}

// An act that was computed elsewhere: what a page read of typed figures goes into the book as it was read.
func TestATestOfTheAirChangesIsRecordedAsItWasWorkedOut(t *testing.T) {
	s := newNorth(t)
	const hand = "/rooms/north/air/test?method=decay&points=0%3D1920+3%3D1243.2+6%3D871.8+9%3D667.9&background=420&error=0&empty=yes"
	s.sent(s.fills(hand, "test", "note", "both doors closed", "who", "Ida").Send())
	act, by := lastOf[rules.TestAirChanges](s, rules.TestAirChanges{}.Kind())
	require.InDelta(t, 12, float64(act.Changes), 0.01) // 1500 ppm e^(-12/20) = 823.2 ppm after three minutes
	require.False(t, act.Agrees)
	require.Equal(t, []string{"both doors closed", "Ida"}, []string{act.Note, by.Person})
	require.Contains(t, s.page("/rooms/north/air/test"), "both doors closed")
}

// round is a form of a traverse of the room's duct, a circle of 20 cm.
func (s *north) round() *formtest.Form {
	s.t.Helper()
	points := s.opens("/rooms/north/air/traverse").Form(formtest.Saying("Show the points")).FillIn("shape", "round", "diameter",
		"20 cm").Send()
	form := points.Form(formtest.Having("v1")).FillIn("fixed", "3.2", "meter", "hot-wire 12", "certified", "C-78", "pressure", "-4 Pa",
		"conditions", "doors closed", "who", "Ida",
		"certified-until", "2027-06-30", "certainty", "3 %", "design", "300 m3/h", "due", "2027-12-01", "zeros", "none", "drop",
		"one grille is closed")
	for i := 1; i <= 12; i++ {
		form.Fill(fmt.Sprintf("v%d", i), "2.5")
	}
	return form
}

func TestATraverseIsLedFromTheDuctToItsPointsToTheBook(t *testing.T) {
	s := newNorth(t)
	first := s.page("/rooms/north/air/traverse")
	require.Contains(t, first, `name="diameter" value="20.0 cm"`, "the configured area, as a circle")
	require.NotContains(t, first, `name="v1"`)
	page := s.page("/rooms/north/air/traverse?shape=round&diameter=20")
	require.Contains(t, page, "6 mm in, 100 mm up", "0.032 of 20 cm (log-linear rule, from memory)")
	require.Contains(t, page, `name="v12"`)
	require.NotContains(t, page, `name="v13"`)
	require.Contains(t, s.page("/rooms/north/air/traverse?shape=rectangular&width=30cm&height=20cm&look=red"), `name="v25"`)

	pressed := s.round().Fill("v3", "3.75 Pa") // 2.5 m/s in air at 20 °C: sqrt(2·3.75/1.204)
	s.sent(pressed.Send())
	act, _ := lastOf[rules.CommissionAir](s, rules.CommissionAir{}.Kind())
	require.InDelta(t, 2.5*math.Pi/4*0.2*0.2*3600, float64(act.Flow), 0.2)
	require.InDelta(t, 2.5/3.2, act.Factor, 1e-3)
	require.InDelta(t, -4, float64(*act.Pressure), 1e-9)
	require.Equal(t, []string{"hot-wire 12", "C-78", "doors closed", "one grille is closed"}, []string{act.Instrument, act.Certificate,
		act.Conditions, act.DropReason})
	require.InDelta(t, 300, float64(act.Design), 1e-9)
	require.InDelta(t, math.Hypot(3, 3), float64(act.Uncertainty), 1e-9, "3 % of twelve points and 3 % of the instrument")
	require.Equal(t, "2027-06-30 2027-12-01", act.CertificateEnds.Format(time.DateOnly)+" "+act.Next.Format(time.DateOnly))

	require.Contains(t, s.page("/rooms/north/air/traverse"), "hot-wire 12, C-78")
}

func TestATraverseThatCannotBeReadComesBackAsItWasTyped(t *testing.T) {
	s := newNorth(t)
	for want, spoil := range map[string][2]string{
		"Point 7: \"fast\" is not a velocity":                            {"v7", "fast"},
		"Point 8: \"-2\" is not a velocity":                              {"v8", "-2"},
		"Please fill in: Calibration certificate number":                 {"certified", ""},
		"Please fill in: Your name":                                      {"who", ""},
		"Room pressure during the traverse: \"low\" is not a pressure":   {"pressure", "low"},
		"\"2099-01-01\" is not a past day":                               {"on", "2099-01-01"},
		"elocity at the fixed probe of 0 m/s is not usable":              {"fixed", "0"},
		"Please fill in: Reading of the fixed probe during the traverse": {"fixed", ""},
		"Please fill in: Conditions":                                     {"conditions", ""},
		"Please fill in: Certificate valid until":                        {"certified-until", ""},
		"certificate ended on 2019-01-01":                                {"certified-until", "2019-01-01"},
		"\"good\" is not a number of per cent":                           {"certainty", "good"},
		"n uncertainty of the instrument of 0 %":                         {"certainty", "0"},
		"Next traverse due by: \"soon\" is not a day":                    {"due", "soon"},
		"Design flow of the exhaust: \"much\" is not a flow":             {"design", "much"},
		"oint 4 reads 0 m/s: measure it again":                           {"v4", "0"},
	} {
		form := s.round().Fill(spoil[0], spoil[1])
		back := form.Send()
		require.Contains(t, back.Problem(), want)
		typed, kept := form.Values(), back.Form(formtest.Having("v1")).Values()
		typed.Del("token")
		kept.Del("token")
		require.Equal(t, typed, kept, "what was typed is still there")
	}
	require.Contains(t, s.round().Forge("the size stands in the form", "diameter", "0 cm").Send().Problem(), "is not a duct size")
	require.Empty(t, s.Kept(rules.CommissionAir{}.Kind()))
	require.Contains(t, s.page("/rooms/north/air/traverse?shape=oval"), "Shape of the duct: choose one.")
}

func TestAPointThatReadNothingTwiceIsRecorded(t *testing.T) {
	s := newNorth(t)
	s.sent(s.round().Fill("v4", "0").Fill("zeros", "measured-twice").Send())
	act, _ := lastOf[rules.CommissionAir](s, rules.CommissionAir{}.Kind())
	require.True(t, act.ZerosConfirmed)
	require.InDelta(t, 2.5*11/12*math.Pi/4*0.2*0.2*3600, float64(act.Flow), 0.2, "it counts in the mean")
}
