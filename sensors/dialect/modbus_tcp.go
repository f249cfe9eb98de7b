package dialect

import (
	"encoding/binary"
	"slices"
	"time"

	"wetside/sensors"
)

// ModbusTCP is a Modbus master over TCP, after "MODBUS Messaging on TCP/IP Implementation Guide
// V1.0b", section 3.1 (from memory; held against an independent server in tcpport): the frames
// of a serial line without their CRC, behind a header. It asks and judges as [Modbus] does, and
// takes no answer but the one to the request under way: each request has a number, which its
// answer repeats.
type ModbusTCP struct {
	master *Modbus
	number uint16 // of the request under way
	got    []byte // of the stream, from the beginning of a header on
	held   bool   // half an answer has outlasted the request that it came for
	frames []sensors.Frame
}

// The header of a frame over TCP: number of the request, protocol (0 is Modbus), bytes to come,
// of which the unit is the first.
const (
	headerLength = 6
	mostBehind   = 254 // a unit and at most 253 bytes of function and data
)

var _ sensors.Decoder = (*ModbusTCP)(nil)

// NewModbusTCP makes a master that reads the registers of the options over TCP.
func NewModbusTCP(options ModbusOptions) (*ModbusTCP, error) {
	options.Baud = 115200 // no line has to fall silent between two frames
	master, err := newMaster(options)
	if err != nil {
		return nil, err
	}
	return &ModbusTCP{master: master}, nil
}

// Feed takes bytes that arrived at now and gives the answers completed by them.
func (m *ModbusTCP) Feed(now sensors.Instant, data []byte) []sensors.Frame {
	m.frames = m.frames[:0]
	m.got = append(m.got, data...)
	for len(m.got) >= headerLength {
		protocol, behind := binary.BigEndian.Uint16(m.got[2:]), int(binary.BigEndian.Uint16(m.got[4:]))
		if protocol != 0 || behind < 2 || behind > mostBehind { // out of step: nothing says where a frame begins
			m.note(sensors.FrameGarbled, m.got)
			m.got = m.got[:0]
			break
		}
		if len(m.got) < headerLength+behind {
			break
		}
		m.held = false
		m.receive(now, m.got[:headerLength+behind])
		m.got = slices.Delete(m.got, 0, headerLength+behind)
	}
	return m.frames
}

// receive has the master judge a whole frame, if it answers the request under way.
func (m *ModbusTCP) receive(now sensors.Instant, frame []byte) {
	if binary.BigEndian.Uint16(frame) != m.number || m.master.phase != listening {
		m.note(sensors.FrameIgnored, frame)
		return
	}
	m.frames = append(m.frames, m.master.Feed(now, appendCRC(slices.Clone(frame[headerLength:])))...)
}

func (m *ModbusTCP) note(result sensors.FrameResult, data []byte) {
	m.frames = append(m.frames, sensors.Frame{Result: result, Text: hexText(data)})
}

// Poll gives the next request when its time has come, and the failure of one that was not
// answered. Half an answer is kept until a second request has failed: its rest may still come,
// and belongs to no later request; but a header that promises too much must not eat up every
// later answer.
func (m *ModbusTCP) Poll(now sensors.Instant) (send []byte, failed []sensors.Frame, wait time.Duration) {
	request, failed, wait := m.master.Poll(now)
	for i := range failed {
		if failed[i].Result == sensors.FrameNoAnswer && len(m.got) > 0 {
			failed[i] = sensors.Frame{Result: sensors.FrameCutOff, Text: hexText(m.got)}
			if m.held {
				m.got = m.got[:0]
			}
			m.held = !m.held
		}
	}
	if len(request) == 0 {
		return nil, failed, wait
	}
	m.number++
	body := request[:len(request)-2] // without the CRC
	send = binary.BigEndian.AppendUint16(make([]byte, 0, headerLength+len(body)), m.number)
	send = binary.BigEndian.AppendUint16(send, 0)
	send = binary.BigEndian.AppendUint16(send, uint16(len(body)))
	return append(send, body...), failed, wait
}

// Reset forgets a request under way and what has come of its answer.
func (m *ModbusTCP) Reset() {
	m.master.Reset()
	m.got, m.held = m.got[:0], false
}
