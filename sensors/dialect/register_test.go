package dialect_test

import (
	"encoding/binary"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// readBack has a master read one register that holds the words.
func readBack(t require.TestingT, r dialect.Register, words []uint16) sensors.Measurement {
	m, err := dialect.NewModbus(dialect.ModbusOptions{Registers: []dialect.Register{r}})
	require.NoError(t, err)
	request, _, _ := m.Poll(at(time.Second))
	require.NotNil(t, request)
	answer := dialect.AnswerModbus(request, func(_ uint8, _ dialect.Table, number uint16) (uint16, bool) {
		return words[number-r.Number], true
	})
	frames := m.Feed(at(time.Second), answer)
	require.Len(t, frames, 1)
	require.Equal(t, sensors.FrameGood, frames[0].Result)
	require.Len(t, frames[0].Measurements, 1)
	return frames[0].Measurements[0]
}

func TestRegisterTypes(t *testing.T) {
	for _, c := range []struct {
		name  string
		r     dialect.Register
		words []uint16
		want  string // the decimal number that is meant
	}{
		{"u16", dialect.Register{Type: dialect.U16}, []uint16{0xFFFF}, "65535"},
		{"s16", dialect.Register{Type: dialect.S16}, []uint16{0xFFFE}, "-2"},
		{"u32", dialect.Register{Type: dialect.U32}, []uint16{0xFFFF, 0xFFFE}, "4294967294"},
		{"u32, low first", dialect.Register{Type: dialect.U32, Order: dialect.LowFirst}, []uint16{0x0001, 0x0002}, "131073"},
		{"s32", dialect.Register{Type: dialect.S32, Order: dialect.HighFirst}, []uint16{0xFFFF, 0xFFFE}, "-2"},
		{"s32, low first", dialect.Register{Type: dialect.S32, Order: dialect.LowFirst}, []uint16{0xFFFE, 0xFFFF}, "-2"},
		{"f32", dialect.Register{Type: dialect.F32}, []uint16{0x41A2, 0x6666}, "20.3"},
		{"f32, low first", dialect.Register{Type: dialect.F32, Order: dialect.LowFirst}, []uint16{0x6666, 0x41A2}, "20.3"},
		{"tenths", dialect.Register{Type: dialect.S16, Scale: 0.1}, []uint16{203}, "20.3"},
		{"tenths below zero", dialect.Register{Type: dialect.S16, Scale: 0.1}, []uint16{0xFFFD}, "-0.3"},
		{"hundredths", dialect.Register{Type: dialect.U32, Scale: 0.01}, []uint16{0, 1999}, "19.99"},
		{"kelvin in tenths", dialect.Register{Type: dialect.U16, Scale: 0.1, Offset: -273.15}, []uint16{2934}, "20.25"},
		{"a scale turned round", dialect.Register{Type: dialect.S16, Scale: -0.5, Offset: 10}, []uint16{7}, "6.5"},
		{"tens", dialect.Register{Type: dialect.U16, Scale: 10}, []uint16{123}, "1230"},
		{"f32 scaled", dialect.Register{Type: dialect.F32, Scale: 0.1, Offset: 1}, []uint16{0x434B, 0}, "21.3"},
	} {
		c.r.Unit, c.r.Table, c.r.Number = 1, dialect.Input, 30
		want, err := strconv.ParseFloat(c.want, 64)
		require.NoError(t, err)
		require.Equal(t, sensors.Measurement{Address: "1:input:30", Value: want}, readBack(t, c.r, c.words), c.name)
		require.Equal(t, c.words, c.r.Words(want), "%s, written", c.name)
	}
}

func TestFloatsThatAreNoNumbersAreFaults(t *testing.T) {
	for _, f := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		r := dialect.Register{Unit: 1, Table: dialect.Holding, Type: dialect.F32}
		want := sensors.Measurement{Address: "1:holding:0", Fault: true}
		require.Equal(t, want, readBack(t, r, r.Words(f)))
		r.Scale = 0.1
		require.Equal(t, want, readBack(t, r, r.Words(f)))
	}
}

func TestWordsKeepWithinTheType(t *testing.T) {
	require.Equal(t, []uint16{0xFFFF}, dialect.Register{Type: dialect.U16}.Words(1e6))
	require.Equal(t, []uint16{0}, dialect.Register{Type: dialect.U16}.Words(-1))
	require.Equal(t, []uint16{0x8000}, dialect.Register{Type: dialect.S16}.Words(-1e6))
	require.Equal(t, []uint16{0x7FFF, 0xFFFF}, dialect.Register{Type: dialect.S32}.Words(1e12))
}

