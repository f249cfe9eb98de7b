package dialect_test

import (
	"encoding/binary"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// holding is a holding register of a plain unsigned type.
func holding(unit uint8, number uint16) dialect.Register {
	return dialect.Register{Unit: unit, Table: dialect.Holding, Number: number, Type: dialect.U16}
}

func input(unit uint8, number uint16) dialect.Register {
	return dialect.Register{Unit: unit, Table: dialect.Input, Number: number, Type: dialect.U16}
}

func newMaster(t require.TestingT, registers ...dialect.Register) *dialect.Modbus {
	m, err := dialect.NewModbus(dialect.ModbusOptions{Registers: registers, Baud: 19200})
	require.NoError(t, err)
	return m
}

// The frames of functions 03 and 04 in "MODBUS Application Protocol
// Specification V1.1b3", sections 6.3 and 6.4. With unit 1 and CRC the first is
// printed whole in the manual "Fuel Metering Valves EXVG" of Hamilton
// Sundstrand, page 8, tables 5 and 6.
func TestPublishedFrames(t *testing.T) {
	m := newMaster(t, holding(1, 107), holding(1, 108), holding(1, 109))
	send, _, _ := m.Poll(at(time.Second))
	require.Equal(t, []byte{0x01, 0x03, 0x00, 0x6B, 0x00, 0x03, 0x74, 0x17}, send)
	frames := m.Feed(at(time.Second), []byte{0x01, 0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64, 0x05, 0x7A})
	require.Equal(t, []string{"1:holding:107=555", "1:holding:108=0", "1:holding:109=100"}, values(frames))
	require.Equal(t, "01 03 06 02 2B 00 00 00 64 05 7A", frames[0].Text)

	m = newMaster(t, input(1, 8))
	send, _, _ = m.Poll(at(time.Second))
	require.Equal(t, []byte{0x04, 0x00, 0x08, 0x00, 0x01}, send[1:6])
	answer := dialect.AnswerModbus(send, func(uint8, dialect.Table, uint16) (uint16, bool) { return 0x000A, true })
	require.Equal(t, []byte{0x04, 0x02, 0x00, 0x0A}, answer[1:5])
	require.Equal(t, []string{"1:input:8=10"}, values(m.Feed(at(time.Second), answer)))
}

func TestAnswersOfAUnit(t *testing.T) {
	frame := func(bytes ...byte) []byte {
		crc := dialect.CRC16(bytes)
		return append(bytes, byte(crc), byte(crc>>8))
	}
	registers := func(unit uint8, table dialect.Table, number uint16) (uint16, bool) {
		return number + 1, table == dialect.Holding && number != 50
	}
	for _, c := range []struct {
		name          string
		request, want []byte
	}{
		{"one register", frame(7, 3, 0, 9, 0, 1), frame(7, 3, 2, 0, 10)},
		{"the last register", frame(7, 3, 255, 255, 0, 1), frame(7, 3, 2, 0, 0)},
		{"beyond the last register", frame(7, 3, 255, 255, 0, 2), frame(7, 0x83, 2)},
		{"a register that is not there", frame(7, 3, 0, 49, 0, 2), frame(7, 0x83, 2)},
		{"a table that is not there", frame(7, 4, 0, 0, 0, 1), frame(7, 0x84, 2)},
		{"no register", frame(7, 3, 0, 0, 0, 0), frame(7, 0x83, 3)},
		{"too many registers", frame(7, 3, 0, 0, 0, 126), frame(7, 0x83, 3)},
		{"a request of another length", frame(7, 3, 0, 0), frame(7, 0x83, 3)},
		{"another function", frame(7, 6, 0, 0, 0, 1), frame(7, 0x86, 1)},
		{"a broadcast", frame(0, 3, 0, 0, 0, 1), nil},
		{"a wrong CRC", []byte{7, 3, 0, 0, 0, 1, 0, 0}, nil},
		{"nothing", nil, nil},
	} {
		require.Equal(t, c.want, dialect.AnswerModbus(c.request, registers), c.name)
	}
	require.Len(t, dialect.AnswerModbus(frame(7, 3, 1, 0, 0, 125), registers), 255)
}

func TestAdjacentRegistersShareARequest(t *testing.T) {
	wide := func(unit uint8, number uint16) dialect.Register {
		return dialect.Register{Unit: unit, Table: dialect.Holding, Number: number, Type: dialect.F32}
	}
	many := []dialect.Register{}
	for i := range uint16(130) {
		many = append(many, input(1, i))
	}
	for _, c := range []struct {
		name      string
		registers []dialect.Register
		want      []string // unit, function, first register, count
	}{
		{"in any order", []dialect.Register{holding(1, 3), holding(1, 1), holding(1, 2)}, []string{"1 3 1 3"}},
		{"a gap", []dialect.Register{holding(1, 1), holding(1, 3)}, []string{"1 3 1 1", "1 3 3 1"}},
		{"wide ones", []dialect.Register{wide(1, 1), wide(1, 3), holding(1, 5)}, []string{"1 3 1 5"}},
		{"overlapping ones", []dialect.Register{wide(1, 1), holding(1, 2)}, []string{"1 3 1 2"}},
		{"tables and units apart", []dialect.Register{input(1, 1), holding(1, 2), holding(2, 3)},
			[]string{"1 3 2 1", "1 4 1 1", "2 3 3 1"}},
		{"no more than 125", many, []string{"1 4 0 125", "1 4 125 5"}},
	} {
		l := newBus(newMaster(t, c.registers...))
		l.run(900 * time.Millisecond)
		require.Equal(t, c.want, l.asked, c.name)
	}
}

func TestExceptionAnswers(t *testing.T) {
	l := newBus(newMaster(t, holding(3, 1)))
	l.units[3] = func(request []byte) []byte {
		return dialect.AnswerModbus(request, func(uint8, dialect.Table, uint16) (uint16, bool) { return 0, false })
	}
	l.run(100 * time.Millisecond)
	require.Equal(t, []sensors.FrameResult{sensors.FrameException}, results(l.frames))
	require.Equal(t, "unit 3, holding register 1: refused, illegal data address (exception 2)", l.frames[0].Text)
	l.run(3 * time.Second)
	require.Len(t, l.frames, 4, "a unit that refuses is alive and asked again as usual")
}

// sealed is a frame with its check, low byte first.
func sealed(frame []byte) []byte {
	return binary.LittleEndian.AppendUint16(frame, dialect.CRC16(frame))
}

// The names of the exception codes: MODBUS Application Protocol Specification V1.1b3, section 7 (from memory).
func TestExceptionsAreNamedAsTheSpecificationDoes(t *testing.T) {
	for code, want := range map[byte]string{1: "illegal function", 2: "illegal data address", 3: "illegal data value",
		4: "server device failure", 5: "acknowledge, still working", 6: "server device busy", 7: "a code without a published meaning",
		8: "memory parity error", 9: "a code without a published meaning", 10: "gateway path unavailable",
		11: "gateway target device failed to respond", 12: "a code without a published meaning"} {
		l := newBus(newMaster(t, holding(3, 1)))
		l.units[3] = func([]byte) []byte { return sealed([]byte{3, 0x83, code}) }
		l.run(100 * time.Millisecond)
		require.Equal(t, fmt.Sprintf("unit 3, holding register 1: refused, %s (exception %d)", want, code), l.frames[0].Text)
	}
	// Read Exception Status, function 07, has no data: the shortest request that there is.
	request := sealed([]byte{3, 7})
	require.Equal(t, sealed([]byte{3, 0x87, 1}), dialect.AnswerModbus(request, nil))
	require.Nil(t, dialect.AnswerModbus(sealed([]byte{3}), nil))
}

// Any single flipped bit anywhere in an answer is found, and no value delivered.
func TestFlippedBitInAnAnswer(t *testing.T) {
	answers := 0
	master := func() *dialect.Modbus {
		m := newMaster(t, holding(1, 107), holding(1, 108), holding(1, 109))
		m.Poll(at(time.Second))
		return m
	}
	whole := []byte{0x01, 0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64, 0x05, 0x7A}
	for bit := range 8 * len(whole) {
		bad := append([]byte(nil), whole...)
		bad[bit/8] ^= 1 << (bit % 8)
		m := master()
		require.Empty(t, m.Feed(at(time.Second), bad), "bit %d", bit)
		_, failed, _ := m.Poll(at(3 * time.Second))
		require.Len(t, failed, 1, "bit %d", bit)
		require.Empty(t, failed[0].Measurements)
		require.Contains(t, []sensors.FrameResult{sensors.FrameChecksum, sensors.FrameGarbled}, failed[0].Result)
		answers++
	}
	require.Equal(t, 88, answers)
}

func TestAnswerInAnyPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.Uint16(), 1, 20).Draw(t, "words")
		registers := []dialect.Register{}
		for i := range words {
			registers = append(registers, holding(9, uint16(i)))
		}
		m := newMaster(t, registers...)
		request, _, _ := m.Poll(at(time.Second))
		frames := inPieces(t, m, dialect.AnswerModbus(request, func(_ uint8, _ dialect.Table, number uint16) (uint16, bool) {
			return words[number], true
		}))
		require.Len(t, frames, 1)
		for i, w := range words {
			require.Equal(t, float64(w), frames[0].Measurements[i].Value)
		}
	})
}

func TestTextOfAModbusFrameIsCut(t *testing.T) {
	registers := []dialect.Register{}
	for i := range uint16(100) {
		registers = append(registers, holding(1, i))
	}
	l := newBus(newMaster(t, registers...))
	l.run(900 * time.Millisecond)
	require.LessOrEqual(t, len(l.frames[0].Text), 120)
	require.True(t, strings.HasSuffix(l.frames[0].Text, " ..."))
}
