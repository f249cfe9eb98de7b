package dialect

import (
	"bytes"
	"strconv"

	"wetside/sensors"
)

// OneWire reads thermometers on a 1-Wire bus as Linux shows them: a line for each reading,
// with the name of the thermometer, a colon, and the two lines of its file w1_slave
// (Documentation/w1/slaves/w1_therm.rst of the kernel):
//
//	28-0316a2b4c5ff: 72 01 4b 46 7f ff 0e 10 57 : crc=57 YES 72 01 4b 46 7f ff 0e 10 57 t=23125
//
// Behind YES the kernel gives what came, behind NO what came before, so that such a line is
// no reading. The check is made here once more.
type OneWire struct {
	lines
	words words
}

var _ sensors.Decoder = (*OneWire)(nil)

// OneWireFailed is what the line of a thermometer says that could not be read.
const OneWireFailed = "no answer"

// scratchpad is how many bytes a thermometer sends, the last of them the check of the others.
const scratchpad = 9

// NewOneWire makes a decoder for the thermometers of a 1-Wire bus.
func NewOneWire() *OneWire {
	w := &OneWire{words: words{}}
	w.lines = newLines(w.read)
	return w
}

func (w *OneWire) read(line []byte) sensors.Frame {
	frame := sensors.Frame{Result: sensors.FrameGarbled, Text: printable(line)}
	name, rest, found := bytes.Cut(line, []byte(": "))
	if !found || !validName(name) {
		return frame
	}
	if string(rest) == OneWireFailed {
		frame.Result = sensors.FrameNoAnswer
		return frame
	}
	fields := bytes.Fields(rest)
	if len(fields) != 2*scratchpad+4 || string(fields[scratchpad]) != ":" {
		return frame
	}
	var sent [scratchpad]byte
	for i := range sent {
		b, err := strconv.ParseUint(string(fields[i]), 16, 8)
		if err != nil {
			return frame
		}
		sent[i] = byte(b)
	}
	thousandths, found := bytes.CutPrefix(fields[len(fields)-1], []byte("t="))
	millis, err := strconv.ParseInt(string(thousandths), 10, 32)
	if !found || err != nil {
		return frame
	}
	if string(fields[scratchpad+2]) != "YES" || oneWireCheck(sent[:scratchpad-1]) != sent[scratchpad-1] {
		frame.Result = sensors.FrameChecksum
		return frame
	}
	m := sensors.Measurement{Address: w.words.of(name), Value: float64(millis) / 1000, Unit: "C"}
	// A bus that is shorted to ground sends zeros, whose check is zero: a thermometer never does.
	m.Fault = sent == [scratchpad]byte{}
	frame.Result, frame.Measurements = sensors.FrameGood, []sensors.Measurement{m}
	return frame
}

// oneWireCheck is the CRC of 1-Wire devices: x^8 + x^5 + x^4 + 1, lowest bit first (Maxim
// Integrated, application note 27, from memory).
func oneWireCheck(data []byte) byte {
	var crc byte
	for _, b := range data {
		crc ^= b
		for range 8 {
			low := crc & 1
			crc >>= 1
			if low != 0 {
				crc ^= 0x8C
			}
		}
	}
	return crc
}
