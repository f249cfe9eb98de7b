package dialect_test

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

func newTCPMaster(t require.TestingT, registers ...dialect.Register) *dialect.ModbusTCP {
	m, err := dialect.NewModbusTCP(dialect.ModbusOptions{Registers: registers})
	require.NoError(t, err)
	return m
}

// overTCP is what a unit answers over TCP: every register holds the number of the request.
func overTCP(request []byte) []byte {
	number := binary.BigEndian.Uint16(request)
	crc := dialect.CRC16(request[6:])
	answer := dialect.AnswerModbus(append(slices.Clone(request[6:]), byte(crc), byte(crc>>8)),
		func(uint8, dialect.Table, uint16) (uint16, bool) { return number, true })
	body := answer[:len(answer)-2]
	head := binary.BigEndian.AppendUint16(slices.Clone(request[:4]), uint16(len(body)))
	return append(head, body...)
}

// The header is that of "MODBUS Messaging on TCP/IP Implementation Guide V1.0b", section 3.1.3 (from memory):
// number, protocol 0, the bytes to come, unit; then function and data as on a serial line.
func TestARequestOverTCPHasAHeaderAndNoCRC(t *testing.T) {
	m := newTCPMaster(t, holding(1, 107), holding(1, 108), holding(1, 109))
	send, _, _ := m.Poll(at(time.Second))
	require.Equal(t, []byte{0, 1, 0, 0, 0, 6, 0x01, 0x03, 0x00, 0x6B, 0x00, 0x03}, send)
	frames := m.Feed(at(time.Second), []byte{0, 1, 0, 0, 0, 9, 0x01, 0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64})
	require.Equal(t, []string{"1:holding:107=555", "1:holding:108=0", "1:holding:109=100"}, values(frames))
	send, _, _ = m.Poll(at(2 * time.Second))
	require.Equal(t, []byte{0, 2}, send[:2], "each request has a number of its own")
}

func TestFaultsOverTCPAreNoReadings(t *testing.T) {
	const late = 3 * time.Second
	type list = []sensors.FrameResult
	for name, c := range map[string]struct {
		answer func(good []byte) [][]byte // one a tenth of a second
		want   []sensors.FrameResult
	}{
		"good":                  {func(b []byte) [][]byte { return [][]byte{b} }, list{sensors.FrameGood}},
		"in pieces":             {func(b []byte) [][]byte { return [][]byte{b[:3], b[3:8], b[8:]} }, list{sensors.FrameGood}},
		"twice":                 {func(b []byte) [][]byte { return [][]byte{b, b} }, list{sensors.FrameGood, sensors.FrameIgnored}},
		"half":                  {func(b []byte) [][]byte { return [][]byte{b[:8]} }, list{sensors.FrameCutOff}},
		"none":                  {func([]byte) [][]byte { return nil }, list{sensors.FrameNoAnswer}},
		"of an earlier request": {func(b []byte) [][]byte { b[1]--; return [][]byte{b} }, list{sensors.FrameIgnored, sensors.FrameNoAnswer}},
		"of another unit":       {func(b []byte) [][]byte { b[6]++; return [][]byte{b} }, list{sensors.FrameGarbled}},
		"of another protocol":   {func(b []byte) [][]byte { b[3] = 1; return [][]byte{b} }, list{sensors.FrameGarbled, sensors.FrameNoAnswer}},
		"too short inside":      {func(b []byte) [][]byte { b[5]--; return [][]byte{b[:len(b)-1]} }, list{sensors.FrameCutOff}},
		"far too long":          {func(b []byte) [][]byte { b[4] = 2; return [][]byte{b} }, list{sensors.FrameGarbled, sensors.FrameNoAnswer}},
		"refused": {func(b []byte) [][]byte { return [][]byte{{b[0], b[1], 0, 0, 0, 3, b[6], b[7] | 0x80, 2}} },
			list{sensors.FrameException}},
	} {
		t.Run(name, func(t *testing.T) {
			m := newTCPMaster(t, holding(5, 7))
			send, _, _ := m.Poll(at(time.Second))
			var got []sensors.Frame
			now := time.Second
			for _, piece := range c.answer(overTCP(send)) {
				now += 100 * time.Millisecond
				got = append(got, slices.Clone(m.Feed(at(now), bytes.Clone(piece)))...)
			}
			for ; now < late && len(got) < len(c.want); now += 10 * time.Millisecond {
				_, failed, _ := m.Poll(at(now))
				got = append(got, slices.Clone(failed)...)
			}
			require.Equal(t, c.want, results(got))
		})
	}
}

