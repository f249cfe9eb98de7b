package session_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/session"
	"wetside/sensors"
)

// night plays a session step by step.
type night struct {
	s   session.Session
	now sensors.Instant
}

func (n *night) step(d time.Duration, e session.Evidence) session.Phase {
	n.now.Mono += d
	n.now.Wall = n.now.Wall.Add(d)
	n.s = n.s.Step(e, n.now)
	return n.s.Phase
}

// last takes steps of half a minute.
func (n *night) last(d time.Duration, e session.Evidence) session.Phase {
	for ; d > 0; d -= 30 * time.Second {
		n.step(30*time.Second, e)
	}
	return n.s.Phase
}

func newNight(at time.Time) *night { return &night{now: sensors.Instant{Wall: at, Mono: sinceBoot}} }

// sinceBoot is what the monotonic clock says at the start of a night.
const sinceBoot = 100 * time.Hour

func evening() time.Time { return time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC) }

func booking() session.Booking {
	return session.Booking{Title: "Beginners", From: evening().Add(time.Hour), To: evening().Add(4 * time.Hour)}
}

func TestPhasesFollowFromWhatHappens(t *testing.T) {
	idle, fan, open := session.Evidence{}, session.Evidence{FanOn: true}, session.Evidence{FanOn: true, Filled: 2, Uncovered: 2,
		Known: true, Proven: true, Flow: 300}
	for _, e := range []*session.Evidence{&idle, &fan, &open} {
		e.Booking = booking()
	}
	n := newNight(evening().Add(-30 * time.Hour))
	require.Equal(t, session.None, n.step(time.Second, idle), "planned sessions are announced a day before")
	require.Equal(t, session.Planned, n.step(7*time.Hour, idle))
	require.Equal(t, session.Planned, n.step(20*time.Hour, fan), "a fan three hours early airs the room")
	require.Equal(t, session.SetUp, n.step(2*time.Hour, fan))
	require.Equal(t, session.SetUp, n.step(time.Minute, open), "trays are filled before the hour")
	require.Equal(t, session.Open, n.step(2*time.Hour, open))
	require.Equal(t, session.TakeDown, n.step(time.Minute, fan))
	require.Equal(t, session.Open, n.step(time.Minute, open), "a tray is filled again")
	require.Equal(t, session.TakeDown, n.step(time.Minute, fan))
	require.Equal(t, session.TakeDown, n.last(9*time.Minute, idle))
	require.Equal(t, session.Closed, n.last(3*time.Minute, idle))
	require.Equal(t, session.Closed, n.last(30*time.Minute, fan), "the same booking is not opened by its own post-purge")
}

func TestASetUpThatNobodyFollowsIsGivenUp(t *testing.T) {
	fan := session.Evidence{Booking: booking(), FanOn: true}
	n := newNight(evening())
	require.Equal(t, session.SetUp, n.step(time.Second, fan))
	require.Equal(t, session.SetUp, n.last(59*time.Minute, session.Evidence{Booking: booking()}))
	require.Equal(t, session.Closed, n.last(5*time.Minute, session.Evidence{Booking: booking()}))
}

// A session that nobody planned has no hour that came.
func TestASessionOutsideTheCalendarOpensByItsTraysAlone(t *testing.T) {
	why := func(planned session.Booking) string {
		n := newNight(evening())
		n.step(time.Second, session.Evidence{Booking: planned, FanOn: true})
		if !n.s.Phase.Running() {
			var err error
			n.s, err = n.s.Start(session.SetUp, session.Entry{By: "Ada"}, n.now)
			require.NoError(t, err)
		}
		require.Equal(t, session.Open, n.last(2*time.Hour, session.Evidence{Booking: planned, FanOn: true, Filled: 1}))
		return n.s.Why.String()
	}
	require.Equal(t, "trays are filled", why(session.Booking{}))
	require.Equal(t, "trays are filled and the planned hour has come", why(booking()))
}

