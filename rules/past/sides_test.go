package past_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// 30 m³ and 300 m³/h are ten air changes an hour; a correction of half as much holds from its moment on.
func TestAKeptReadingOfAFlowIsReadAsTheBoardReadIt(t *testing.T) {
	room := past.Room{Volume: 30, DuctArea: 0.02, DuctFactor: 1, Apart: []string{"hood"}, Channels: []past.Channel{
		{ID: "air", Kind: string(sensors.AirTemperature), Unit: "degC", Silence: 15},
		{ID: "hood", Kind: string(sensors.DuctVelocity), Unit: "m/s", Silence: 15},
		{ID: "pressure", Kind: string(sensors.VelocityPressure), Unit: "Pa", Silence: 15},
		{ID: "flow", Kind: string(sensors.VolumeFlow), Unit: "m3/h", Silence: 15,
			Corrections: []sensors.Correction{{From: minute(10), Slope: 0.5}}},
		{ID: "other", Kind: string(sensors.AirTemperature), Unit: "degF", Silence: 15}}}
	probes := room.FlowProbes()
	require.Len(t, probes, 2, "what stands at the hood measures no flow of the room")
	flow, pressure := probes[0], probes[1]
	require.False(t, flow.NeedsTemperature())
	require.True(t, pressure.NeedsTemperature())
	var ids []string
	for _, c := range room.AirTemperatures() {
		ids = append(ids, c.ID)
	}
	require.Equal(t, []string{"air", "other"}, ids)

	none := ventilation.Optional[quantity.Celsius]{}
	for at, want := range map[int]float64{9: 10, 10: 5} {
		changes, err := flow.AirChanges(past.Reading{UnixMilli: minute(at).UnixMilli(), Raw: 300, Good: true}, none)
		require.NoError(t, err)
		require.InDelta(t, want, float64(changes), 1e-9)
	}
	_, err := flow.AirChanges(past.Reading{UnixMilli: minute(0).UnixMilli(), Raw: -50, Good: true}, none)
	require.Error(t, err)
	warm, err := pressure.Flow(past.Reading{Raw: 10, Good: true}, ventilation.Known(quantity.Celsius(40)))
	require.NoError(t, err)
	usual, err := pressure.Flow(past.Reading{Raw: 10, Good: true}, none)
	require.NoError(t, err)
	// The velocity goes with the root of the absolute temperature: 313.15 and 293.15 K.
	require.InDelta(t, 1.0336, float64(warm/usual), 0.0001)
	room.Volume = 0
	flow = room.FlowProbes()[0]
	_, err = flow.AirChanges(past.Reading{UnixMilli: minute(0).UnixMilli(), Raw: 300, Good: true}, none)
	require.Error(t, err, "of no volume there are no changes")
}

func TestARecordOfNoStateChangesNothing(t *testing.T) {
	b := &book{TB: t}
	b.write(rules.AirState, 0, rules.Event{To: string(ventilation.Moving)})
	b.write(rules.AirState, 5, rules.Event{From: string(ventilation.Moving)})
	require.NoError(t, b.Apply(record.Record{Number: 9, Kind: rules.AirState, Room: "practice", Content: []byte(`7`)}))
	states := b.Air("practice", coverage.Span{From: minute(0), To: minute(60)})
	require.Len(t, states, 1)
	require.Equal(t, minute(60), states[0].Until(minute(60)))
	b.write(rules.AirState, 10, rules.Event{From: string(ventilation.Moving), To: string(ventilation.Low)})
	b.write(rules.AirState, 20, rules.Event{From: string(ventilation.Low), To: string(ventilation.Stopped)})
	for span, want := range map[[2]int]int{{0, 10}: 1, {0, 11}: 2, {9, 20}: 2, {10, 21}: 2, {20, 30}: 1, {30, 40}: 1, {0, 60}: 3} {
		require.Len(t, b.Air("practice", coverage.Span{From: minute(span[0]), To: minute(span[1])}), want, "%v", span)
	}
}

func TestSessionsAreCountedByWhenTheyBegan(t *testing.T) {
	b := &book{TB: t}
	var records []record.Record
	for i, at := range []int{0, 10, 20, 30} {
		s := session.Session{Phase: session.Open, Begun: minute(at), Since: minute(at)}
		for _, kind := range []string{rules.SessionPhase, rules.SessionCounts} {
			records = append(records, record.Record{Number: uint64(i + 1), Kind: kind, Room: "practice", At: minute(at), Content: content(t, s)})
		}
	}
	require.Equal(t, 2, past.Begun(records, coverage.Span{From: minute(10), To: minute(30)}), "the end itself is not in it")
	require.Equal(t, 4, past.Begun(records, coverage.Span{From: minute(0), To: minute(31)}))
	require.Zero(t, past.Begun(records, coverage.Span{From: minute(31), To: minute(60)}))

	// A session that went on after a pause was open twice.
	s := session.Session{Phase: session.Open, Begun: minute(0), Since: minute(0)}
	for _, c := range []struct {
		phase session.Phase
		at    int
	}{{session.Open, 0}, {session.Closed, 10}, {session.Open, 20}, {session.Closed, 35}} {
		s.Phase, s.Since = c.phase, minute(c.at)
		b.write(rules.SessionPhase, c.at, rules.Event{Session: &s})
	}
	require.Equal(t, []coverage.Span{{From: minute(0), To: minute(10)}, {From: minute(20), To: minute(35)}},
		eveningsOf(b, minute(60))[0].Open())
}

func content(t *testing.T, s session.Session) []byte {
	text, err := json.Marshal(rules.Event{Session: &s})
	require.NoError(t, err)
	return text
}

// A reading counts in its minute, to the millisecond, and not while another sign contradicts it.
func TestAReadingCountsInItsOwnMinute(t *testing.T) {
	m := past.NewAirMinutes([]coverage.Span{{From: minute(0), To: minute(3)}}, []coverage.Span{{From: minute(1), To: minute(2)}})
	for _, at := range []time.Duration{0, time.Minute - time.Millisecond, time.Minute, 2*time.Minute - time.Millisecond, 2 * time.Minute,
		time.Millisecond, 3*time.Minute - time.Millisecond, 3 * time.Minute} {
		m.Add(begin().Add(at), 1)
	}
	var counts []int
	for _, v := range m.List() {
		counts = append(counts, v.Readings)
	}
	require.Equal(t, []int{3, 0, 2}, counts)
}
