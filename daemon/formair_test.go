package daemon_test

import (
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/daemon/northtest"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/ventilation"
)

func TestEveryActOnAlarmsAndSessionsGoesToTheRoomAsItWasTyped(t *testing.T) {
	s := halted(t)
	now := s.Clock.Now().Wall
	vienna, err := time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	for _, c := range []struct {
		page, act string
		typed     []string
		want      rules.Act
	}{
		{"alarms", "acknowledge", []string{"done", "switched it on"}, rules.AcknowledgeAlarm{Alarm: "air", Done: "switched it on"}},
		{"alarms", "shelve", []string{"minutes", "60", "why",
			"belt is changed"}, rules.ShelveAlarm{Alarm: "air", Until: now.Add(time.Hour), Why: "belt is changed"}},
		{"alarms", "restore", []string{"why", "belt is new"}, rules.RestoreAlarm{Alarm: "air", Why: "belt is new"}},
		{"alarms", "disable", []string{"why", "probe is out"}, rules.DisableAlarm{Alarm: "air", Why: "probe is out"}},
		{"alarms", "complain", []string{"complaint", "sharp smell"}, rules.ReportComplaint{What: "sharp smell"}},
		{"alarms", "drill", []string{"drill", "fan off", "found", "all left"}, rules.RecordDrill{What: "fan off", Found: "all left"}},
		{"alarms", "sounder", []string{"place", "tablet", "heard", "no"}, rules.TestSounder{Where: "tablet"}},
		{"air", "begin", []string{"phase", "open", "title", "Evening class", "people", "12", "until", "22:30"},
			rules.StartSession{Phase: session.Open,
				Entry: session.Entry{Title: "Evening class", People: 12, Until: time.Date(2026, 1, 15, 22, 30, 0, 0, vienna)}}},
		{"air", "end", []string{"phase", "take-down", "note", "all well"}, rules.EndSession{Phase: session.TakeDown, Note: "all well"}},
		{"air/limits", "require", []string{"asked", "flow a floor area", "figure", "1 cfm/ft2", "whose", "invented code", "edition", "2018",
			"effective", "2026-02-01"}, rules.RequireAir{
			Asked: ventilation.FloorFlow, Value: 5.08, Amendment: rules.Amendment{Source: "invented code", Edition: "2018",
				Effective: time.Date(2026, 2, 1, 0, 0, 0, 0, vienna)}}},
		{"air/limits", "require-change", []string{"row", "air changes|decision of the place", "figure",
			"8"}, rules.RequireAir{Asked: ventilation.AirChangeRate, Value: 8, Amendment: rules.Amendment{Source: "decision of the place"}}},
		{"air/limits", "require", []string{"asked", "air changes", "figure", "6", "whose", "house rule"}, rules.RequireAir{
			Asked: ventilation.AirChangeRate, Value: 6, Amendment: rules.Amendment{Source: "house rule"}}}, // a room is never without any
		{"air/limits", "require-off", []string{"row", "air changes|decision of the place", "why", "the code asks for more"}, rules.RequireAir{
			Asked: ventilation.AirChangeRate, Amendment: rules.Amendment{Source: "decision of the place", Off: true,
				Why: "the code asks for more"}}},
		{"air/limits", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "short-term average", "window", "15 min",
			"figure",
			"25 mg/m³", "standing", "verified", "whose", "minutes of May", "edition", "2026", "effective",
			"2026-02-01"}, rules.LimitGas{Agent: "acetic acid", Jurisdiction: "House", Limit: breathing.ShortTerm, Minutes: 15, Value: 25,
			Unit: "mg/m3", Standing: breathing.Verified, Amendment: rules.Amendment{Source: "minutes of May", Edition: "2026",
				Effective: time.Date(2026, 2, 1, 0, 0, 0, 0, vienna)}}},
		{"air/limits", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure", "25 ppb", "standing",
			"verified", "whose", "minutes", "edition", "2026"}, rules.LimitGas{
			Agent: "acetic acid", Jurisdiction: "House", Limit: breathing.Ceiling, Value: 25, Unit: "ppb", Standing: breathing.Verified,
			Amendment: rules.Amendment{Source: "minutes", Edition: "2026"}}},
		{"air/limits", "limit-off", []string{"row", "acetic acid|OSHA|long-term average|480", "why", "another list"}, rules.LimitGas{
			Agent: "acetic acid", Jurisdiction: "OSHA", Limit: breathing.LongTerm, Minutes: 480, Amendment: rules.Amendment{Off: true,
				Why: "another list"}}},
		{"air/limits", "unexposed", []string{"why", "no other work with acid", "effective", "2026-02-01"}, rules.StateUnexposed{
			Why: "no other work with acid", Effective: time.Date(2026, 2, 1, 0, 0, 0, 0, vienna)}},
	} {
		form := s.opens("/rooms/north/" + c.page).First(formtest.Doing(c.act)).FillIn(c.typed...) // the first alarm is that of the air
		back := form.Send()
		require.Contains(t, back.Problem(), "Please fill in: Your name", c.act)
		again := back.Form(formtest.Having("token", form.Values().Get("token")))
		require.Equal(t, form.Values(), again.Values(), "what was typed is still there")
		s.sent(again.Fill("who", "Ida").Send())
		s.enteredAs(c.want)
	}
}