func TestMinutesAreCountedAsTheyWere(t *testing.T) {
	moving := session.Evidence{FanOn: true, Filled: 3, Uncovered: 2, Known: true, Proven: true, Flow: 300}
	stopped := session.Evidence{Filled: 3, Uncovered: 2, Known: true, Unserved: 2}
	unknown := session.Evidence{Filled: 3, Uncovered: 2, Unserved: 2}
	covered := session.Evidence{Filled: 3, Known: true, Proven: true, Flow: 300}
	n := newNight(evening())
	n.step(0, moving)
	n.last(30*time.Minute, moving)
	n.last(10*time.Minute, stopped)
	n.last(5*time.Minute, unknown)
	n.last(15*time.Minute, covered)
	tally := n.s.Tally
	require.InDelta(t, 45, tally.Trays.Open.Minutes(), 1)
	require.InDelta(t, 15, tally.Trays.Unproven.Minutes(), 1)
	require.InDelta(t, 30, tally.Trays.TrayUnproven.Minutes(), 2, "two trays each")
	require.InDelta(t, 5, tally.LongestGap.Minutes(), 1)
	coverage, ok := tally.Coverage()
	require.True(t, ok)
	require.InDelta(t, 40.0/45, coverage, 0.02)
	flow, ok := tally.MeanFlow()
	require.True(t, ok)
	require.InDelta(t, 300, float64(flow), 1e-6)
}

// What is written down of a session that runs is never taken back: it ends with the last sample
// of the flow, and what comes after that counts when the next sample comes or is missing.
func TestWhatIsSettledEndsWithTheLastSampleOfTheFlow(t *testing.T) {
	heard := session.Evidence{FanOn: true, Filled: 1, Uncovered: 1, Known: true, Proven: true, Flow: 300, Heard: evening()}
	n := newNight(evening())
	n.step(0, heard)
	n.step(10*time.Second, heard)
	require.Equal(t, 10*time.Second, n.s.Tally.Known)
	require.Equal(t, evening(), n.s.Settled().Tally.To)
	require.Zero(t, n.s.Settled().Tally.Watched)
	again := heard
	again.Heard = evening().Add(15 * time.Second)
	n.step(5*time.Second, again)
	require.Equal(t, n.s.Tally, n.s.Settled().Tally)
	require.Equal(t, 15*time.Second, n.s.Tally.Known)
	silent := again
	silent.Known, silent.Proven, silent.Unserved = false, false, 1
	n.step(20*time.Second, again)
	n.step(10*time.Second, silent)
	require.Equal(t, 30*time.Second, n.s.Settled().Tally.Trays.Unproven)
	require.Equal(t, n.now.Wall, n.s.Settled().Tally.To, "nothing takes back that the flow was not known")
}

func TestNothingIsTakenBackOfASessionThatIsOver(t *testing.T) {
	heard := session.Evidence{FanOn: true, Filled: 1, Uncovered: 1, Known: true, Proven: true, Flow: 300, Heard: evening()}
	n := newNight(evening())
	n.step(0, heard)
	n.step(10*time.Second, heard)
	heard.Filled, heard.Uncovered = 0, 0
	n.step(time.Second, heard)
	var err error
	n.s, err = n.s.End(session.Closed, "Ada", n.now)
	require.NoError(t, err)
	recorded := n.s.Tally
	require.Equal(t, 11*time.Second, recorded.Known)
	n.step(20*time.Second, session.Evidence{Heard: evening()})
	recorded.To = n.s.Tally.To
	require.Equal(t, recorded, n.s.Tally)
}

func TestTimeInWhichNobodyLookedCountsAsNotProven(t *testing.T) {
	moving := session.Evidence{FanOn: true, Filled: 1, Uncovered: 1, Known: true, Proven: true, Flow: 300}
	n := newNight(evening())
	n.step(0, moving)
	n.last(30*time.Minute, moving)

	kept, err := json.Marshal(n.s)
	require.NoError(t, err)
	var back session.Session
	require.NoError(t, json.Unmarshal(kept, &back))
	after := &night{s: back, now: sensors.Instant{Wall: n.now.Wall.Add(20 * time.Minute)}}
	after.step(0, moving)
	require.Equal(t, session.Open, after.s.Phase)
	require.InDelta(t, 20, after.s.Tally.Trays.Unproven.Minutes(), 0.01)
	require.InDelta(t, 50, after.s.Tally.Trays.Open.Minutes(), 0.6)

	late := &night{s: back, now: sensors.Instant{Wall: n.now.Wall.Add(48 * time.Hour)}}
	late.step(0, moving)
	require.Equal(t, late.now.Wall, late.s.Tally.To)
	require.Zero(t, late.s.Tally.Trays.Unproven, "trays left for days were forgotten, not worked with")
}

