package alarm_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/alarm"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

func start() time.Time { return time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC) }

// moved is a transition some minutes after the start.
func moved(id string, minutes float64, from, to alarm.State) alarm.Transition {
	at := start().Add(time.Duration(minutes * float64(time.Minute)))
	return alarm.Transition{ID: id, From: from, To: to, At: sensors.Instant{Wall: at}, Alarm: alarm.Alarm{ID: id, State: to, Since: at}}
}

func TestStatisticsCountWhatWasRaisedAnsweredAndLeftStanding(t *testing.T) {
	left := moved("air-proof", 55, alarm.Unacknowledged, alarm.Suppressed)
	left.Rest = true
	s := alarm.Count([]alarm.Transition{
		moved("air", -90, alarm.Normal, alarm.Unacknowledged),
		moved("air", -80, alarm.Unacknowledged, alarm.Acknowledged),
		moved("air", -70, alarm.Acknowledged, alarm.Normal),
		moved("line:trays", 0, alarm.Normal, alarm.Unacknowledged),
		moved("line:trays", 4, alarm.Unacknowledged, alarm.Acknowledged),
		moved("bath:developer", 5, alarm.Normal, alarm.Unacknowledged),
		moved("bath:developer", 6, alarm.Unacknowledged, alarm.Returned),
		moved("bath:developer", 7, alarm.Returned, alarm.Normal),
		moved("air", 30, alarm.Normal, alarm.Unacknowledged),
		moved("channel:duct", 40, alarm.Normal, alarm.Shelved),
		moved("air-proof", 50, alarm.Normal, alarm.Unacknowledged),
		left,
		moved("history", 130, alarm.Normal, alarm.Unacknowledged),
	}, alarm.Span{From: start(), To: start().Add(2 * time.Hour)})
	require.Equal(t, 4, s.Raised, "one lies before and one after")
	require.Equal(t, 2, s.Busiest)
	require.Equal(t, []time.Duration{2 * time.Minute, 4 * time.Minute}, s.Answered)
	median, ok := s.Median()
	require.True(t, ok)
	require.Equal(t, 3*time.Minute, median, "as the report counts it")
	require.Equal(t, []string{"air", "line:trays"}, ids(s.Standing))
	require.Equal(t, []string{"air"}, ids(s.Unanswered))
	require.Equal(t, []string{"channel:duct"}, ids(s.Apart))
	require.Equal(t, 1, s.Dropped)
	require.Equal(t, 1, s.ByID["air"])
}

func ids(list []alarm.Alarm) []string {
	var names []string
	for _, a := range list {
		names = append(names, a.ID)
	}
	return names
}

func TestAQuietEveningHasNoTimeToAcknowledge(t *testing.T) {
	s := alarm.Count(nil, alarm.Span{From: start(), To: start().Add(time.Hour)})
	_, ok := s.Median()
	require.False(t, ok)
}

// The delays and deadbands are the starting values of alarm management, from memory:
// flow 15 s and 5 %, pressure 15 s and 2 %, temperature 60 s and 1 % of the range.
func TestDeadbandsByKindOfSignal(t *testing.T) {
	for _, c := range []struct {
		kind  alarm.Kind
		delay time.Duration
		clear float64 // of a high level of 50 on a span of 200
	}{{alarm.Flow, 15 * time.Second, 40}, {alarm.Pressure, 15 * time.Second, 46},
		{alarm.Temperature, time.Minute, 48}, {alarm.Average, 0, 50}} {
		band, err := c.kind.Above(50, 200)
		require.NoError(t, err)
		require.InDelta(t, c.clear, band.Clear, 1e-9)
		below, err := c.kind.Below(50, 200)
		require.NoError(t, err)
		require.InDelta(t, 100-c.clear, below.Clear, 1e-9)
		require.Equal(t, c.delay, c.kind.Profile().OnDelay)
		require.Equal(t, alarm.True, band.Truth(50.1))
		require.Equal(t, alarm.False, band.Truth(c.clear))
		require.Equal(t, alarm.False, below.Truth(100))
	}
	for _, span := range []float64{0, -1} {
		_, err := alarm.Flow.Above(1, span)
		require.Error(t, err)
	}
}

func ExampleStep() {
	now := sensors.Instant{Wall: start()}
	signal := alarm.Signal{ID: "air", Holds: alarm.True, Armed: true,
		Says: alarm.Words{Text: phrase.Say("The air does not move enough"), Act: phrase.Say("Switch the fan on."),
			Cause: phrase.Say("20 m³/h")},
		Profile: alarm.Flow.Profile()}
	set, _ := alarm.Step(alarm.Set{}, []alarm.Signal{signal}, now)
	now.Mono += 15 * time.Second
	set, moved := alarm.Step(set, []alarm.Signal{signal}, now)
	fmt.Println(moved[0].From, "->", moved[0].To)
	set, _, _ = set.Acknowledge("air", alarm.By{Person: "invented instructor", Note: "fan restarted"}, now)
	fmt.Println(set["air"].State, "by", set["air"].By)
	// Output:
	// normal -> unacknowledged
	// acknowledged by invented instructor
}
