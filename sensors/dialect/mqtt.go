package dialect

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"time"

	"wetside/sensors"
)

// MQTTValue is one value in the messages of a broker: the whole message of a topic, or a field
// of it where the message is a JSON object. The names of fields within fields are parted by
// points.
type MQTTValue struct{ Topic, Field string }

// Address names the value within its line. No topic holds the sign in between.
func (v MQTTValue) Address() string {
	if v.Field == "" {
		return v.Topic
	}
	return v.Topic + "#" + v.Field
}

// MQTT reads the messages of a broker, each a piece that [MQTTMessage] wrote.
type MQTT struct {
	values map[string][]mqttField // by topic
	frames []sensors.Frame
}

// mqttField is where in a message a value is; without a path it is the whole.
type mqttField struct {
	address string
	path    []string
}

var _ sensors.Decoder = (*MQTT)(nil)

// longestMessage bounds a message, in bytes.
const longestMessage = 4096

// NewMQTT makes a decoder of the values of some topics.
func NewMQTT(values []MQTTValue) *MQTT {
	m := &MQTT{values: map[string][]mqttField{}}
	for _, v := range values {
		f := mqttField{address: v.Address()}
		if v.Field != "" {
			f.path = strings.Split(v.Field, ".")
		}
		m.values[v.Topic] = append(m.values[v.Topic], f)
	}
	return m
}

// MQTTMessage writes a message for the decoder. One that the broker retained is of an earlier
// time that nobody knows.
func MQTTMessage(topic string, payload []byte, retained bool) []byte {
	kind := byte('n')
	if retained {
		kind = 'r'
	}
	out := append(append([]byte{kind}, topic...), 0) // no topic holds a zero (MQTT 3.1.1, 1.5.3, from memory)
	return append(out, payload[:min(len(payload), longestMessage+1)]...)
}

// Feed takes one message.
func (m *MQTT) Feed(_ sensors.Instant, data []byte) []sensors.Frame {
	m.frames = m.frames[:0]
	topic, payload, found := bytes.Cut(data, []byte{0})
	if !found || len(topic) == 0 {
		return m.frames
	}
	f := m.read(string(topic[1:]), payload)
	if topic[0] == 'r' {
		f = sensors.Frame{Result: sensors.FrameIgnored}
	}
	f.Text = printable(append(append(topic[1:len(topic):len(topic)], ": "...), payload...))
	m.frames = append(m.frames, f)
	return m.frames
}

// Poll sends nothing: a message is never in parts.
func (m *MQTT) Poll(sensors.Instant) ([]byte, []sensors.Frame, time.Duration) { return nil, nil, 0 }

// Reset has nothing to forget.
func (m *MQTT) Reset() {}

func (m *MQTT) read(topic string, payload []byte) sensors.Frame {
	if len(payload) > longestMessage {
		return sensors.Frame{Result: sensors.FrameTooLong}
	}
	message, err := parseMessage(payload)
	if err != nil {
		return sensors.Frame{Result: sensors.FrameGarbled}
	}
	f := sensors.Frame{Result: sensors.FrameIgnored}
	for _, v := range m.values[topic] {
		found, is := at(message, v.path)
		if !is {
			continue // a probe may send a part of its values at a time
		}
		value, ok := measurementOf(found)
		if !ok {
			return sensors.Frame{Result: sensors.FrameGarbled}
		}
		value.Address = v.address
		f.Result, f.Measurements = sensors.FrameGood, append(f.Measurements, value)
	}
	return f
}

// parseMessage reads a message as one JSON value; a bare number is one too.
func parseMessage(payload []byte) (message any, err error) {
	d := json.NewDecoder(bytes.NewReader(payload))
	d.UseNumber()
	if err := d.Decode(&message); err != nil {
		return nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("there is more behind the message")
	}
	return message, nil
}

// at is what a message holds at a path.
func at(message any, path []string) (found any, is bool) {
	for _, name := range path {
		object, _ := message.(map[string]any)
		if message, is = object[name]; !is {
			return nil, false
		}
	}
	return message, true
}

// measurementOf takes a number as it is, false and true as 0 and 1, and null as what a probe
// says that can't measure.
func measurementOf(v any) (m sensors.Measurement, ok bool) {
	switch v := v.(type) {
	case nil:
		m.Fault = true
	case bool:
		if v {
			m.Value = 1
		}
	case json.Number:
		value, err := v.Float64()
		if err != nil {
			return m, false
		}
		m.Value = value
	default:
		return m, false
	}
	return m, true
}
