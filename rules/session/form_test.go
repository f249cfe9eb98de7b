package session_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/session"
	"wetside/sensors"
)

func TestAFormStartsOnlyWhatIsAStartAndEndsOnlyWhatIsAnEnd(t *testing.T) {
	n := newNight(evening())
	for _, p := range []session.Phase{session.None, session.Planned, session.TakeDown, session.Closed} {
		_, err := n.s.Start(p, session.Entry{By: "Ada"}, n.now)
		require.ErrorContains(t, err, "starts with its set-up or open", p)
	}
	s, err := n.s.Start(session.SetUp, session.Entry{By: "Ada", People: 1000}, n.now)
	require.NoError(t, err)
	require.Equal(t, session.SetUp, s.Phase)
	later := sensors.Instant{Wall: n.now.Wall.Add(time.Hour), Mono: n.now.Mono + time.Hour}
	s, err = s.Start(session.Open, session.Entry{By: "Ben", Until: later.Wall.Add(24 * time.Hour), Session: "S1"}, later)
	require.NoError(t, err)
	require.Equal(t, session.Open, s.Phase)
	require.Equal(t, "opened by Ben", s.Why.String())
	require.Equal(t, n.now.Wall, s.Begun, "it goes on")
	require.Equal(t, later.Wall, s.Since)
	require.Equal(t, later.Wall.Add(24*time.Hour), s.To)
	s, err = s.Start(session.Open, session.Entry{By: "Ben"}, later)
	require.NoError(t, err)
	require.Equal(t, "S1", s.ID)
	require.Equal(t, later.Wall.Add(24*time.Hour), s.To, "an entry without an end keeps the one that there is")

	for _, p := range []session.Phase{session.SetUp, session.Open, session.Planned} {
		_, err := s.End(p, "Ada", later)
		require.ErrorContains(t, err, "ends with its take-down or closed", p)
	}
	filled := s.Step(session.Evidence{Filled: 1}, later)
	_, err = filled.End(session.Closed, "Ada", later)
	require.ErrorContains(t, err, "still filled")
	down, err := filled.End(session.TakeDown, "Ada", later)
	require.NoError(t, err)
	_, err = down.End(session.TakeDown, "Ada", later)
	require.ErrorContains(t, err, "in its take-down already")
}

// A session is that of the calendar from two hours before it to its end.
func TestASessionIsThatOfTheCalendarWhenOneIsDue(t *testing.T) {
	b := booking()
	for _, c := range []struct {
		at    time.Time
		title string
		phase session.Phase
	}{
		{b.From.Add(-2*time.Hour - time.Second), "", session.Open},
		{b.From.Add(-2 * time.Hour), "Beginners", session.SetUp},
		{b.From.Add(-time.Second), "Beginners", session.SetUp},
		{b.From, "Beginners", session.Open},
		{b.To.Add(-time.Second), "Beginners", session.Open},
		{b.To, "", session.Open},
	} {
		n := newNight(c.at)
		require.Equal(t, c.phase, n.step(0, session.Evidence{Booking: b, Filled: 1}), c.at)
		require.Equal(t, c.title, n.s.Title, c.at)
		require.Equal(t, c.title != "", n.s.To.Equal(b.To), c.at)
	}
	n := newNight(evening())
	require.Equal(t, session.Open, n.step(0, session.Evidence{Filled: 1}), "nothing is planned")
	require.Zero(t, n.s.From)
}

func TestASessionWithoutTraysIsOverThreeHoursAfterItsEnd(t *testing.T) {
	for _, c := range []struct {
		until time.Time // as entered
		over  time.Duration
	}{
		{evening().Add(time.Hour), 4 * time.Hour},
		{time.Time{}, 6 * time.Hour}, // it is taken to last three hours
	} {
		for _, p := range []session.Phase{session.SetUp, session.Open} {
			n := newNight(evening())
			n.step(0, session.Evidence{})
			var err error
			n.s, err = n.s.Start(p, session.Entry{Until: c.until}, n.now)
			require.NoError(t, err)
			require.Equal(t, p, n.step(c.over-time.Second, session.Evidence{FanOn: true}))
			require.Equal(t, session.Closed, n.step(time.Second, session.Evidence{FanOn: true}))
		}
	}
}

func TestATakeDownWithTheFanLeftOnEndsAfterThreeHoursAndATrayGoesOnWithIt(t *testing.T) {
	n := newNight(evening())
	n.step(0, session.Evidence{Filled: 2, Uncovered: 2})
	require.Equal(t, session.TakeDown, n.step(time.Minute, session.Evidence{FanOn: true}))
	require.Equal(t, session.TakeDown, n.step(3*time.Hour-time.Second, session.Evidence{FanOn: true}))
	require.Equal(t, session.Closed, n.step(time.Second, session.Evidence{FanOn: true}))
}

