package past_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/dated"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// Two rooms, each with an alarm: that of the lab came first, and went before that of the practice room.
func TestTheAlarmsOfAMomentAreThoseThatWereUpThenAsKnownThen(t *testing.T) {
	var f past.Fold
	number := uint64(0)
	change := func(room string, at int, from, to alarm.State) {
		number++
		content, err := json.Marshal(rules.Event{Subject: "air", From: string(from), To: string(to), Alarm: &alarm.Alarm{ID: "air", By: "Ada"}})
		require.NoError(t, err)
		require.NoError(t, f.Apply(record.Record{Number: number, Kind: rules.AlarmChange, Room: room, At: minute(at), Content: content}))
		require.Equal(t, number, f.Last())
	}
	change("practice", 1, alarm.Normal, alarm.Shelved) // the room is the first of the book, its alarm is not
	change("lab", 5, alarm.Normal, alarm.Unacknowledged)
	change("practice", 10, alarm.Shelved, alarm.Unacknowledged)
	change("lab", 15, alarm.Unacknowledged, alarm.Acknowledged)
	change("lab", 20, alarm.Acknowledged, alarm.Normal)
	require.NoError(t, f.Apply(record.Record{Number: 99, Kind: "of another program", At: minute(21)}))
	require.Equal(t, number, f.Last(), "a kind that it does not read changes nothing")

	rooms := func(list []past.RoomAlarm) (out []string) {
		for _, a := range list {
			out = append(out, a.Room)
		}
		return out
	}
	all := f.Alarms(coverage.Span{From: begin(), To: minute(60)}, minute(60))
	require.Equal(t, []string{"lab", "practice"}, rooms(all), "in the order in which they came")
	require.Equal(t, minute(20), all[0].Ended)
	require.Zero(t, all[1].Ended)
	require.Equal(t, []string{"practice"}, rooms(f.Alarms(coverage.Span{From: minute(20), To: minute(60)}, minute(60))))
	then := f.Alarms(coverage.Span{From: minute(18), To: minute(60)}, minute(17))
	require.Equal(t, []string{"lab", "practice"}, rooms(then), "nobody knew then that one would end")
	require.Zero(t, then[0].Ended)
	require.Len(t, f.Alarms(coverage.Span{From: minute(30), To: minute(60)}, minute(17)), 2, "nor before what is asked for")

	for at, want := range map[int]int{4: 0, 5: 1, 19: 1, 20: 0, 30: 0} {
		require.Len(t, f.Up("lab", minute(at)), want, "at %d", at)
	}
	require.Zero(t, f.Up("lab", minute(14))[0].Answered)
	require.Equal(t, "Ada", f.Up("lab", minute(16))[0].By)
	require.Empty(t, f.Up("no room", minute(5)))
}

func TestASessionThatRunsIsKnownAsFarAsItWasCounted(t *testing.T) {
	b := &book{TB: t}
	s := session.Session{Phase: session.Open, Begun: begin(), Since: begin(), People: 3, Tally: session.Tally{To: minute(20)}}
	b.write(rules.SessionCounts, 20, rules.Event{Session: &s})
	at := func(n int) past.Evening { return eveningsOf(b, minute(n))[0] }
	require.Equal(t, minute(25), at(25).Span().To)
	require.Equal(t, minute(30), at(90).Span().To, "ten minutes after its last count it may not run any more")
	until, runs := at(90).AsOf()
	require.True(t, runs)
	require.Equal(t, minute(20), until)
	require.Equal(t, []coverage.Span{{From: begin(), To: minute(25)}}, at(25).Open())

	live := s
	live.Tally.To, live.People = minute(24), 7
	require.Equal(t, 7, at(25).Live(live).Last.People)
	other := live
	other.Begun = minute(1)
	require.Equal(t, 3, at(25).Live(other).Last.People, "another session")
	older := live
	older.Tally.To = minute(19)
	require.Equal(t, 3, at(25).Live(older).Last.People, "the book knows more")
	s.Phase, s.Since = session.Closed, minute(40)
	b.write(rules.SessionPhase, 40, rules.Event{Session: &s})
	require.Equal(t, 3, at(50).Live(live).Last.People, "it is over")
	_, runs = at(50).AsOf()
	require.False(t, runs)
	require.Equal(t, minute(40), at(50).Span().To)
	_, known := at(50).Then()
	require.False(t, known, "no settings were ever recorded")
}