func TestWhatCannotBeReadIsSaidInOneSentence(t *testing.T) {
	s := halted(t)
	for _, c := range []struct {
		want, act string
		typed     []string
	}{
		{"People in the room: \"a dozen\" is not a whole number from 0 to 1000.", "begin", []string{"phase", "open", "people", "a dozen"}},
		{"Planned end: \"late\" is not a time of the day. Write it like 21:00.", "begin", []string{"phase", "open", "until", "late"}},
		{"Requirement: choose one.", "require-change", []string{"figure", "8"}},
		{"Required value: \"lots\" is not a number in /h.", "require", []string{"asked", "air changes", "figure", "lots", "whose", "x"}},
		{"In force from: \"soon\" is not a day. Write it like 2026-09-01.", "require", []string{"asked", "air changes", "figure", "8", "whose",
			"x", "effective", "soon"}},
		{"Please fill in: Gas", "limit", []string{"jurisdiction", "House"}},
		{"Kind of limit: choose one.", "limit", []string{"agent", "acetic acid", "jurisdiction", "House"}},
		{"Averaged over: \"a while\" is not a whole number of minutes", "limit", []string{"agent", "acetic acid", "jurisdiction", "House",
			"limit", "short-term average", "window", "a while"}},
		{"Limit: \"10\" can't be used.", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure", "10"}},
		{"Please fill in: Source", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure", "10 ppm",
			"standing", "verified", "edition", "2026"}},
		{"Please fill in: Edition", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure", "10 ppm",
			"standing", "verified", "whose", "x"}},
		{"Heard: choose one.", "sounder", []string{"place", "tablet"}},
		{"What do you notice?:", "complain", []string{"complaint", strings.Repeat("long ", 400)}},
	} {
		page := "/rooms/north/air"
		switch c.act {
		case "sounder", "complain":
			page = alarmsPage
		case "require", "require-change", "require-off", "limit", "limit-off", "unexposed":
			page += "/limits"
		}
		require.Contains(t, s.opens(page).First(formtest.Doing(c.act)).FillIn(c.typed...).Fill("who", "Ida").Send().Problem(), c.want, c.typed)
	}
	for _, c := range []struct{ want, page, act, field, value string }{
		{"Phase: choose one.", "/rooms/north/air", "end", "phase", "over"},
		{"For how long: choose one.", alarmsPage, "shelve", "minutes", "99999"},
		{"Limit: choose one.", "/rooms/north/air/limits", "limit-off", "row", "a|b"},
		{"Kind of requirement: choose one.", "/rooms/north/air/limits", "require", "asked", ""},
		{"This form asks for something wetside does not know", alarmsPage, "drill", "act", "wind up"},
	} {
		form := s.opens(c.page).First(formtest.Doing(c.act)).Fill("who", "Ida").Forge("no form offers that", c.field, c.value)
		require.Contains(t, form.Send().Problem(), c.want)
	}
	require.Empty(t, s.Kept(rules.StartSession{}.Kind(), rules.EndSession{}.Kind(), rules.RequireAir{}.Kind(), rules.LimitGas{}.Kind(),
		rules.ShelveAlarm{}.Kind(), rules.RecordDrill{}.Kind(), rules.TestSounder{}.Kind(), rules.ReportComplaint{}.Kind()))
}

