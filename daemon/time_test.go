package daemon_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors/clocktest"
	"wetside/sensors/simroom"
)

// quietly is an evening without trouble.
const quietly = "0s fill trays; 0s start fan"

// requireLive holds that the first tray has a live value and that nobody is alarmed.
func (e *evening) requireLive(why string) {
	n := e.now()
	require.NotNil(e, n.Rooms[0].Baths[0].Temperature, why)
	require.Empty(e, n.alarms(), why)
}

// steps are the clock steps in the book, in seconds.
func steps(t *testing.T, e *evening, store *history.Store) (n int) {
	records, err := store.Records(e.ctx, history.Query{Kinds: []string{history.KindClockStepped}})
	require.NoError(t, err)
	report, err := history.Verify(e.ctx, e.dir+"/data")
	require.NoError(t, err)
	require.NoError(t, report.Err())
	return len(records)
}

func TestStepsOfTheWallClockDisturbNoReadingAndStandInTheBook(t *testing.T) {
	e := newEvening(t, quietly)
	e.until(20 * time.Second)
	e.fillTrays()
	for _, step := range []time.Duration{time.Hour, -2 * time.Hour, 400 * 24 * time.Hour, -400 * 24 * time.Hour, 3 * time.Second} {
		e.clock.Step(step)
		e.until(e.passed + 20*time.Second)
		e.requireLive("after a step of " + step.String())
	}
	require.Equal(t, 5, steps(t, e, e.stop()))
}

func TestAfterASleepOfTheComputerTheLastValueIsNotShownAsLive(t *testing.T) {
	e := newEvening(t, quietly)
	e.until(20 * time.Second)
	quiet, err := simroom.ParseTrouble("silence trays 5s") // so that nothing is on its way when it falls asleep
	require.NoError(t, err)
	require.NoError(t, e.sim.Do(quiet))
	e.until(e.passed + 2*time.Second)
	e.requireLive("two seconds old")
	e.clock.Step(8 * time.Hour) // the monotonic time of a computer stands still while it sleeps
	_, err = e.daemon.Do(e.ctx, rules.Command{Room: "practice", Person: "invented volunteer",
		Act: rules.ReportComplaint{What: "the computer was asleep"}})
	require.NoError(t, err)
	require.Nil(t, e.now().Rooms[0].Baths[0].Temperature, "eight hours old")
	e.until(e.passed + 20*time.Second)
	e.requireLive("as soon as the probes are heard")
	require.Equal(t, 1, steps(t, e, e.stop()))
}

func TestADevelopmentClockSaysThatTheComputerMayHaveSleptWhileItRan(t *testing.T) {
	e := newEvening(t, quietly)
	e.until(5 * time.Second)
	e.fillTrays()
	e.until(10 * time.Second)
	e.press("start")
	e.until(20 * time.Second)
	e.clock.Step(-time.Hour)
	e.until(22 * time.Second)
	_, page := e.get("/rooms/practice/timer")
	require.NotContains(t, page, "The computer slept", "nobody sleeps backwards")
	e.clock.Step(6 * time.Minute) // a lid was closed: the monotonic time stood still
	e.until(24 * time.Second)
	_, page = e.get("/rooms/practice/timer")
	require.Regexp(t, "The computer slept or its clock jumped 6.*The print may have been in longer", page)
	_, page = e.get("/")
	require.Contains(t, page, "doubtful")
	e.press("start")
	e.until(26 * time.Second)
	_, page = e.get("/rooms/practice/timer")
	require.Equal(t, 1, strings.Count(page, "The computer slept"), "a sheet that went in afterwards is timed as ever")
	e.stop()
}

func TestTheNightOfTheClockChangeHasEverySecondOnce(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	begin := time.Date(2026, 10, 25, 0, 59, 30, 0, time.UTC) // at 01:00 UTC three o'clock becomes two
	e := eveningAt(t, quietly, clocktest.New(begin), berlin)
	e.until(time.Minute)
	e.requireLive("after the change")
	store := e.stop()
	require.Zero(t, steps(t, e, store))
	before := begin
	samples := 0
	for s, err := range store.Samples(e.ctx, "developer-tray", begin, begin.Add(time.Hour)) {
		require.NoError(t, err)
		require.True(t, !s.At.Before(before) && s.At.Sub(before) < 10*time.Second, "%v after %v", s.At, before)
		before = s.At
		samples++
	}
	require.InDelta(t, 60, samples, 6)
	records, err := store.Records(e.ctx, history.Query{})
	require.NoError(t, err)
	require.Equal(t, 7200, records[0].OffsetSeconds)
	require.Equal(t, 3600, records[len(records)-2].OffsetSeconds, "the stop; the start after it is the test's own")
}

func TestFortyNineDaysOfMonotonicTimeAreNoLimit(t *testing.T) {
	clock := clocktest.New(time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC))
	clock.Advance((1<<32)*time.Millisecond - 20*time.Second) // as long as milliseconds fit into 32 bits
	e := eveningAt(t, quietly, clock, nil)
	e.until(40 * time.Second)
	e.requireLive("past it")
	require.Zero(t, steps(t, e, e.stop()))
}
