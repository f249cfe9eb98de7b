package dialect_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

func newMQTT() *dialect.MQTT {
	return dialect.NewMQTT([]dialect.MQTTValue{{Topic: "room/fixer"}, {Topic: "room/air", Field: "temperature"},
		{Topic: "room/air", Field: "gas.co2"}, {Topic: "room/fan", Field: "on"}})
}

func TestMessagesOfABrokerAreReadAsNumbersOrFields(t *testing.T) {
	type list = []string
	for _, c := range []struct {
		name, topic, payload string
		result               sensors.FrameResult
		values               list
	}{
		{"a bare number", "room/fixer", "20.31", sensors.FrameGood, list{"room/fixer=20.31"}},
		{"a bare number with blanks", "room/fixer", " -3e1\n", sensors.FrameGood, list{"room/fixer=-30"}},
		{"two fields", "room/air", `{"temperature":21.5,"gas":{"co2":612},"battery":88}`, sensors.FrameGood,
			list{"room/air#temperature=21.5", "room/air#gas.co2=612"}},
		{"one field of two", "room/air", `{"gas":{"co2":612}}`, sensors.FrameGood, list{"room/air#gas.co2=612"}},
		{"a switch", "room/fan", `{"on":true}`, sensors.FrameGood, list{"room/fan#on=1"}},
		{"the probe can't measure", "room/air", `{"temperature":null}`, sensors.FrameGood, list{"room/air#temperature=?"}},
		{"no field of ours", "room/air", `{"battery":88}`, sensors.FrameIgnored, list{}},
		{"a topic that is not ours", "room/door", "1", sensors.FrameIgnored, list{}},
		{"half a message", "room/air", `{"temperature":21.5,"ga`, sensors.FrameGarbled, list{}},
		{"two messages in one", "room/fixer", "20.3 20.4", sensors.FrameGarbled, list{}},
		{"a word", "room/air", `{"temperature":"unavailable"}`, sensors.FrameGarbled, list{}},
		{"an object for a number", "room/fixer", `{"temperature":21.5}`, sensors.FrameGarbled, list{}},
		{"no number", "room/fixer", "NaN", sensors.FrameGarbled, list{}},
		{"a number beyond all numbers", "room/fixer", "1e999", sensors.FrameGarbled, list{}},
		{"nothing", "room/fixer", "", sensors.FrameGarbled, list{}},
		{"far too long", "room/fixer", strings.Repeat(" ", 5000) + "20", sensors.FrameTooLong, list{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			frames := newMQTT().Feed(at(time.Second), dialect.MQTTMessage(c.topic, []byte(c.payload), false))
			require.Equal(t, []sensors.FrameResult{c.result}, results(frames))
			require.Equal(t, c.values, values(frames))
			require.True(t, strings.HasPrefix(frames[0].Text, c.topic+": "), frames[0].Text)
			require.LessOrEqual(t, len(frames[0].Text), 120)
		})
	}
}

// A broker hands the last retained message to whoever subscribes: nobody knows of when it is.
func TestARetainedMessageIsNoReading(t *testing.T) {
	frames := newMQTT().Feed(at(time.Second), dialect.MQTTMessage("room/fixer", []byte("20.31"), true))
	require.Equal(t, []sensors.FrameResult{sensors.FrameIgnored}, results(frames))
	require.Empty(t, values(frames))
}

func FuzzMQTT(f *testing.F) {
	f.Add(dialect.MQTTMessage("room/air", []byte(`{"temperature":21.5,"gas":{"co2":612}}`), false))
	f.Add([]byte("n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, frame := range newMQTT().Feed(at(time.Second), data) {
			require.Equal(t, frame.Result == sensors.FrameGood, len(frame.Measurements) > 0)
			require.False(t, frame.Result == sensors.FrameGood && data[0] == 'r')
		}
	})
}

func TestWhatIsNoMessageIsNoFrame(t *testing.T) {
	for _, data := range []string{"", "nroom/fixer", "\x0020.31"} {
		require.Empty(t, newMQTT().Feed(at(time.Second), []byte(data)), "%q", data)
	}
}
