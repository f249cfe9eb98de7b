//go:build unix

package dialect_test

import (
	"io"
	"log"
	"math"
	"os"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"wetside/sensors/dialect"
)

// room holds registers for the oracle: number n holds a fixed word made of n.
func room(unit uint8, table dialect.Table, number uint16) (uint16, bool) {
	word := number*257 + uint16(unit)
	if table == dialect.Input {
		word = ^word
	}
	return word, number < 1000
}

// serve answers requests on a pseudo-terminal until it is closed, and hands on
// the requests it saw.
func serve(line *os.File, seen chan<- []byte) {
	defer close(seen)
	request := make([]byte, 8)
	for {
		if _, err := io.ReadFull(line, request); err != nil {
			return
		}
		seen <- append([]byte(nil), request...)
		if _, err := line.Write(dialect.AnswerModbus(request, room)); err != nil {
			return
		}
	}
}

// dial opens an independent client on one end of a pseudo-terminal and answers
// it on the other.
func dial(t *testing.T) (*modbus.ModbusClient, <-chan []byte) {
	line, device, err := pty.Open()
	require.NoError(t, err)
	client, err := modbus.NewClient(&modbus.ClientConfiguration{URL: "rtu://" + device.Name(), Speed: 115200, DataBits: 8,
		Parity: modbus.PARITY_NONE, StopBits: 1, Timeout: 5 * time.Second, Logger: log.New(io.Discard, "", 0)})
	require.NoError(t, err)
	require.NoError(t, client.Open())
	seen := make(chan []byte, 16)
	go serve(line, seen)
	t.Cleanup(func() {
		require.NoError(t, client.Close())
		require.NoError(t, device.Close())
		require.NoError(t, line.Close())
		for range seen { // until the server has ended
		}
	})
	return client, seen
}

// An independent client (github.com/simonvetter/modbus) asks for the registers
// of the request, and our master must send the same request and read the same value.
func TestAgreesWithAnIndependentClient(t *testing.T) {
	client, seen := dial(t)
	kinds := map[dialect.Table]modbus.RegType{dialect.Holding: modbus.HOLDING_REGISTER, dialect.Input: modbus.INPUT_REGISTER}
	orders := map[dialect.WordOrder]modbus.WordOrder{dialect.HighFirst: modbus.HIGH_WORD_FIRST, dialect.LowFirst: modbus.LOW_WORD_FIRST}
	for table, kind := range kinds {
		for order, theirs := range orders {
			for _, number := range []uint16{0, 107, 255, 256, 998} {
				for _, width := range []dialect.RegisterType{dialect.U16, dialect.S16, dialect.U32, dialect.S32, dialect.F32} {
					r := dialect.Register{Unit: 17, Table: table, Number: number, Type: width, Order: order}
					require.NoError(t, client.SetUnitId(r.Unit))
					require.NoError(t, client.SetEncoding(modbus.BIG_ENDIAN, theirs))
					want := askThem(t, client, r, kind)
					request := <-seen

					m := newMaster(t, r)
					sent, _, _ := m.Poll(at(time.Second))
					require.Equal(t, request, sent, "%+v", r)
					frames := m.Feed(at(time.Second), dialect.AnswerModbus(sent, room))
					require.Len(t, frames, 1)
					got := frames[0].Measurements[0]
					require.Equal(t, !math.IsNaN(want) && !math.IsInf(want, 0), !got.Fault)
					if !got.Fault && r.Type == dialect.F32 {
						require.Equal(t, float32(want), float32(got.Value), "%+v", r)
					} else if !got.Fault {
						require.Equal(t, want, got.Value, "%+v", r)
					}
				}
			}
		}
	}
}

// askThem has the independent client read a register.
func askThem(t *testing.T, client *modbus.ModbusClient, r dialect.Register, kind modbus.RegType) float64 {
	switch r.Type {
	case dialect.U16, dialect.S16:
		word, err := client.ReadRegister(r.Number, kind)
		require.NoError(t, err)
		if r.Type == dialect.S16 {
			return float64(int16(word))
		}
		return float64(word)
	case dialect.U32, dialect.S32:
		bits, err := client.ReadUint32(r.Number, kind)
		require.NoError(t, err)
		if r.Type == dialect.S32 {
			return float64(int32(bits))
		}
		return float64(bits)
	default:
		single, err := client.ReadFloat32(r.Number, kind)
		require.NoError(t, err)
		return float64(single)
	}
}

func TestIndependentClientReadsManyRegistersAndExceptions(t *testing.T) {
	client, seen := dial(t)
	require.NoError(t, client.SetUnitId(9))
	words, err := client.ReadRegisters(100, 125, modbus.HOLDING_REGISTER)
	require.NoError(t, err)
	for i, word := range words {
		want, _ := room(9, dialect.Holding, uint16(100+i))
		require.Equal(t, want, word)
	}
	registers := []dialect.Register{}
	for i := range uint16(125) {
		registers = append(registers, holding(9, 100+i))
	}
	sent, _, _ := newMaster(t, registers...).Poll(at(time.Second))
	require.Equal(t, <-seen, sent)

	_, err = client.ReadRegister(1000, modbus.INPUT_REGISTER)
	require.ErrorIs(t, err, modbus.ErrIllegalDataAddress)
	<-seen
}
