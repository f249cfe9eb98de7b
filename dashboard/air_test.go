package dashboard_test

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

// proven is a room with an invented traverse, purge, calendar and gas probe, after
// some minutes in which everything ran.
func proven(t testing.TB) *pages {
	t.Helper()
	p := newPages(t)
	p.Commission()
	p.Breathe()
	p.Minutes(2, viewtest.Usual(), viewtest.Values{}) // the calendar is asked once a minute
	p.FillTrays()
	p.Minutes(20, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	return p
}

// halted is a room whose fan has stopped while trays are uncovered.
func halted(t testing.TB) *pages {
	t.Helper()
	p := proven(t)
	p.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	p.Publish()
	return p
}

func TestTheAirPageSaysWhatIsProvenAndByWhat(t *testing.T) {
	p := proven(t)
	text := p.page("/rooms/north/air") + p.page("/rooms/north/air/limits")
	for _, words := range []string{"MOVING", "decision of the place",
		"commissioned 300.0 m³/h; low below 80 % of it = 240.0 m³/h",
		breathing.Statement().String(), "acetic acid", "CAS 64-19-7", "Now: 2.4 ppm", "invented place, short-term average over 15 min: 15 ppm",
		"unverified, check your jurisdiction",
		"Beginners", `<dt>Airflow known for</dt><dd class="live" data-figure="coverage" data-gone="--">100 %`,
		"Nothing was measured in this period"} {
		require.Contains(t, text, words)
	}
	require.Contains(t, text, "Only one reading, of ", "the room has one flow probe")
	require.Contains(t, p.page("/rooms/north/air?look=red"), `data-look="red"`)
}

// Air that has stopped and moves again asks for nothing but a look: no HALT beside MOVING.
func TestAnAlarmThatIsOverIsToldInThePast(t *testing.T) {
	p := halted(t)
	require.Contains(t, p.page("/"), "HALT")
	p.Minutes(3, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	board := p.page("/")
	require.Regexp(t, `The air stopped \d\d:\d\d to \d\d:\d\d and moves again\. Seen\?`, board)
	require.NotContains(t, board, "HALT")
	require.NotContains(t, board, "todo urgent")
	require.Contains(t, board, "MOVING")
}

func TestTheBoardSaysWhereTheEveningStands(t *testing.T) {
	p := proven(t)
	require.Contains(t, p.page("/"), "Beginners · open · until 23:00")
	quiet := newPages(t)
	quiet.Commission()
	quiet.Minutes(3, viewtest.Usual(), viewtest.Values{})
	quiet.Publish()
	text := quiet.page("/")
	require.Contains(t, text, "Airing before the trays are uncovered")
	require.Contains(t, text, "Alarms are off until")
}

// While the fan clears the air of covered or emptied trays there is something to do: to leave it on.
func TestTheFanIsLeftOnUntilTheRoomIsAired(t *testing.T) {
	filled, empty := proven(t), newPages(t)
	empty.Minutes(12, viewtest.Usual(), viewtest.Values{})
	board := func(p *pages, purge rules.PurgeView, phase session.Phase) string {
		snap := *p.Publish()
		snap.Purge, snap.Session.Phase = &purge, phase
		p.Show(&snap)
		return p.page("/")
	}
	for _, p := range []*pages{filled, empty} {
		for _, phase := range []session.Phase{session.SetUp, session.TakeDown, session.Closed} {
			html := board(p, rules.PurgeView{After: true}, phase)
			require.Contains(t, html, "Leave the fan on until the room is aired.")
			require.NotContains(t, html, "Nothing to do.")
			require.NotContains(t, html, "still empty", "nobody fills trays that were just emptied")
		}
	}
	require.Contains(t, board(empty, rules.PurgeView{After: true, Done: true}, session.TakeDown), "The room is aired: the fan may go off.")
	require.Contains(t, board(filled, rules.PurgeView{After: true, Done: true}, session.Open), "Nothing to do.", "the class goes on")
	require.Contains(t, board(filled, rules.PurgeView{}, session.Open), "Nothing to do.", "before the class it is waited for")
}

func TestAHaltSoundsUntilItIsSeen(t *testing.T) {
	p := halted(t)
	require.Contains(t, p.page("/"), `data-sound="act" data-alarms="air@`)
	p.Show(viewtest.Acknowledge(*p.Now().Rooms[0]))
	require.Contains(t, p.page("/"), `data-sound="" data-alarms=""`)
}

func TestEveryActOnAlarmsAndSessionsGoesToTheRoomAsItWasTyped(t *testing.T) {
	p := halted(t)
	now := p.Clock.Now().Wall
	for _, c := range []struct {
		page, act string
		typed     []string
		want      rules.Act
	}{
		{"alarms", "acknowledge", []string{"done", "switched it on"}, rules.AcknowledgeAlarm{Alarm: "air", Done: "switched it on"}},
		{"alarms", "shelve", []string{"minutes", "60", "why",
			"belt is changed"}, rules.ShelveAlarm{Alarm: "air", Until: now.Add(time.Hour), Why: "belt is changed"}},
		{"alarms", "disable", []string{"why", "probe is out"}, rules.DisableAlarm{Alarm: "air", Why: "probe is out"}},
		{"alarms", "complain", []string{"complaint", "sharp smell"}, rules.ReportComplaint{What: "sharp smell"}},
		{"alarms", "drill", []string{"drill", "fan off", "found", "all left"}, rules.RecordDrill{What: "fan off", Found: "all left"}},
		{"alarms", "sounder", []string{"place", "tablet", "heard", "no"}, rules.TestSounder{Where: "tablet"}},
		{"air", "begin", []string{"phase", "open", "title", "Evening class", "people", "12", "until", "22:30"},
			rules.StartSession{Phase: session.Open,
				Entry: session.Entry{Title: "Evening class", People: 12, Until: time.Date(2026, 1, 15, 22, 30, 0, 0, p.Now().Zone)}}},
		{"air", "end", []string{"phase", "take-down", "note", "all well"}, rules.EndSession{Phase: session.TakeDown, Note: "all well"}},
		{"air/limits", "require", []string{"asked", "flow a floor area", "figure", "1 cfm/ft2", "whose", "invented code", "edition", "2018",
			"effective", "2026-02-01"}, rules.RequireAir{
			Asked: ventilation.FloorFlow, Value: 5.08, Amendment: rules.Amendment{Source: "invented code", Edition: "2018",
				Effective: time.Date(2026, 2, 1, 0, 0, 0, 0, p.Now().Zone)}}},
		{"air/limits", "require-change", []string{"row", "air changes|decision of the place", "figure",
			"8"}, rules.RequireAir{Asked: ventilation.AirChangeRate, Value: 8, Amendment: rules.Amendment{Source: "decision of the place"}}},
		{"air/limits", "require-off", []string{"row", "air changes|decision of the place", "why", "the code asks for more"}, rules.RequireAir{
			Asked: ventilation.AirChangeRate, Amendment: rules.Amendment{Source: "decision of the place", Off: true,
				Why: "the code asks for more"}}},
		{"air/limits", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "short-term average", "window", "15 min",
			"figure",
			"25 mg/m³", "standing", "verified", "whose", "minutes of May", "edition", "2026", "effective",
			"2026-02-01"}, rules.LimitGas{Agent: "acetic acid", Jurisdiction: "House", Limit: breathing.ShortTerm, Minutes: 15, Value: 25,
			Unit: "mg/m3", Standing: breathing.Verified, Amendment: rules.Amendment{Source: "minutes of May", Edition: "2026",
				Effective: time.Date(2026, 2, 1, 0, 0, 0, 0, p.Now().Zone)}}},
		{"air/limits", "limit", []string{"agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure", "25 ppb", "standing",
			"verified", "whose", "minutes", "edition", "2026"}, rules.LimitGas{
			Agent: "acetic acid", Jurisdiction: "House", Limit: breathing.Ceiling, Value: 25, Unit: "ppb", Standing: breathing.Verified,
			Amendment: rules.Amendment{Source: "minutes", Edition: "2026"}}},
		{"air/limits", "limit-off", []string{"row", "acetic acid|invented place|long-term average|480", "why", "another list"}, rules.LimitGas{
			Agent: "acetic acid", Jurisdiction: "invented place", Limit: breathing.LongTerm, Minutes: 480, Amendment: rules.Amendment{Off: true,
				Why: "another list"}}},
		{"air/limits", "unexposed", []string{"why", "no other work with acid", "effective", "2026-02-01"}, rules.StateUnexposed{
			Why: "no other work with acid", Effective: time.Date(2026, 2, 1, 0, 0, 0, 0, p.Now().Zone)}},
	} {
		form := p.opens("/rooms/north/" + c.page).First(formtest.Doing(c.act)).FillIn(c.typed...) // the first alarm is that of the air
		back := form.Send()
		require.Contains(t, back.Problem(), "Please fill in: Your name", c.act)
		again := back.Form(formtest.Having("token", form.Values().Get("token")))
		require.Equal(t, form.Values(), again.Values(), "what was typed is still there")
		require.Contains(t, p.sent(again.Fill("who", "Ida").Send()), "Recorded as number 1.", c.act)
		commands := p.Commands()
		require.Equal(t, rules.Command{Room: "north", Person: "Ida", Act: c.want}, commands[len(commands)-1])
	}
}

func TestWhatCannotBeReadIsSaidInOneSentence(t *testing.T) {
	p := halted(t)
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
		require.Contains(t, p.opens(page).First(formtest.Doing(c.act)).FillIn(c.typed...).Fill("who", "Ida").Send().Problem(), c.want, c.typed)
	}
	for _, c := range []struct{ want, page, act, field, value string }{
		{"Phase: choose one.", "/rooms/north/air", "end", "phase", "over"},
		{"For how long: choose one.", alarmsPage, "shelve", "minutes", "99999"},
		{"Limit: choose one.", "/rooms/north/air/limits", "limit-off", "row", "a|b"},
		{"Kind of requirement: choose one.", "/rooms/north/air/limits", "require", "asked", ""},
		{"This form asks for something wetside does not know", alarmsPage, "drill", "act", "wind up"},
	} {
		form := p.opens(c.page).First(formtest.Doing(c.act)).Fill("who", "Ida").Forge("no form offers that", c.field, c.value)
		require.Contains(t, form.Send().Problem(), c.want)
	}
	require.Empty(t, p.Commands())
}

