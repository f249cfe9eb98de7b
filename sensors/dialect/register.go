package dialect

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"wetside/sensors/quantity/phrase"
)

// Register is one quantity in the registers of a unit on a Modbus line.
type Register struct {
	Unit   uint8 // the unit's own address, 1 to 247, or [WholeDevice]
	Table  Table
	Number uint16 // as on the wire, counted from zero: 30 for what some papers call 30031
	Type   RegisterType
	Order  WordOrder // of a 32-bit type; the empty one is HighFirst
	// Scale and Offset make the value: what the register holds * Scale + Offset. Scale 0 is 1.
	Scale, Offset float64
}

// WholeDevice is the unit of a device on the network that has no serial line behind it:
// "MODBUS Messaging on TCP/IP Implementation Guide V1.0b", section 4.4.2.1 (from memory).
const WholeDevice = 255

// Table is one of the two tables of registers of a Modbus unit.
type Table string

// The tables, as a configuration names them.
const (
	Holding Table = "holding" // function 03
	Input   Table = "input"   // function 04
)

// RegisterType says how the bits of a register are meant.
type RegisterType string

// The register types: unsigned and signed integers and the IEEE 754 single float.
const (
	U16 RegisterType = "u16"
	S16 RegisterType = "s16"
	U32 RegisterType = "u32"
	S32 RegisterType = "s32"
	F32 RegisterType = "f32"
)

// WordOrder says which half of a 32-bit value comes in the lower register.
type WordOrder string

// The word orders.
const (
	HighFirst WordOrder = "high-first"
	LowFirst  WordOrder = "low-first"
)

// ParseTable reads a table as a configuration writes it.
func ParseTable(text string) (Table, error) {
	return oneOf("table of registers", text, Holding, Input)
}

// ParseRegisterType reads a register type as a configuration writes it.
func ParseRegisterType(text string) (RegisterType, error) {
	return oneOf("register type", text, U16, S16, U32, S32, F32)
}

// ParseWordOrder reads a word order as a configuration writes it.
func ParseWordOrder(text string) (WordOrder, error) {
	return oneOf("word order", text, HighFirst, LowFirst)
}

func oneOf[Word ~string](what, text string, known ...Word) (Word, error) {
	word := Word(strings.TrimSpace(text))
	if slices.Contains(known, word) {
		return word, nil
	}
	return "", fmt.Errorf("unknown %s %q: expected one of %s", what, text, phrase.Listed(known))
}

// Address names the register within its line, such as "1:input:30".
func (r Register) Address() string {
	return fmt.Sprintf("%d:%s:%d", r.Unit, r.Table, r.Number)
}

// Words gives what the registers hold for a value, as a unit would send it:
// rounded to the nearest step and kept within the range of the type.
func (r Register) Words(value float64) []uint16 {
	raw := (value - r.Offset) / r.scale()
	clamp := func(low, high float64) float64 { return math.Round(min(max(raw, low), high)) }
	var bits uint32
	switch r.Type {
	case U16:
		return []uint16{uint16(clamp(0, math.MaxUint16))}
	case S16:
		return []uint16{uint16(int16(clamp(math.MinInt16, math.MaxInt16)))}
	case U32:
		bits = uint32(clamp(0, math.MaxUint32))
	case S32:
		bits = uint32(int32(clamp(math.MinInt32, math.MaxInt32)))
	default:
		bits = math.Float32bits(float32(raw))
	}
	words := []uint16{uint16(bits >> 16), uint16(bits)}
	if r.Order == LowFirst {
		slices.Reverse(words)
	}
	return words
}

func (r Register) scale() float64 {
	if r.Scale == 0 {
		return 1
	}
	return r.Scale
}

// width is how many registers the type takes.
func (r Register) width() int {
	if r.Type == U16 || r.Type == S16 {
		return 1
	}
	return 2
}

// value reads the register from the bytes of an answer; ok is false when they
// hold no number. The result is the decimal fraction that the scale stands for:
// 203 at a scale of 0.1 is the float64 nearest to 20.3, not 203 times that
// nearest to 0.1. This holds for up to 15 significant digits.
func (r Register) value(data []byte, places int) (v float64, ok bool) {
	var text [40]byte
	if r.Type == F32 {
		single := math.Float32frombits(r.bits(data))
		v, _ = strconv.ParseFloat(string(strconv.AppendFloat(text[:0], float64(single), 'g', -1, 32)), 64)
		if r.scale() != 1 || r.Offset != 0 {
			// A single float has no more than nine decimal digits that mean anything.
			clean := strconv.AppendFloat(text[:0], v*r.scale()+r.Offset, 'g', 9, 64)
			v, _ = strconv.ParseFloat(string(clean), 64)
		}
		return v, !math.IsNaN(v) && !math.IsInf(v, 0)
	}
	clean := strconv.AppendFloat(text[:0], r.integer(data)*r.scale()+r.Offset, 'f', places, 64)
	v, err := strconv.ParseFloat(string(clean), 64)
	return v, err == nil
}

func (r Register) integer(data []byte) float64 {
	switch r.Type {
	case U16:
		return float64(binary.BigEndian.Uint16(data))
	case S16:
		return float64(int16(binary.BigEndian.Uint16(data)))
	case U32:
		return float64(r.bits(data))
	default:
		return float64(int32(r.bits(data)))
	}
}

func (r Register) bits(data []byte) uint32 {
	first, second := binary.BigEndian.Uint16(data), binary.BigEndian.Uint16(data[2:])
	if r.Order == LowFirst {
		first, second = second, first
	}
	return uint32(first)<<16 | uint32(second)
}

func decimals(v float64) int {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	_, fraction, _ := strings.Cut(text, ".")
	return len(fraction)
}

// validate refuses what no Modbus line can have, and scales beyond use.
func (r Register) validate() error {
	if r.Unit < 1 || r.Unit > 247 && r.Unit != WholeDevice {
		return fmt.Errorf("register %s: expected a unit from 1 to 247, or %d for a device on the network itself", r.Address(), WholeDevice)
	}
	if _, err := ParseTable(string(r.Table)); err != nil {
		return fmt.Errorf("register %s: %w", r.Address(), err)
	}
	if _, err := ParseRegisterType(string(r.Type)); err != nil {
		return fmt.Errorf("register %s: %w", r.Address(), err)
	}
	if _, err := ParseWordOrder(string(r.Order)); err != nil && r.Order != "" {
		return fmt.Errorf("register %s: %w", r.Address(), err)
	}
	if int(r.Number)+r.width() > 1<<16 {
		return fmt.Errorf("register %s: a %s there would reach beyond the last register, 65535", r.Address(), r.Type)
	}
	if s := math.Abs(r.scale()); !(s >= 1e-9 && s <= 1e9) || !(math.Abs(r.Offset) <= 1e9) {
		return fmt.Errorf("register %s: expected a scale from 0.000000001 to 1000000000 and an offset no larger", r.Address())
	}
	return nil
}
