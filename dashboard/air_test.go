package dashboard_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

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