func TestShelvedAndDisabledAlarmsStandAside(t *testing.T) {
	p := halted(t)
	snap := *p.Now().Rooms[0]
	snap.Aside = []rules.AlarmView{{ID: "make-up", State: "shelved", Text: phrase.Say("Make-up air is blocked"), By: "Ida",
		Note: "cloth on the grille", Until: p.Clock.Now().Wall.Add(time.Hour)}}
	p.Show(&snap)
	text := p.page("/rooms/north/alarms")
	require.Contains(t, text, "Snoozed")
	require.Contains(t, text, "Ida: cloth on the grille")
	require.Contains(t, text, `name="act" value="restore"`)
	moving := snap
	moving.Air.State = ventilation.Moving
	p.Show(&moving)
	require.Contains(t, p.page("/"), "Alarms snoozed or off: 1.")
}

// scripted sends a form by a button as the script of the page does, on the lab computer.
func (p *pages) scripted(form *formtest.Form, button string) *httptest.ResponseRecorder {
	p.t.Helper()
	r := httptest.NewRequest(http.MethodPost, form.Path(), strings.NewReader(form.Sending(button).Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "text/plain")
	r.RemoteAddr = "127.0.0.1:4711"
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	return out
}

const clockPage = "/rooms/north/clock"

func TestAClockIsStartedWithAndWithoutScript(t *testing.T) {
	p := evening(t)
	require.Contains(t, p.page("/rooms/north/clock"), "No timer is running")
	p.fills(clockPage, "start").Send()
	p.Clock.Advance(10 * time.Second)
	require.Contains(t, p.page("/rooms/north/clock"), `<p class="face-time" role="timer">1:56</p>`)
	require.Contains(t, p.page("/"), `data-clock="1" data-state="running"`)
	require.Equal(t, http.StatusNoContent, p.scripted(p.fills(clockPage, "pause"), "Pause 1").Code)
	require.Contains(t, p.page("/rooms/north/clock"), "Undo the pause")
}

func TestAPressThatFailsSaysWhy(t *testing.T) {
	p := evening(t)
	p.FailClocks(errors.New("no batch is entered for this tray"))
	start := p.fills(clockPage, "start")
	out := p.scripted(start, start.Buttons()[0])
	require.Equal(t, http.StatusConflict, out.Code)
	require.Equal(t, "No batch is entered for this tray.", out.Body.String())
	require.Contains(t, p.read(start.Send()), "No batch is entered for this tray.")
	require.Equal(t, http.StatusBadRequest, p.sends(clockPage, formtest.Forged("act", "pause", "number", "one")).Code)
}

func TestAScriptIsAnsweredInPlainText(t *testing.T) {
	p := evening(t)
	heard := p.fills("/", "sounder")
	require.Contains(t, p.scripted(heard, "yes").Body.String(), "Please fill in: Your name")
	require.Equal(t, "Recorded as number 1.", p.scripted(heard.Fill("who", "Ida"), "yes").Body.String())
}

// "1,500" is one and a half thousand or one and a half, by where somebody learned to write.
func TestANumberThatReadsTwoWaysIsAskedAboutOnTheFormsOfTheAir(t *testing.T) {
	p := halted(t)
	limit := p.fills("/rooms/north/air/limits", "limit", "agent", "acetic acid", "jurisdiction", "House", "limit", "ceiling", "figure",
		"1,500 ppb",
		"standing", "verified", "whose", "x", "edition", "2026", "who", "Ida")
	for form, page := range map[string]string{
		"a limit":   p.read(limit.Send()),
		"a decay":   p.page("/rooms/north/air/test?method=decay&background=420&points=0%3D1,920+3%3D1330+6%3D1012&empty=yes&error=50"),
		"a steady":  p.page("/rooms/north/air/test?method=steady+CO2&background=420&settled=1,500&people=3"),
		"a section": p.page("/rooms/north/air/traverse?shape=round&diameter=1,500"),
	} {
		require.Regexp(t, `1,(500|920).*: (1500|1920).* or 1\.(5|92).*\? Write the one you mean without the comma`, page, form)
	}
	require.Empty(t, p.Commands())
}

// A room of which nothing is required yet has no limits either.
func TestTheAirPageSpeaksOfLimitsWhereThereAreSome(t *testing.T) {
	p := evening(t)
	const limits = "<strong>Limits:</strong>"
	require.Contains(t, p.page("/rooms/north/air"), limits)
	snap := *p.Now().Rooms[0]
	snap.Air.Limits = ventilation.Limits{}
	p.Show(&snap)
	require.NotContains(t, p.page("/rooms/north/air"), limits)
}