// TestWhateverComesOverTCPNoReadingIsThatOfAnotherRequest answers each request as chance has it:
// late, twice, in part, with noise, or as another unit, and rightly from some moment on. Every
// register holds the number of the request, so a reading with another number is a lie.
func TestWhateverComesOverTCPNoReadingIsThatOfAnotherRequest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := newTCPMaster(t, holding(1, 0), holding(2, 0))
		type piece struct {
			at   time.Duration
			data []byte
		}
		var way []piece
		asked, good, faults := uint16(0), 0, 15*time.Second
		judge := func(now time.Duration, frames []sensors.Frame) {
			for _, f := range frames {
				for _, v := range f.Measurements {
					require.InDelta(t, asked, v.Value, 0)
					if now > faults+20*time.Second {
						good++
					}
				}
			}
		}
		for now := time.Second; now < 45*time.Second; now += 20 * time.Millisecond {
			for len(way) > 0 && way[0].at <= now {
				judge(now, m.Feed(at(now), way[0].data))
				way = way[1:]
			}
			send, failed, _ := m.Poll(at(now))
			judge(now, failed)
			if send == nil {
				continue
			}
			asked = binary.BigEndian.Uint16(send)
			answer := overTCP(send)
			delay, fault := 10*time.Millisecond, 5
			if now < faults {
				delay = time.Duration(rapid.IntRange(0, 1500).Draw(t, "ms")) * time.Millisecond
				fault = rapid.IntRange(0, 7).Draw(t, "fault")
			}
			switch fault {
			case 0:
				answer = append(answer, answer...)
			case 1:
				answer = answer[:rapid.IntRange(1, len(answer)).Draw(t, "cut")]
			case 2:
				answer[6] ^= 3
			case 3:
				answer = nil
			case 4:
				answer[rapid.IntRange(2, 8).Draw(t, "byte")] ^= 0x55
			default:
				delay /= 10
			}
			if len(way) > 0 && way[len(way)-1].at > now+delay { // TCP keeps the order
				delay = way[len(way)-1].at - now
			}
			way = append(way, piece{now + delay, answer})
		}
		require.Greater(t, good, 5, "readings come again once the answers are right")
	})
}

// FuzzModbusTCP answers a request with any bytes: a reading can only come of a frame that has
// the number of the request.
func FuzzModbusTCP(f *testing.F) {
	f.Add([]byte{0, 1, 0, 0, 0, 5, 1, 3, 2, 0, 9}, uint8(4))
	f.Add([]byte{0, 1, 0, 0, 0, 3, 1, 0x83, 2}, uint8(0))
	f.Fuzz(func(t *testing.T, data []byte, piece uint8) {
		m := newTCPMaster(t, holding(1, 0))
		send, _, _ := m.Poll(at(time.Second))
		for part := range slices.Chunk(data, max(int(piece), 1)) {
			for _, frame := range m.Feed(at(time.Second), part) {
				if frame.Result == sensors.FrameGood {
					require.True(t, bytes.Contains(data, send[:2]))
				}
			}
		}
		for now := time.Second; now < 10*time.Second; now += 100 * time.Millisecond {
			m.Poll(at(now))
		}
	})
}

func TestOnlyOverTCPThereIsAUnitForTheDeviceItself(t *testing.T) {
	send, _, _ := newTCPMaster(t, holding(dialect.WholeDevice, 0)).Poll(at(time.Second))
	require.Equal(t, byte(0xFF), send[6])
	_, err := dialect.NewModbus(dialect.ModbusOptions{Registers: []dialect.Register{holding(dialect.WholeDevice, 0)}})
	require.ErrorContains(t, err, "there is no unit 255 on a serial line")
	_, err = dialect.NewModbusTCP(dialect.ModbusOptions{Registers: []dialect.Register{holding(250, 0)}})
	require.ErrorContains(t, err, "expected a unit from 1 to 247, or 255")
}