func TestAFlowHasAMeanFromTenMinutesOn(t *testing.T) {
	for lasts, known := range map[time.Duration]bool{10*time.Minute - 1: false, 10 * time.Minute: true} {
		flow, ok := session.Tally{Moved: 50, FanTime: lasts}.MeanFlow()
		require.Equal(t, known, ok, lasts)
		if known {
			require.InDelta(t, 300, float64(flow), 1e-9)
		}
	}
	_, ok := session.Tally{}.Coverage()
	require.False(t, ok)
}

// Over a restart of twenty minutes a session that had come to its trays had one uncovered; one that had
// not, or that was over with them, had none.
func TestWhatStoodUncoveredOverARestart(t *testing.T) {
	wet := session.Evidence{Filled: 1, Uncovered: 1, Booking: booking()}
	for _, c := range []struct {
		name  string
		lived func(n *night)
		open  time.Duration
	}{
		{"set up, no tray yet", func(n *night) { n.step(0, session.Evidence{FanOn: true, Booking: booking()}) }, 0},
		{"set up with a tray", func(n *night) { n.step(0, wet); n.step(time.Minute, wet) }, 21 * time.Minute},
		{"opened by hand, no tray yet", func(n *night) {
			n.step(0, session.Evidence{FanOn: true, Booking: booking()})
			n.s.Phase = session.Open
		}, 0},
		{"taken down", func(n *night) { n.step(0, wet); n.step(time.Minute, wet); n.s.Phase = session.TakeDown }, time.Minute},
	} {
		n := newNight(evening())
		c.lived(n)
		kept, err := json.Marshal(n.s)
		require.NoError(t, err)
		var back session.Session
		require.NoError(t, json.Unmarshal(kept, &back))
		after := &night{s: back, now: sensors.Instant{Wall: n.now.Wall.Add(20 * time.Minute)}}
		after.step(0, session.Evidence{FanOn: true, Booking: booking()})
		require.Equal(t, c.open, after.s.Tally.Trays.Open, c.name)
		require.Equal(t, n.s.Phase, after.s.Phase, "%s: nothing was emptied", c.name)
		require.Equal(t, after.s.Tally.Trays.Unproven, after.s.Tally.Trays.TrayUnproven, "%s: one tray", c.name)
		require.Equal(t, after.now.Wall, after.s.Tally.To, c.name)
	}
}

func TestWhatHeldAtAStepIsTakenToHoldForAMinute(t *testing.T) {
	moving := session.Evidence{FanOn: true, Filled: 1, Uncovered: 1, Known: true, Proven: true, Flow: 300}
	for span, known := range map[time.Duration]time.Duration{time.Minute: time.Minute, time.Minute + 1: 0} {
		n := newNight(evening())
		n.step(0, moving)
		n.step(span, moving)
		require.Equal(t, known, n.s.Tally.Known, span)
		require.Equal(t, span, n.s.Tally.Watched, span)
	}
}

func TestATakeDownIsOverTenMinutesAfterTheLastTrayAndTheFan(t *testing.T) {
	n := newNight(evening())
	n.step(0, session.Evidence{Filled: 1})
	var err error
	n.s, err = n.s.End(session.TakeDown, "Ada", n.now)
	require.NoError(t, err)
	require.Equal(t, session.TakeDown, n.last(20*time.Minute, session.Evidence{Filled: 1}), "a tray is filled still")
	require.Equal(t, session.TakeDown, n.step(0, session.Evidence{}))
	require.Equal(t, session.TakeDown, n.step(10*time.Minute-1, session.Evidence{}))
	require.Equal(t, session.Closed, n.step(1, session.Evidence{}))
}

func TestWhatIsPlannedFollowsTheCalendar(t *testing.T) {
	n := newNight(evening().Add(-10 * time.Hour))
	require.Equal(t, session.Planned, n.step(0, session.Evidence{Booking: booking()}))
	since := n.now.Wall
	n.step(time.Hour, session.Evidence{Booking: booking()})
	require.Equal(t, since, n.s.Since, "it was planned already")
	moved := booking()
	moved.Title, moved.From = "Advanced", moved.From.Add(time.Hour)
	n.step(time.Hour, session.Evidence{Booking: moved})
	require.Equal(t, "Advanced", n.s.Title)
	require.Equal(t, moved.From, n.s.From)
	require.Equal(t, session.SetUp, n.step(moved.From.Sub(n.now.Wall)-time.Minute, session.Evidence{Booking: moved, Filled: 1}))
	require.Equal(t, session.Open, n.step(time.Minute, session.Evidence{Booking: moved, Filled: 1}), "one tray will do")
}
