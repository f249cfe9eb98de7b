package simroom_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

func TestAPulledPlugVanishesAndComesBackUnderItsName(t *testing.T) {
	e := newEvening(t, "")
	e.pass(10 * time.Second)
	old, path := e.ears["trays"].line, e.room.Path("trays")
	e.do("pull trays 30s")
	require.ErrorIs(t, old.Err(), sensors.ErrGone)
	for range 29 {
		e.pass(time.Second)
		require.Nil(t, e.ears["trays"].line)
		require.NotEmpty(t, e.ears["air"].values, "the other lines go on")
	}
	require.Equal(t, 1, e.ears["trays"].opened)
	e.pass(2 * time.Second)
	require.Equal(t, 2, e.ears["trays"].opened)
	require.Equal(t, path, e.room.Path("trays"))
}

func TestProbesShowTheirPowerOnValueOnceAfterAPlugReturns(t *testing.T) {
	e := newEvening(t, "")
	e.pass(time.Second)
	require.Less(t, e.value("trays", "DEV"), 30.0, "not when the room begins")
	e.do("pull trays 2s")
	e.pass(2 * time.Second) // opened again after the probes had spoken to nobody
	require.Empty(t, e.ears["trays"].values)
	e.pass(time.Second)
	for _, id := range []string{"DEV", "STP", "FX1", "FX2", "WSH"} {
		require.InDelta(t, 85, e.value("trays", id), 0)
	}
	e.pass(time.Second)
	require.InDelta(t, 22.5, e.value("trays", "DEV"), 0.5)
}

func TestGarbleSpoilsEveryFrameAndNoWrongValueComesOut(t *testing.T) {
	e := newEvening(t, "")
	for _, line := range []string{"trays", "air", "duct"} {
		e.do("garble " + line + " 60s")
	}
	bad := map[sensors.FrameResult]int{}
	for range 59 {
		e.pass(time.Second)
		for _, ear := range e.ears {
			require.Empty(t, ear.values)
			require.Zero(t, ear.frames[sensors.FrameGood])
			for result, n := range ear.frames {
				bad[result] += n
			}
		}
	}
	require.Greater(t, bad[sensors.FrameChecksum], 60)
	require.Greater(t, bad[sensors.FrameGarbled], 5)
	e.pass(20 * time.Second)
	for name, ear := range e.ears {
		require.NotEmpty(t, ear.values, name)
	}
}

func TestAFloodDrownsALineAndEnds(t *testing.T) {
	e := newEvening(t, "")
	e.do("flood air 10s")
	for range 9 {
		e.pass(time.Second)
		require.Greater(t, e.ears["air"].bytes, 16<<10)
		require.Empty(t, e.ears["air"].values)
		require.NotEmpty(t, e.ears["trays"].values)
	}
	e.pass(5 * time.Second)
	require.Len(t, e.ears["air"].values, 3)
}

func TestASilentLineStaysOpen(t *testing.T) {
	e := newEvening(t, "")
	e.do("silence duct 1m")
	e.do("silence trays 1m")
	noAnswer := 0
	for range 59 {
		e.pass(time.Second)
		require.Empty(t, e.ears["duct"].values)
		require.Zero(t, e.ears["trays"].bytes)
		noAnswer += e.ears["duct"].frames[sensors.FrameNoAnswer]
	}
	require.Positive(t, noAnswer)
	e.pass(10 * time.Second)
	require.NotEmpty(t, e.ears["duct"].values)
	require.Equal(t, 1, e.ears["duct"].opened)
	require.Equal(t, 1, e.ears["trays"].opened)
}

func TestASlowLineSpeaksEveryTenthSecondAndAnswersLate(t *testing.T) {
	e := newEvening(t, "")
	e.do("slow trays 1m")
	e.do("slow duct 1m")
	spoke, answered, failed := 0, 0, 0
	for range 50 {
		e.pass(time.Second)
		spoke += e.ears["trays"].frames[sensors.FrameGood]
		answered += e.ears["duct"].frames[sensors.FrameGood]
		failed += e.ears["duct"].frames[sensors.FrameNoAnswer]
	}
	require.Equal(t, 5, spoke)
	require.Positive(t, failed)
	require.LessOrEqual(t, answered, 3, "of 150; a late answer may pass for that to the same request, asked again")
	e.pass(30 * time.Second)
	require.NotEmpty(t, e.ears["duct"].values)
}

func TestAFrozenProbeRepeatsItself(t *testing.T) {
	e := newEvening(t, "")
	e.pass(time.Second)
	frozen := e.value("trays", "DEV")
	e.do("freeze DEV 10m")
	moved := false
	for range 599 {
		e.pass(time.Second)
		require.InDelta(t, frozen, e.value("trays", "DEV"), 0)
		moved = moved || e.value("trays", "STP") != 19.5
	}
	require.True(t, moved, "the others go on")
	e.pass(2 * time.Minute)
	require.Less(t, e.value("trays", "DEV"), frozen)
}

func TestALiftedProbeReadsAir(t *testing.T) {
	e := newEvening(t, "")
	e.do("lift DEV 4m")
	e.pass(4*time.Minute - time.Second)
	require.InDelta(t, e.value("air", "AIR"), e.value("trays", "DEV"), 0.2)
	e.pass(2 * time.Minute)
	require.Greater(t, e.value("trays", "DEV"), e.value("air", "AIR")+3)
}

func TestTheFanStopsStartsAndTrips(t *testing.T) {
	e := newEvening(t, "")
	moving := func(command float64, least, most float64) {
		t.Helper()
		e.pass(20 * time.Second)
		require.InDelta(t, command, e.register("FAN"), 0)
		require.GreaterOrEqual(t, e.register("VEL"), least)
		require.LessOrEqual(t, e.register("VEL"), most)
	}
	moving(1, 4.5, 5)
	e.do("stop fan")
	moving(0, 0, 0.15)
	require.InDelta(t, 0, e.value("air", "ROOM"), 1)
	e.do("start fan 30s")
	moving(1, 4, 5)
	moving(0, 0, 0.4)
	e.do("start fan")
	moving(1, 4, 5)
	e.do("trip fan 30s")
	moving(1, 0, 0.2)
	moving(1, 3, 5)
}

func TestBlockedMakeUpShowsInTheRoomPressureAndTheFlow(t *testing.T) {
	e := newEvening(t, "")
	e.do("block make-up")
	e.pass(20 * time.Second)
	require.InDelta(t, -30, e.value("air", "ROOM"), 2)
	require.InDelta(t, 2.9, e.register("VEL"), 0.2)
	e.do("clear make-up")
	e.pass(20 * time.Second)
	require.InDelta(t, -5, e.value("air", "ROOM"), 1.5)
}

func TestActsOfTheEvening(t *testing.T) {
	e := newEvening(t, "")
	e.pass(2 * time.Minute)
	before := e.value("trays", "DEV")
	e.do("jacket DEV")
	e.do("people 12")
	e.pass(10 * time.Minute)
	require.Greater(t, e.value("trays", "DEV"), before+1)
	require.Greater(t, e.register("CO2"), 800.0)
	e.do("cover trays")
	e.do("people 0")
	acid := e.register("ACA")
	e.pass(15 * time.Minute)
	require.Less(t, e.register("ACA"), acid/2)
	e.do("uncover trays")
	e.do("empty trays")
	e.pass(3 * time.Minute)
	require.InDelta(t, e.value("air", "AIR"), e.value("trays", "DEV"), 0.2)
	e.do("fill trays")
	e.pass(3 * time.Minute)
	require.InDelta(t, 22.4, e.value("trays", "DEV"), 0.3)
}