// scripted sends a form by a button as the script of the page does, on the lab computer.
func (s *north) scripted(form *formtest.Form, button string) answer {
	s.t.Helper()
	r := s.request(s.t.Context(), form.Path(), form.Sending(button).Encode())
	r.Header.Set("Accept", "text/plain")
	return s.asks(r)
}

func TestAClockIsStartedWithAndWithoutScript(t *testing.T) {
	s := classroom(t)
	require.Contains(t, s.page(timerPage), "No timer is running")
	s.fills(timerPage, "start").Send()
	s.Passes(10 * time.Second)
	require.Contains(t, s.page(timerPage), `<p class="face-time" role="timer">1:56</p>`)
	require.Contains(t, s.page("/"), `data-timer="1" data-state="running"`)
	require.Equal(t, http.StatusNoContent, s.scripted(s.fills(timerPage, "pause"), "Pause 1").Code)
	require.Contains(t, s.page(timerPage), "Undo the pause")
}

func TestAScriptIsAnsweredInPlainText(t *testing.T) {
	s := newNorth(t)
	heard := s.fills("/", "sounder")
	require.Contains(t, s.scripted(heard, "yes").Body, "Please fill in: Your name")
	require.Equal(t, "The test of the sounds was entered by Ida.", s.scripted(heard.Fill("who", "Ida"), "yes").Body)
}

// "1,500" is one and a half thousand or one and a half, by where somebody learned to write.
func TestANumberThatReadsTwoWaysIsAskedAboutOnTheFormsOfTheAir(t *testing.T) {
	s := halted(t)
	limit := s.fills("/rooms/north/air/limits", "limit", "agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure",
		"1,500 ppb",
		"standing", "verified", "whose", "x", "edition", "2026", "who", "Ida")
	for form, page := range map[string]string{
		"a limit":   s.read(limit.Send()),
		"a decay":   s.page("/rooms/north/air/test?method=decay&background=420&points=0%3D1,920+3%3D1330+6%3D1012&empty=yes&error=50"),
		"a steady":  s.page("/rooms/north/air/test?method=steady+CO2&background=420&settled=1,500&people=3"),
		"a section": s.page("/rooms/north/air/traverse?shape=round&diameter=1,500"),
	} {
		require.Regexp(t, `1,(500|920).*: (1500|1920).* or 1\.(5|92).*\? Write the one you mean without the comma`, page, form)
	}
	require.Empty(t, s.Kept(rules.StartSession{}.Kind(), rules.EndSession{}.Kind(), rules.RequireAir{}.Kind(), rules.LimitGas{}.Kind(),
		rules.ShelveAlarm{}.Kind(), rules.RecordDrill{}.Kind(), rules.TestSounder{}.Kind(), rules.ReportComplaint{}.Kind()))
}

// One press says that an alarm was seen: no name is asked in the dark, and the record keeps by which screen.
func TestOnePressOnTheBoardSaysThatAnAlarmWasSeen(t *testing.T) {
	for _, c := range []struct{ header, screen string }{{"X-Forwarded-For", "another device"}, {"X-Of-No-Meaning", "the lab computer"}} {
		s := halted(t, func(c *config.Config) { c.Access.Proxies = []netip.Addr{netip.MustParseAddr("127.0.0.1")} })
		require.Contains(t, s.page("/"), `name="alarm" value="air"`)
		form := s.opens("/").Form(formtest.Doing("seen"), formtest.Having("alarm", "air"))
		r := s.request(t.Context(), form.Path(), form.Sending(form.Buttons()[0]).Encode())
		r.Header.Set("Accept", "text/plain")
		r.Header.Set(c.header, "192.0.2.7")
		require.Equal(t, http.StatusNoContent, s.asks(r).Code)
		act, by := lastOf[rules.AcknowledgeAlarm](s, rules.AcknowledgeAlarm{}.Kind())
		require.Equal(t, rules.AcknowledgeAlarm{Alarm: "air", Screen: c.screen}, act)
		require.Empty(t, by.Person)

		form.Send()
		require.Len(t, s.Kept(act.Kind()), 1, "a press that comes late changes nothing")
		require.Regexp(t, `data-key="A" disabled="disabled"`, s.page("/"))
	}
}

