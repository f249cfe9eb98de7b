package dialect

import (
	"bytes"
	"fmt"
	"strings"

	"wetside/sensors"
)

// XDR decodes the transducer measurement sentences of IEC 61162-1 (NMEA 0183),
//
//	$--XDR,C,21.4,C,AIR,H,45.2,P,HUM*hh
//
// from any talker: groups of transducer type, value, unit and identifier, with
// a checksum that the standard allows to omit and this decoder does not. Other
// sentences are ignored. An empty value, or one that is no number, is a fault.
//
// The identifier is the address of a measurement. Instruments that number their
// transducers begin again with each type, so a number is preceded by the type
// ("C0", "H0"), and a missing identifier is replaced by it ("C").
type XDR struct {
	lines
	words words
}

var _ sensors.Decoder = (*XDR)(nil)

// NewXDR makes a decoder for a line that carries IEC 61162-1 sentences.
func NewXDR() *XDR {
	x := &XDR{words: words{}}
	x.lines = newLines(x.read)
	return x
}

// XDRValue is one group of a sentence to be written, as the standard has it.
type XDRValue struct {
	Type string // "C" temperature, "H" humidity, "P" pressure, "G" generic, ...
	// Value is a decimal number such as "21.4"; empty when there is none.
	Value string
	Unit  string // "C" for °C, "P" for percent or pascal, "B" for bar, ...
	Name  string
}

// EncodeXDR writes a sentence with its checksum and the ending CR LF, for a
// talker of two letters such as "WI" for weather instruments.
func EncodeXDR(talker string, values []XDRValue) string {
	body := talker + "XDR"
	for _, v := range values {
		body += "," + strings.Join([]string{v.Type, v.Value, v.Unit, v.Name}, ",")
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, XDRChecksum(body))
}

// XDRChecksum is the checksum of an IEC 61162-1 sentence: the exclusive or of
// the characters between '$' and '*'.
func XDRChecksum[Bytes ~string | ~[]byte](body Bytes) (sum byte) {
	for i := range len(body) {
		sum ^= body[i]
	}
	return sum
}

func (x *XDR) read(line []byte) sensors.Frame {
	frame := sensors.Frame{Result: sensors.FrameGarbled, Text: printable(line)}
	end := len(line) - len("*hh")
	if end < 1 || line[end] != '*' || (line[0] != '$' && line[0] != '!') {
		return frame
	}
	sum, ok := hex(line[end+1:])
	if !ok {
		return frame
	}
	body := line[1:end]
	if sum != uint64(XDRChecksum(body)) {
		frame.Result = sensors.FrameChecksum
		return frame
	}
	formatter, fields, _ := bytes.Cut(body, []byte{','})
	if line[0] != '$' || len(formatter) != 5 || string(formatter[2:]) != "XDR" {
		frame.Result = sensors.FrameIgnored
		return frame
	}
	if list, ok := x.groups(fields); ok {
		frame.Result, frame.Measurements = sensors.FrameGood, list
	}
	return frame
}

func (x *XDR) groups(fields []byte) ([]sensors.Measurement, bool) {
	count := bytes.Count(fields, []byte{','}) + 1
	if count%4 != 0 {
		return nil, false
	}
	list := make([]sensors.Measurement, 0, count/4)
	for range count / 4 {
		var group [4][]byte
		for i := range group {
			group[i], fields, _ = bytes.Cut(fields, []byte{','})
			if !validField(group[i]) {
				return nil, false
			}
		}
		m := x.measurement(group)
		if m.Address == "" && m.Fault { // a group of empty fields fills up a sentence
			continue
		}
		if m.Address == "" || twice(list, m.Address) {
			return nil, false
		}
		list = append(list, m)
	}
	return list, len(list) > 0
}

func (x *XDR) measurement(group [4][]byte) (m sensors.Measurement) {
	kind, name := group[0], group[3]
	address := name
	if _, numbered := decimal(name); numbered || len(name) == 0 {
		var joined [LongestLine]byte
		address = append(append(joined[:0], kind...), name...)
	}
	m.Address = x.words.of(address)
	value, ok := decimal(group[1])
	if !ok {
		m.Fault = true
		return m
	}
	m.Value, m.Unit = value, xdrUnit(string(kind), x.words.of(group[2]))
	return m
}

// validField refuses characters that no field may hold.
func validField(field []byte) bool {
	return !bytes.ContainsFunc(field, func(r rune) bool { return r < ' ' || r > '~' || r == '$' || r == '*' || r == '!' })
}

// xdrUnits are the units by type of transducer and letter, by the table of the XDR sentence in NMEA 0183 V4.11;
// types S with units K and M, and P with H, are used by weather instruments.
var xdrUnits = map[string]string{"PB": "bar", "PP": "Pa", "PH": "hPa", "Rl": "L/s", "VM": "m3", "DM": "m", "FH": "Hz", "SM": "m/s",
	"SK": "km/h", "BK": "kg/m3"}

// xdrUnit is the unit that a letter stands for. Other letters stay as written.
func xdrUnit(kind, letter string) string {
	if unit, known := xdrUnits[kind+letter]; known {
		return unit
	}
	if letter == "P" {
		return "%"
	}
	return letter
}
