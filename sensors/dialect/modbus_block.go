package dialect

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"time"

	"wetside/sensors"
)

// block is a run of adjacent registers of one unit that one request reads.
type block struct {
	unit      *unit
	table     Table
	first     uint16
	count     int
	request   []byte // never changed once made, so it may be handed out
	registers []planned
	due       time.Duration // when it is to be asked again
}

// planned is a register with what reading it takes, worked out once.
type planned struct {
	Register
	address string
	offset  int // of its first byte within the data of an answer
	places  int
}

// unit is what is known of one unit on the line.
type unit struct {
	number    uint8
	failures  int           // requests without an answer in a row
	notBefore time.Duration // no request to it before then
}

// plan groups registers into as few requests as possible without reading any
// register that was not asked for: a unit may refuse those.
func plan(registers []Register) ([]block, error) {
	if len(registers) == 0 {
		return nil, errors.New("a Modbus line needs at least one register to read")
	}
	sorted := slices.Clone(registers)
	slices.SortStableFunc(sorted, func(a, b Register) int {
		return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Table, b.Table), cmp.Compare(a.Number, b.Number))
	})
	var blocks []block
	units := map[uint8]*unit{}
	for i, r := range sorted {
		if err := r.validate(); err != nil {
			return nil, err
		}
		if i > 0 && r.Address() == sorted[i-1].Address() {
			return nil, fmt.Errorf("register %s is named twice", r.Address())
		}
		if units[r.Unit] == nil {
			units[r.Unit] = &unit{number: r.Unit}
		}
		if len(blocks) == 0 || !blocks[len(blocks)-1].add(r) {
			blocks = append(blocks, block{unit: units[r.Unit], table: r.Table, first: r.Number})
			blocks[len(blocks)-1].add(r)
		}
	}
	for i := range blocks {
		blocks[i].prepare()
	}
	return blocks, nil
}

// add adds a register that overlaps the run or follows it at once.
func (b *block) add(r Register) bool {
	start := int(r.Number) - int(b.first)
	end := start + r.width()
	if r.Unit != b.unit.number || r.Table != b.table || start > b.count || end > mostRegisters {
		return false
	}
	b.count = max(b.count, end)
	b.registers = append(b.registers, planned{r, r.Address(), 2 * start, max(decimals(r.scale()), decimals(r.Offset))})
	return true
}

func (b *block) prepare() {
	request := append(make([]byte, 0, requestLength), b.unit.number, b.function())
	request = binary.BigEndian.AppendUint16(request, b.first)
	request = binary.BigEndian.AppendUint16(request, uint16(b.count))
	b.request = appendCRC(request)
}

func (b *block) function() byte {
	if b.table == Holding {
		return readHolding
	}
	return readInput
}

// answerLength is how long the answer is that begins like this, 0 while that
// cannot be told; ok is false when it is no answer to this request.
func (b *block) answerLength(got []byte) (n int, ok bool) {
	switch {
	case len(got) > 0 && got[0] != b.unit.number:
		return 0, false
	case len(got) < 2:
		return 0, true
	case got[1] == b.function()|refused:
		return 5, true
	case got[1] != b.function(), len(got) > 2 && int(got[2]) != 2*b.count:
		return 0, false
	case len(got) < 3:
		return 0, true
	}
	return 5 + 2*b.count, true
}

// read turns a complete and checked answer into a frame.
func (b *block) read(answer []byte) sensors.Frame {
	if answer[1]&refused != 0 {
		text := fmt.Sprintf("%s: refused, %s (exception %d)", b.name(), exceptionWords(answer[2]), answer[2])
		return sensors.Frame{Result: sensors.FrameException, Text: text}
	}
	data := answer[3:]
	list := make([]sensors.Measurement, len(b.registers))
	for i := range b.registers {
		r := &b.registers[i]
		list[i].Address = r.address
		v, ok := r.value(data[r.offset:], r.places)
		if !ok {
			list[i].Fault = true
			continue
		}
		list[i].Value = v
	}
	return sensors.Frame{Result: sensors.FrameGood, Measurements: list, Text: hexText(answer)}
}

// name is the run of registers in words.
func (b *block) name() string {
	if b.count == 1 {
		return fmt.Sprintf("unit %d, %s register %d", b.unit.number, b.table, b.first)
	}
	return fmt.Sprintf("unit %d, %s registers %d to %d", b.unit.number, b.table, b.first, int(b.first)+b.count-1)
}

// hexText shows bytes to a keeper as hexadecimal pairs, cut to what fits.
func hexText(data []byte) string {
	const digits = "0123456789ABCDEF"
	var shown [longestText]byte
	text := shown[:0]
	for i, c := range data {
		if len(text)+len(" FF ...") > longestText {
			text = append(text, " ..."...)
			break
		}
		if i > 0 {
			text = append(text, ' ')
		}
		text = append(text, digits[c>>4], digits[c&15])
	}
	return string(text)
}

// CRC16 is the cyclic redundancy check of Modbus RTU (polynomial x16+x15+x2+1,
// reflected, starting with all ones), by the procedure of "MODBUS over Serial
// Line Specification and Implementation Guide V1.02", section 6.2.2. On a Modbus
// line its low byte goes first. The text line uses it too: it finds every one- and
// two-bit error and every burst of up to 16 bits in lines of this length.
func CRC16[Bytes ~string | ~[]byte](data Bytes) uint16 {
	// Four steps of the bitwise procedure at once, one entry for each low half-byte.
	steps := [16]uint16{
		0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401,
		0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01, 0x8801, 0x4400,
	}
	crc := uint16(0xFFFF)
	for i := range len(data) {
		crc ^= uint16(data[i])
		crc = crc>>4 ^ steps[crc&15]
		crc = crc>>4 ^ steps[crc&15]
	}
	return crc
}

// appendCRC adds the check to a Modbus frame, low byte first.
func appendCRC(frame []byte) []byte {
	crc := CRC16(frame)
	return append(frame, byte(crc), byte(crc>>8))
}

// checks says whether a Modbus frame ends with its own check.
func checks(frame []byte) bool {
	end := len(frame) - 2
	return end > 0 && CRC16(frame[:end]) == uint16(frame[end])|uint16(frame[end+1])<<8
}