// Every integer at every decimal scale comes out as the decimal number that a
// person would write, checked against the integer's own digits.
func TestScaledIntegersAreDecimalNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.Int32().Draw(t, "raw")
		places := rapid.IntRange(0, 6).Draw(t, "places")
		shift := rapid.Int32Range(-100000, 100000).Draw(t, "shift")
		decimal := func(n int64) float64 {
			v, err := strconv.ParseFloat(strconv.FormatInt(n, 10)+"e-"+strconv.Itoa(places), 64)
			require.NoError(t, err)
			return v
		}
		r := dialect.Register{Unit: 1, Table: dialect.Holding, Type: dialect.S32, Scale: decimal(1), Offset: decimal(int64(shift))}
		words := []uint16{uint16(uint32(raw) >> 16), uint16(raw)}
		require.Equal(t, decimal(int64(raw)+int64(shift)), readBack(t, r, words).Value)
	})
}

// A single float is read as the shortest decimal number that is that float.
func TestFloatsSurvive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float32().Draw(t, "f")
		r := dialect.Register{Unit: 1, Table: dialect.Holding, Type: dialect.F32}
		bits := make([]byte, 4)
		binary.BigEndian.PutUint32(bits, math.Float32bits(f))
		words := []uint16{binary.BigEndian.Uint16(bits), binary.BigEndian.Uint16(bits[2:])}
		require.Equal(t, words, r.Words(float64(f)))
		require.Equal(t, f, float32(readBack(t, r, words).Value))
	})
}

func TestRegistersThatCannotBe(t *testing.T) {
	good := dialect.Register{Unit: 1, Table: dialect.Input, Number: 30, Type: dialect.U16}
	with := func(change func(*dialect.Register)) []dialect.Register {
		r := good
		change(&r)
		return []dialect.Register{r}
	}
	for _, c := range []struct {
		registers []dialect.Register
		want      string
	}{
		{nil, "at least one register"},
		{with(func(r *dialect.Register) { r.Unit = 0 }), "expected a unit from 1 to 247"},
		{with(func(r *dialect.Register) { r.Unit = 248 }), "expected a unit from 1 to 247"},
		{with(func(r *dialect.Register) { r.Table = "coil" }), `unknown table of registers "coil": expected one of holding, input`},
		{with(func(r *dialect.Register) { r.Type = "" }), "expected one of u16, s16, u32, s32, f32"},
		{with(func(r *dialect.Register) { r.Order = "middle" }), "expected one of high-first, low-first"},
		{with(func(r *dialect.Register) { r.Number, r.Type = 65535, dialect.F32 }), "beyond the last register"},
		{with(func(r *dialect.Register) { r.Scale = math.NaN() }), "expected a scale"},
		{with(func(r *dialect.Register) { r.Scale = math.Inf(1) }), "expected a scale"},
		{with(func(r *dialect.Register) { r.Offset = math.NaN() }), "an offset no larger"},
		{[]dialect.Register{good, good}, "register 1:input:30 is named twice"},
	} {
		_, err := dialect.NewModbus(dialect.ModbusOptions{Registers: c.registers})
		require.ErrorContains(t, err, c.want)
	}
	for _, c := range []struct {
		scale, offset float64
		can           bool
	}{{1e-9, 1e9, true}, {-1e9, -1e9, true}, {0.99e-9, 0, false}, {1.01e9, 0, false}, {1, 1.01e9, false}, {1, -1.01e9, false}} {
		_, err := dialect.NewModbus(dialect.ModbusOptions{Registers: with(func(r *dialect.Register) { r.Scale, r.Offset = c.scale, c.offset })})
		require.Equal(t, c.can, err == nil, c)
	}
	_, err := dialect.NewModbus(dialect.ModbusOptions{Registers: []dialect.Register{good}, Every: -1})
	require.ErrorContains(t, err, "negative")
}

func TestWordsOfAConfiguration(t *testing.T) {
	table, err := dialect.ParseTable(" input ")
	require.NoError(t, err)
	require.Equal(t, dialect.Input, table)
	kind, err := dialect.ParseRegisterType("f32")
	require.NoError(t, err)
	require.Equal(t, dialect.F32, kind)
	order, err := dialect.ParseWordOrder("low-first")
	require.NoError(t, err)
	require.Equal(t, dialect.LowFirst, order)
	_, err = dialect.ParseRegisterType("f64")
	require.ErrorContains(t, err, `unknown register type "f64": expected one of u16, s16, u32, s32, f32`)
}
