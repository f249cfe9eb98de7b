package dialect

import (
	"bytes"
	"fmt"
	"strings"

	"wetside/sensors"
)

// Text decodes the checked text line that the package comment describes.
type Text struct {
	lines
	words words
}

var _ sensors.Decoder = (*Text)(nil)

// NewText makes a decoder for a line on which a probe prints checked text lines.
func NewText() *Text {
	t := &Text{words: words{}}
	t.lines = newLines(t.read)
	return t
}

// TextValue is one channel of a text line to be written.
type TextValue struct {
	Name string
	// Value is a decimal number such as "20.31"; empty when the probe cannot measure.
	Value string
	Unit  string
}

// EncodeText writes a text line with its checksum and the ending CR LF, as a probe does.
func EncodeText(values []TextValue) string {
	channels := make([]string, len(values))
	for i, v := range values {
		channels[i] = v.Name + "=" + v.Value + v.Unit
		if v.Value == "" {
			channels[i] = v.Name + "=?"
		}
	}
	body := strings.Join(channels, " ")
	return body + ";" + TextChecksum(body) + "\r\n"
}

// TextChecksum gives the checksum of a text line as written after the semicolon,
// for the characters before it.
func TextChecksum(body string) string { return fmt.Sprintf("%04X", CRC16(body)) }

func (t *Text) read(line []byte) sensors.Frame {
	frame := sensors.Frame{Result: sensors.FrameGarbled, Text: printable(line)}
	end := len(line) - len(";FFFF")
	if end < 0 || line[end] != ';' {
		return frame
	}
	sum, ok := hex(line[end+1:])
	if !ok {
		return frame
	}
	if sum != uint64(CRC16(line[:end])) {
		frame.Result = sensors.FrameChecksum
		return frame
	}
	if measurements, ok := t.channels(line[:end]); ok {
		frame.Result, frame.Measurements = sensors.FrameGood, measurements
	}
	return frame
}

func (t *Text) channels(body []byte) ([]sensors.Measurement, bool) {
	list := make([]sensors.Measurement, 0, bytes.Count(body, []byte{'='}))
	for len(body) > 0 {
		var channel []byte
		channel, body, _ = bytes.Cut(body, []byte{' '})
		if len(channel) == 0 {
			continue
		}
		m, ok := t.channel(channel)
		if !ok || twice(list, m.Address) {
			return nil, false
		}
		list = append(list, m)
	}
	return list, len(list) > 0
}

func (t *Text) channel(text []byte) (m sensors.Measurement, ok bool) {
	name, rest, ok := bytes.Cut(text, []byte{'='})
	if !ok || !validName(name) || !validUnit(rest) {
		return m, false
	}
	end := 0
	for end < len(rest) && bytes.IndexByte([]byte("+-.0123456789"), rest[end]) >= 0 {
		end++
	}
	m.Address = t.words.of(name)
	value, ok := decimal(rest[:end])
	if !ok {
		m.Fault = true
		return m, true
	}
	if len(rest)-end > 12 {
		return m, false
	}
	m.Value, m.Unit = value, t.words.of(rest[end:])
	return m, true
}

func validName(name []byte) bool {
	return len(name) > 0 && len(name) <= 16 && !bytes.ContainsFunc(name, func(r rune) bool {
		letter, digit := r|0x20 >= 'a' && r|0x20 <= 'z', r >= '0' && r <= '9'
		return !letter && !digit && r != '-' && r != '_' && r != '.'
	})
}

// validUnit refuses what can only come from a line whose parts ran together.
func validUnit(text []byte) bool {
	return !bytes.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r > '~' || r == '=' || r == ';' })
}
