package simroom_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/simroom"
)

func TestEveryLineSpeaksEverySecond(t *testing.T) {
	e := newEvening(t, "")
	require.Equal(t, "in-memory pipes", e.room.Kind())
	for range 60 {
		e.pass(time.Second)
		require.Equal(t, map[sensors.FrameResult]int{sensors.FrameGood: 1}, e.ears["trays"].frames)
		require.Equal(t, map[sensors.FrameResult]int{sensors.FrameGood: 1}, e.ears["air"].frames)
		require.Len(t, e.ears["trays"].values, 5)
		require.Len(t, e.ears["air"].values, 3)
		require.Len(t, e.ears["duct"].values, 9)
	}
	require.InDelta(t, 22.4, e.value("trays", "DEV"), 0.2)
	require.InDelta(t, 18.5, e.value("trays", "WSH"), 2)
	require.InDelta(t, 17.5, e.value("air", "AIR"), 0.5)
	require.InDelta(t, -5, e.value("air", "ROOM"), 1.5)
	require.InDelta(t, 4.72, e.register("VEL"), 0.2)
	require.InDelta(t, 13.4, e.register("VPR"), 1)
	require.InDelta(t, 1, e.register("FAN"), 0)
	require.InDelta(t, 420, e.register("CO2"), 30)
	require.InDelta(t, 0.05, e.register("ACA"), 0.1)
	require.InDelta(t, 0.02, e.register("SO2"), 0.05)
}

func TestALidOnAnEndOfTheHoodLowersThatEndAlone(t *testing.T) {
	e := newEvening(t, "10s block hood-right 1m; 90s stop fan")
	draws := func() (left, middle, right float64) { return e.register("HDL"), e.register("HDM"), e.register("HDR") }
	e.pass(9 * time.Second)
	left, middle, right := draws()
	require.InDelta(t, 0.44, left, 0.06)
	require.InDelta(t, 0.49, middle, 0.06)
	require.InDelta(t, 0.44, right, 0.06)
	e.pass(51 * time.Second)
	left, middle, right = draws()
	require.InDelta(t, 0.44, left, 0.06)
	require.InDelta(t, 0.49, middle, 0.06)
	require.InDelta(t, 0.09, right, 0.05)
	e.pass(25 * time.Second)
	_, _, right = draws()
	require.InDelta(t, 0.44, right, 0.06)
	e.pass(time.Minute)
	left, middle, right = draws()
	require.InDelta(t, 0, left+middle+right, 0.15, "with the fan at rest nothing is drawn")
}

// An evening with its incidents in thirty minutes of wire time.
func TestHalfAnHourPassesInLockStep(t *testing.T) {
	e := newEvening(t, "0s people 8; 5m pull trays 30s; 10m garble air 1m; 15m stop fan")
	e.pass(5*time.Minute - time.Second)
	warm := e.value("trays", "DEV")
	e.pass(time.Second)
	require.Empty(t, e.ears["trays"].values)
	e.pass(32 * time.Second)
	require.InDelta(t, warm, e.value("trays", "DEV"), 0.2)
	e.pass(10*time.Minute - 32*time.Second)
	stopped := e.register("CO2")
	e.pass(15 * time.Minute)
	require.Less(t, e.value("trays", "DEV"), warm-0.7)
	require.Greater(t, e.register("CO2"), stopped+500)
	require.InDelta(t, 0, e.register("VEL"), 0.15)
	require.InDelta(t, 0, e.register("FAN"), 0)
}

func TestEqualSeedsSayTheSame(t *testing.T) {
	a, b := newEvening(t, "10s garble trays 5s"), newEvening(t, "10s garble trays 5s")
	for range 120 {
		a.pass(time.Second)
		b.pass(time.Second)
		for name := range a.ears {
			require.Equal(t, a.ears[name].values, b.ears[name].values)
			require.Equal(t, a.ears[name].frames, b.ears[name].frames)
		}
	}
}

func TestAFastClockMakesTheRoomSpeakOnceForEverythingMissed(t *testing.T) {
	e := newEvening(t, "")
	e.clock.Advance(time.Hour)
	e.settle()
	e.listen()
	require.Equal(t, 1, e.ears["trays"].frames[sensors.FrameGood])
	require.Less(t, e.value("trays", "DEV"), 21.0, "an hour has passed in the trays")
}

func TestTheEveningRepeatsEveryDay(t *testing.T) {
	e := newEvening(t, "1h people 8; 3h people 0")
	e.pass(time.Second)
	for range 3 {
		require.Less(t, e.register("CO2"), 450.0)
		e.jump(2 * time.Hour)
		require.Greater(t, e.register("CO2"), 800.0)
		e.jump(22 * time.Hour)
	}
}

func TestADefaultEveningIsBelievable(t *testing.T) {
	events, err := simroom.Evening()
	require.NoError(t, err)
	require.NotEmpty(t, events)
	e := withEvents(t, events)

	e.jump(44 * time.Minute)
	cooled := e.value("trays", "DEV")
	require.Less(t, cooled, 21.9)
	e.jump(12 * time.Minute)
	require.Greater(t, e.value("trays", "DEV"), cooled+1.5, "the jacket")
	e.jump(65 * time.Minute)
	require.InDelta(t, 0, e.register("FAN"), 0, "the timer has run out in the middle of the class")
	require.Less(t, e.register("VEL"), 0.2)
	e.jump(15 * time.Minute)
	require.InDelta(t, 1, e.register("FAN"), 0)
	e.jump(3 * time.Hour)
	require.InDelta(t, e.value("air", "AIR"), e.value("trays", "DEV"), 0.3, "the trays are empty")
}

func TestStartAsksForWhatItNeeds(t *testing.T) {
	_, err := simroom.Start(t.Context(), simroom.Options{})
	require.ErrorContains(t, err, "needs a clock")
	_, err = simroom.Start(t.Context(), simroom.Options{Clock: clocktest.New(at18()), Pipes: true, Events: []simroom.Event{{}}})
	require.ErrorContains(t, err, "ParseSchedule")
}

func TestAStoppedRoomSaysSo(t *testing.T) {
	e := newEvening(t, "")
	stop, err := simroom.ParseTrouble("stop fan")
	require.NoError(t, err)
	require.ErrorContains(t, e.room.Do(simroom.Trouble{}), "ParseTrouble")
	canceled, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, e.room.Await(canceled, time.Hour), context.Canceled)
	e.room.Stop()
	e.room.Stop()
	require.ErrorIs(t, e.room.Do(stop), simroom.ErrStopped)
	require.ErrorIs(t, e.room.Await(t.Context(), 0), simroom.ErrStopped)
	require.Empty(t, e.room.Path("no such line"))
}

func ExampleStart() {
	clock := clocktest.New(time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC))
	room, err := simroom.Start(context.Background(), simroom.Options{Clock: clock, Seed: 1, Pipes: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer room.Stop()
	line, err := room.Opener().Open(context.Background(), sensors.LineSettings{Path: room.Path("trays")})
	if err != nil {
		fmt.Println(err)
		return
	}
	clock.Advance(time.Second)
	fmt.Printf("%s", <-line.Chunks())
	// Output: DEV=22.50C STP=19.56C FX1=20.06C FX2=19.50C WSH=18.49C;333E
}