// Who pressed is asked in the light: a name on a button, a name typed, or that nobody remembers.
func TestWhoSawAnAlarmIsAskedInTheLight(t *testing.T) {
	const save, nobody = "Save this name", "Nobody remembers"
	for _, c := range []struct{ page, saw, button string }{{tonightPage, "Ben", save}, {alarmsPage, "Ben", save}, {tonightPage, "", nobody}} {
		s := halted(t)
		s.opens("/").Form(formtest.Doing("seen"), formtest.Having("alarm", "air")).Send()
		require.Contains(t, s.page(c.page), "Somebody pressed Seen at the lab computer, 20:")
		if c.button == nobody {
			require.Contains(t, s.fills(c.page, "name-seer").Press(save).Problem(), "Please fill in: Somebody else")
		}
		require.Empty(t, s.fills(c.page, "name-seer", "saw", c.saw).Press(c.button).Problem())
		act, by := lastOf[rules.NameSeer](s, rules.NameSeer{}.Kind())
		require.Equal(t, []string{"air", c.saw, c.saw}, []string{act.Alarm, act.Saw, by.Person})
		require.WithinDuration(t, s.Clock.Now().Wall, act.Raised, 3*time.Minute)
	}
}

// One press starts the sheet; its chip goes from tray to tray, each with the time of that bath,
// and one that has no time says why and waits for a press.
func TestTheTimerCallsTheBathsBehindTheDeveloper(t *testing.T) {
	s := stocked(t)
	fixer := mixed("F1", fixerTray, 400, 1600)
	fixer.Aim = ledger.Parts{Parent: 1, Water: 4}
	s.Does(nine("D1", developerTray, 200, 1800), fixer)
	require.Contains(t, s.sent(s.opens(timerPage).Form(formtest.Having("paper", "1")).Send()), `aria-pressed="true">RC`)
	require.Contains(t, s.sent(s.fills(timerPage, "start").Send()), "Then stop bath 0:10")
	s.Minutes(2, northtest.Usual())
	s.Passes(8 * time.Second)
	html := s.page(timerPage)
	require.Contains(t, html, `data-bath="Stop bath"`)
	require.Regexp(t, `Then first fixer 0:3\d`, html)
	require.Regexp(t, `(?s)id="bath-stop".*sheet 1 RC.*id="bath-fixer"`, s.page("/"))
	require.Contains(t, s.page("/"), "No white light: a sheet is in the stop bath.")
	s.Minutes(1, northtest.Usual())
	require.Contains(t, s.page("/"), "Wash, RC: 1 sheet, in for")
	html = s.page(timerPage)
	require.Contains(t, html, "No time: the temperature is not known: measure it. 2:00 from 20 °C on, longer when colder",
		"the wash of this room has no probe")
	require.Contains(t, html, "No timer is running")
	washed := s.fills(timerPage, "washed")
	require.NotContains(t, s.sent(washed.Send()), "Wash, RC")

	const why = "No print on this paper is in the wash any more."
	s.opens(timerPage).Form(formtest.Having("paper", "0")).Send() // the same press that comes twice in a row is one that bounced
	late := s.scripted(washed, washed.Buttons()[0])
	require.Equal(t, http.StatusConflict, late.Code, "a press that fails says why, to a script too")
	require.Equal(t, why, late.Body)
	require.Contains(t, s.read(washed.Send()), why)
	require.Equal(t, http.StatusBadRequest, s.sends(timerPage, formtest.Forged("act", "pause", "number", "one")).Code)
}

func TestASheetPastItsTimeIsAskedForWhereNothingElseIsToBeDone(t *testing.T) {
	s := classroom(t)
	s.sent(s.fills(timerPage, "start").Send())
	s.Minutes(2, northtest.Usual())
	require.Contains(t, s.page("/"), "Nothing to do.")
	s.Minutes(1, northtest.Usual())
	for _, page := range []string{"/", timerPage} {
		require.Contains(t, s.page(page), "Sheet 1 is past its time: move it on.")
		require.NotContains(t, s.page(page), "Nothing to do")
	}
	require.Contains(t, s.page("/"), `class="todo quiet late"`, "in the frame of what is to be done")
}
