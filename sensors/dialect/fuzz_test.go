package dialect_test

import (
	"bytes"
	"encoding/binary"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// whole feeds all bytes at once, pieces feeds them one at a time.
func whole(d sensors.Decoder, data []byte) []sensors.Frame {
	return append([]sensors.Frame(nil), d.Feed(at(0), data)...)
}

func pieces(d sensors.Decoder, data []byte) (frames []sensors.Frame) {
	for i := range data {
		frames = append(frames, d.Feed(at(0), data[i:i+1])...)
	}
	return frames
}

// requireSound checks what holds of every frame.
func requireSound(t *testing.T, frames []sensors.Frame) {
	for _, f := range frames {
		require.Contains(t, sensors.FrameResults(), f.Result)
		require.LessOrEqual(t, len(f.Text), 120)
		require.Regexp(t, `^[ -~]*$`, f.Text)
		require.Equal(t, f.Result == sensors.FrameGood, len(f.Measurements) > 0)
	}
}

// requireSplit checks that the frames do not depend on how the bytes arrive.
func requireSplit(t *testing.T, fresh func() sensors.Decoder, data []byte) []sensors.Frame {
	frames := whole(fresh(), data)
	require.Equal(t, frames, append([]sensors.Frame(nil), pieces(fresh(), data)...))
	requireSound(t, frames)
	return frames
}

func FuzzText(f *testing.F) {
	f.Add([]byte(dialect.EncodeText([]dialect.TextValue{{Name: "dev", Value: "20.31", Unit: "C"}, {Name: "fix"}})))
	f.Add([]byte("\ndev=20C;0000\r\r\n;\n=;FFFF\n" + strings.Repeat("x", 300) + "\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		frames := requireSplit(t, func() sensors.Decoder { return dialect.NewText() }, data)
		for _, frame := range frames {
			if frame.Result == sensors.FrameGood { // the bytes hold a line with its right checksum
				require.True(t, hasChecked(data, regexp.MustCompile(`([^\r\n]*);([0-9A-Fa-f]{4})`), dialect.TextChecksum))
			}
		}
		body := strings.NewReplacer("\r", "", "\n", "").Replace(string(data)) // the same with a right checksum
		requireSplit(t, func() sensors.Decoder { return dialect.NewText() }, []byte(checked(body)))
	})
}

// hasChecked says whether the data hold a body followed by its checksum.
func hasChecked(data []byte, form *regexp.Regexp, sum func(string) string) bool {
	for line := range bytes.FieldsFuncSeq(data, func(r rune) bool { return r == '\r' || r == '\n' }) {
		if part := form.FindSubmatch(line); part != nil && strings.EqualFold(sum(string(part[1])), string(part[2])) {
			return true
		}
	}
	return false
}

func FuzzXDR(f *testing.F) {
	f.Add([]byte("$IIXDR,C,19.52,C,TempAir*19\r\n"))
	f.Add([]byte("\n$WIXDR,C,,C,,H,45,P,0*00\n!A*1\n$*00\n" + strings.Repeat("$", 300) + "\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		fresh := func() sensors.Decoder { return dialect.NewXDR() }
		xor := func(body string) string {
			text := "0" + strconv.FormatUint(uint64(dialect.XDRChecksum(body)), 16)
			return text[len(text)-2:]
		}
		for _, frame := range requireSplit(t, fresh, data) {
			if frame.Result == sensors.FrameGood {
				require.True(t, hasChecked(data, regexp.MustCompile(`^\$(.*)\*([0-9A-Fa-f]{2})$`), xor))
			}
		}
		body := strings.NewReplacer("\r", "", "\n", "").Replace(string(data))
		requireSplit(t, fresh, []byte(sentence("WIXDR,"+body)))
	})
}

// FuzzModbus feeds a master that waits for an answer.
func FuzzModbus(f *testing.F) {
	f.Add([]byte{0x01, 0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64, 0x05, 0x7A}, uint16(0))
	f.Add([]byte{0x01, 0x83, 0x02, 0xC0, 0xF1, 0xFF}, uint16(3))
	f.Fuzz(func(t *testing.T, data []byte, pause uint16) {
		var outcome [2][]sensors.Frame
		for i, feed := range []func(sensors.Decoder, []byte) []sensors.Frame{whole, pieces} {
			m := newMaster(t, holding(1, 107), dialect.Register{Unit: 1, Table: dialect.Holding, Number: 108, Type: dialect.F32})
			m.Poll(at(time.Second))
			frames := feed(m, data)
			_, later, _ := m.Poll(at(time.Second + time.Duration(pause)*time.Millisecond))
			outcome[i] = append(frames, later...)
			requireSound(t, outcome[i])
			requireChecked(t, outcome[i], data)
		}
		require.Equal(t, outcome[0], outcome[1])
	})
}

// requireChecked checks that a good frame is one that begins the data and ends with its CRC.
func requireChecked(t *testing.T, frames []sensors.Frame, data []byte) {
	for _, frame := range frames {
		if frame.Result == sensors.FrameGood {
			require.Equal(t, dialect.CRC16(data[:9]), binary.LittleEndian.Uint16(data[9:]))
		}
	}
}

func FuzzAnswerModbus(f *testing.F) {
	f.Add([]byte{0x01, 0x03, 0x00, 0x6B, 0x00, 0x03})
	f.Add([]byte{0x01, 0x04, 0xFF, 0xFF, 0x00, 0x7D})
	f.Fuzz(func(t *testing.T, body []byte) {
		registers := func(_ uint8, _ dialect.Table, number uint16) (uint16, bool) { return number, number%100 != 0 }
		dialect.AnswerModbus(body, registers)
		answer := dialect.AnswerModbus(binary.LittleEndian.AppendUint16(bytes.Clone(body), dialect.CRC16(body)), registers)
		if len(body) < 2 || body[0] == 0 {
			require.Nil(t, answer)
			return
		}
		n := len(answer) - 2
		require.Equal(t, dialect.CRC16(answer[:n]), binary.LittleEndian.Uint16(answer[n:]))
		require.Equal(t, body[0], answer[0])
		require.Equal(t, body[1]&0x7F, answer[1]&0x7F)
	})
}

func FuzzConfigurationWords(f *testing.F) {
	for _, word := range []string{"holding", "input", "u16", "f32", "high-first", " low-first", "", "u16 s16"} {
		f.Add(word)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if table, err := dialect.ParseTable(text); err == nil {
			require.Equal(t, strings.TrimSpace(text), string(table))
		}
		if kind, err := dialect.ParseRegisterType(text); err == nil {
			require.Equal(t, strings.TrimSpace(text), string(kind))
		}
		if order, err := dialect.ParseWordOrder(text); err == nil {
			require.Equal(t, strings.TrimSpace(text), string(order))
		}
	})
}