func TestATrackReadsWhatIsKeptInTheUnitOfTheChannel(t *testing.T) {
	fahrenheit, err := quantity.ParseUnit("degF")
	require.NoError(t, err)
	c := sensors.Channel{Unit: fahrenheit, Corrections: []sensors.Correction{{From: minute(5), Slope: 1, Offset: 0.5}}}
	track := past.Track{Silence: 10 * time.Minute}
	for _, at := range []int{0, 6} {
		track.Read(&c, past.Reading{UnixMilli: minute(at).UnixMilli(), Raw: 68, Good: true})
	}
	var none past.Track
	warm := past.Temperatures{&none, &track}
	for at, want := range map[int]float64{0: 20, 5: 20, 6: 20.5, 16: 20.5} {
		v, known := track.At(minute(at))
		require.True(t, known)
		require.InDelta(t, want, v, 1e-9)
		air, known := warm.At(minute(at)).Get()
		require.True(t, known)
		require.InDelta(t, want, float64(air), 1e-9)
	}
	_, known := track.At(minute(16).Add(time.Nanosecond))
	require.False(t, known)
	require.False(t, warm.At(minute(17)).IsKnown())
}

// 30 m³ and 8 air changes an hour are 240 m³/h; "low" is below 80 % of what a traverse found, or below what is asked.
func TestTheLimitsOfTheFlowAreThoseOfTheDay(t *testing.T) {
	room := past.Room{Volume: 30, Required: []ventilation.Requirement{{Kind: ventilation.AirChangeRate, Value: 8, Source: "board",
		Term: dated.Term{Effective: minute(0)}}}}
	require.Zero(t, room.FlowLimits(minute(-1)).Low)
	require.InDelta(t, 240, float64(room.FlowLimits(minute(0)).Low), 1e-9)
	room.Commissioned = &past.Commissioned{Flow: 500}
	derived, err := ventilation.LimitsFor(500, 0, 240)
	require.NoError(t, err)
	require.Equal(t, derived, room.FlowLimits(minute(0)))
	room.Volume = 0 // nothing can be asked by the volume of a room whose volume is not known
	plain, err := ventilation.LimitsFor(500, 0, 0)
	require.NoError(t, err)
	require.Equal(t, plain, room.FlowLimits(minute(0)))
}

func TestMinutesOfTheAirOfTwoOpenTimes(t *testing.T) {
	m := past.NewAirMinutes([]coverage.Span{{From: minute(0), To: minute(2).Add(30 * time.Second)},
		{From: minute(2).Add(40 * time.Second), To: minute(3)}, {From: minute(10), To: minute(11)}}, nil)
	require.Len(t, m.List(), 4, "a minute that two times share is one")
	for _, at := range []time.Duration{-1, 0, time.Minute - time.Millisecond, time.Minute, 3 * time.Minute, 10 * time.Minute, time.Minute,
		11 * time.Minute} {
		m.Add(begin().Add(at), float64(at/time.Second))
	}
	var counts []int
	for _, v := range m.List() {
		counts = append(counts, v.Readings)
	}
	require.Equal(t, []int{2, 2, 0, 1}, counts)
	require.InDelta(t, 0, m.List()[0].Low, 0)
	require.InDelta(t, 59, m.List()[0].High, 0)
	m = past.NewAirMinutes(nil, nil)
	m.Add(begin(), 8)
	require.Empty(t, m.List(), "nobody was at work at any time")
}
