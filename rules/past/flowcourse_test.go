package past_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// flowEvening is half an hour in a room with three flow probes.
func flowEvening(t *testing.T) past.Evening {
	b := &book{TB: t}
	channel := func(id string, kind sensors.Kind, unit string) past.Channel {
		return past.Channel{ID: id, Kind: string(kind), Unit: unit, Silence: 15}
	}
	b.write(past.Kind, 0, past.Site{Zone: "UTC", Rooms: []past.Room{{ID: "practice", Volume: 30, DuctArea: 0.018, DuctFactor: 0.9,
		Channels: []past.Channel{
			channel("pressure", sensors.VelocityPressure, "Pa"), channel("velocity", sensors.DuctVelocity, "m/s"),
			channel("flow", sensors.VolumeFlow, "m3/h")}}}})
	s := session.Session{Phase: session.Open, Begun: begin(), Since: begin()}
	b.write(rules.SessionPhase, 0, rules.Event{Session: &s})
	s.Phase, s.Since = session.Closed, begin().Add(30*time.Minute)
	b.write(rules.SessionPhase, 30, rules.Event{Session: &s})
	return eveningsOf(b, begin().Add(time.Hour))[0]
}

// TestTheFlowRestsOnTheProbeOnWhichTheBoardRestsIt reads random probes one after another, each
// for the times that are asked for alone, and holds the minutes against those by the tracks of
// all probes, as charts take them.
func TestTheFlowRestsOnTheProbeOnWhichTheBoardRestsIt(t *testing.T) {
	evening := flowEvening(t)
	room, _ := evening.Then()
	probes := room.FlowProbes()
	require.Len(t, probes, 3)
	rapid.Check(t, func(t *rapid.T) {
		readings, tracks := make([][]past.Reading, len(probes)), make([]*past.Track, len(probes))
		for i := range probes {
			tracks[i] = &past.Track{Silence: probes[i].Channel.Silence}
			at := begin().Add(-time.Minute + time.Duration(i*rapid.IntRange(0, 1).Draw(t, "apart"))*time.Millisecond)
			for range rapid.IntRange(0, 120).Draw(t, "readings") {
				at = at.Add(time.Duration(rapid.SampledFrom([]int{1, 1, 10, 15, 16, 60, 600}).Draw(t, "pause")) * time.Second)
				r := past.Reading{UnixMilli: at.UnixMilli(), Raw: rapid.SampledFrom([]float64{4, 5, 9, -50}).Draw(t, "raw"),
					Good: rapid.IntRange(0, 5).Draw(t, "good") > 0}
				readings[i] = append(readings[i], r)
				changes, err := probes[i].AirChanges(r, ventilation.Optional[quantity.Celsius]{})
				tracks[i].Add(r.At(), float64(changes), r.Good && err == nil)
			}
		}
		want := past.NewAirMinutes(evening.Open(), nil)
		for i, list := range readings {
			for _, r := range list {
				lead, known := past.Leading(tracks, r.At())
				if v, good := tracks[i].At(r.At()); known && lead == i && good && !r.At().Before(evening.Span().From) &&
					r.At().Before(evening.Span().To) {
					want.Add(r.At(), v)
				}
			}
		}
		require.Equal(t, want.List(), readFlow(evening, probes, readings))
	})
}

func readFlow(evening past.Evening, probes []past.FlowProbe, readings [][]past.Reading) []past.AirMinute {
	course := evening.FlowCourse(slices.Clone(probes), nil)
	for i := 0; ; i++ {
		_, over, more := course.Next()
		if !more {
			return course.List()
		}
		for _, r := range readings[i] {
			if slices.ContainsFunc(over, func(s coverage.Span) bool { return !r.At().Before(s.From) && r.At().Before(s.To) }) {
				course.Read(r)
			}
		}
	}
}

// The pressure is read for the times in which the flow had no value: a flow that was good and bad in the same
// millisecond had one for no time at all.
func TestAValueThatEndedAtOnceLeavesItsMomentToTheNextProbe(t *testing.T) {
	evening := flowEvening(t)
	room, _ := evening.Then()
	probes, at := room.FlowProbes(), begin().Add(time.Minute).UnixMilli()
	minutes := readFlow(evening, probes, [][]past.Reading{
		{{UnixMilli: at, Raw: 300, Good: true}, {UnixMilli: at, Raw: 300}},
		{{UnixMilli: at, Raw: 5, Good: true}}, nil})
	require.Equal(t, 2, minutes[1].Readings)
	minutes = readFlow(evening, probes, [][]past.Reading{{{UnixMilli: at, Raw: 300, Good: true}}, {{UnixMilli: at, Raw: 5, Good: true}}, nil})
	require.Equal(t, 1, minutes[1].Readings)
	require.InDelta(t, 10, minutes[1].Mean(), 1e-9, "300 m³/h in 30 m³")
}

func TestNoOtherProbeIsAskedForWhatTheFirstHadThroughout(t *testing.T) {
	evening := flowEvening(t)
	room, _ := evening.Then()
	for _, c := range []struct {
		from, to time.Duration
		more     bool
	}{{0, 30 * time.Minute, false}, {-10 * time.Second, time.Hour, false}, {10 * time.Second, 30 * time.Minute, true},
		{0, 29 * time.Minute, true}} {
		course := evening.FlowCourse(room.FlowProbes(), nil)
		_, _, more := course.Next()
		require.True(t, more)
		for at := c.from; at < c.to; at += 10 * time.Second {
			course.Read(past.Reading{UnixMilli: begin().Add(at).UnixMilli(), Raw: 300, Good: true})
		}
		_, _, more = course.Next()
		require.Equal(t, c.more, more, "%+v", c)
		require.Len(t, course.List(), 30, "what was read before and after the session counts in no minute")
	}
}