func TestWhatIsCountedNeverExceedsTheTimeThatPassed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := newNight(evening())
		n.step(0, session.Evidence{Filled: 1, Uncovered: 1})
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			e := session.Evidence{Filled: rapid.IntRange(0, 4).Draw(t, "filled"), FanOn: rapid.Bool().Draw(t, "on"),
				Known: rapid.Bool().Draw(t, "known"), Flow: 250}
			e.Uncovered = rapid.IntRange(0, e.Filled).Draw(t, "uncovered")
			e.Proven = e.Known && e.FanOn
			n.now.Wall = n.now.Wall.Add(time.Duration(rapid.IntRange(-7200, 7200).Draw(t, "set")) * time.Second) // somebody sets the clock
			n.step(time.Duration(rapid.IntRange(0, 120).Draw(t, "seconds"))*time.Second, e)
			if n.s.Phase == session.Closed {
				return
			}
		}
		y := n.s.Tally
		require.LessOrEqual(t, y.Trays.Open, n.now.Mono-sinceBoot)
		require.LessOrEqual(t, y.Trays.Unproven, y.Trays.Open)
		require.LessOrEqual(t, y.Known, y.Watched)
		require.LessOrEqual(t, y.LongestGap, y.Watched-y.Known)
		require.Equal(t, y.Watched, y.Trays.Open)
	})
}

func TestAFormOpensAndEndsASession(t *testing.T) {
	n := newNight(evening())
	s, err := n.s.Start(session.Open, session.Entry{By: "Ada", Title: "Open evening", People: 6, Until: evening().Add(3 * time.Hour)}, n.now)
	require.NoError(t, err)
	require.Equal(t, session.Open, s.Phase)
	require.Equal(t, "Ada", s.Leader)
	require.Equal(t, "Open evening", s.Title)
	s, err = s.Start(session.Open, session.Entry{By: "Ben"}, n.now)
	require.NoError(t, err)
	require.Equal(t, "Open evening", s.Title, "an entry without a title keeps the one that there is")
	require.Equal(t, "Ben", s.Leader)
	s, err = s.End(session.TakeDown, "Ada", n.now)
	require.NoError(t, err)
	s, err = s.End(session.Closed, "Ada", n.now)
	require.NoError(t, err)
	_, err = s.End(session.Closed, "Ada", n.now)
	require.ErrorIs(t, err, session.ErrNotRunning)
	for _, e := range []session.Entry{{People: -1}, {People: 1001}, {Until: evening()}, {Until: evening().Add(25 * time.Hour)}} {
		_, err := n.s.Start(session.Open, e, n.now)
		require.Error(t, err)
	}
}

// TestASilenceOfTheFlowIsNotKnownFromTheLastSampleOn has a probe that speaks every 5 s and may
// be silent for 15 s: whether the next sample comes in time is known only then.
func TestASilenceOfTheFlowIsNotKnownFromTheLastSampleOn(t *testing.T) {
	begin := time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC)
	counted := func(silentFrom, silentTo int) session.Tally {
		var s session.Session
		heard := begin
		for second := 0; second <= 300; second++ {
			now := sensors.Instant{Wall: begin.Add(time.Duration(second) * time.Second), Mono: time.Duration(second) * time.Second}
			if second%5 == 0 && (second <= silentFrom || second >= silentTo) {
				heard = now.Wall
			}
			known := now.Wall.Sub(heard) <= 15*time.Second
			s = s.Step(session.Evidence{Filled: 1, Uncovered: 1, Known: known, Proven: known, Flow: 270, Heard: heard}, now)
		}
		return s.Tally
	}
	whole := counted(300, 300)
	require.Equal(t, 5*time.Minute, whole.Known)
	require.Equal(t, whole, counted(60, 75), "the next sample came in time")
	silent := counted(60, 180)
	require.Equal(t, 3*time.Minute, silent.Known, "two minutes from the last sample to the next are missing as a whole")
	require.Equal(t, 2*time.Minute, silent.LongestGap)
	require.Equal(t, 2*time.Minute, silent.Trays.Unproven)
	require.Equal(t, 3*time.Minute, silent.FanTime)
	require.Equal(t, 5*time.Minute, silent.Trays.Open)
}
