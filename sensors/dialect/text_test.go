package dialect_test

import (
	"os"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// checked closes a text line with its checksum.
func checked(body string) string { return body + ";" + dialect.TextChecksum(body) + "\n" }

func TestTextLine(t *testing.T) {
	for _, c := range []struct {
		name, line string
		want       sensors.FrameResult
		values     []string
	}{
		{"one channel", checked("dev=20.31C"), sensors.FrameGood, []string{"dev=20.31C"}},
		{"several channels", checked("dev=20.3C rh=45% duct=2.5m/s co2=900ppm dp=-4.5Pa"), sensors.FrameGood,
			[]string{"dev=20.3C", "rh=45%", "duct=2.5m/s", "co2=900ppm", "dp=-4.5Pa"}},
		{"a contact has no unit", checked("fan=1"), sensors.FrameGood, []string{"fan=1"}},
		{"more spaces than needed", checked(" dev=20C  fix=19C "), sensors.FrameGood, []string{"dev=20C", "fix=19C"}},
		{"a probe that cannot measure", checked("dev=? fix=19C"), sensors.FrameGood, []string{"dev=?", "fix=19C"}},
		{"no number at all", checked("dev= fix=nan a=infC b=1.2.3C c=--1C"), sensors.FrameGood,
			[]string{"dev=?", "fix=?", "a=?", "b=?", "c=?"}},
		{"a lower-case checksum", strings.ToLower(checked("dev=20.31c")), sensors.FrameGood, []string{"dev=20.31c"}},
		{"a wrong checksum", "dev=20.31C;0000\n", sensors.FrameChecksum, []string{}},
		{"no checksum", "dev=20.31C\n", sensors.FrameGarbled, []string{}},
		{"a checksum of other characters", "dev=20.31C;12G4\n", sensors.FrameGarbled, []string{}},
		{"the same name twice", checked("dev=20C dev=21C"), sensors.FrameGarbled, []string{}},
		{"no name", checked("=20C"), sensors.FrameGarbled, []string{}},
		{"a name too long", checked("abcdefghijklmnopq=20C"), sensors.FrameGarbled, []string{}},
		{"a unit too long", checked("a=20abcdefghijklm"), sensors.FrameGarbled, []string{}},
		{"two lines run together", checked("dev=20C;1234dev=20C"), sensors.FrameGarbled, []string{}},
		{"a word that is no channel", checked("ready"), sensors.FrameGarbled, []string{}},
		{"no channel", checked(""), sensors.FrameGarbled, []string{}},
		{"bytes that are no characters", checked("d\x80v=20C"), sensors.FrameGarbled, []string{}},
		{"too long", strings.Repeat("a", 201) + "\n", sensors.FrameTooLong, []string{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			frames := listen(dialect.NewText(), c.line)
			require.Equal(t, []sensors.FrameResult{c.want}, results(frames))
			require.Equal(t, c.values, values(frames))
			require.LessOrEqual(t, len(frames[0].Text), 120)
		})
	}
}

func TestLineOfTheGreatestLength(t *testing.T) {
	body := "a=20" + strings.Repeat(" ", 200-len("a=20;FFFF"))
	require.Equal(t, []string{"a=20"}, values(listen(dialect.NewText(), checked(body))))
}

func TestLineEndings(t *testing.T) {
	line := strings.TrimSpace(checked("dev=20.31C"))
	for _, ending := range []string{"\r", "\n", "\r\n", "\r\r\n", "\n\n\n"} {
		frames := listen(dialect.NewText(), strings.Repeat(line+ending, 3))
		require.Equal(t, []string{"dev=20.31C", "dev=20.31C", "dev=20.31C"}, values(frames), "%q", ending)
	}
}

func TestFirstLineAfterOpening(t *testing.T) {
	for _, c := range []struct {
		name, bytes string
		want        []sensors.FrameResult
	}{
		{"joined in mid-line", "31C;1234\r\n", []sensors.FrameResult{}},
		{"whole", checked("dev=20C"), []sensors.FrameResult{sensors.FrameGood}},
		{"joined in mid-line, then a bad one", "31C;1234\r\nx\r\n", []sensors.FrameResult{sensors.FrameGarbled}},
		{"flooded", strings.Repeat("x", 1000), []sensors.FrameResult{sensors.FrameTooLong}},
	} {
		d := dialect.NewText()
		require.Equal(t, c.want, results(d.Feed(at(0), []byte(c.bytes))), c.name)
		d.Reset()
		require.Equal(t, c.want, results(d.Feed(at(0), []byte(c.bytes))), "%s, after a reset", c.name)
	}
}

func TestPauseWithinALine(t *testing.T) {
	whole := checked("dev=20.31C")
	d := dialect.NewText()
	require.Empty(t, listen(d, whole[:6]))

	_, failed, wait := d.Poll(at(1500 * time.Millisecond))
	require.Empty(t, failed)
	require.Equal(t, 500*time.Millisecond, wait)

	send, failed, wait := d.Poll(at(2 * time.Second))
	require.Nil(t, send)
	require.Equal(t, []sensors.FrameResult{sensors.FrameCutOff}, results(failed))
	require.Equal(t, whole[:6], failed[0].Text)
	require.Zero(t, wait)

	require.Empty(t, d.Feed(at(3*time.Second), []byte(whole[6:])), "the tail of a line that was given up is no line")
	require.Equal(t, []string{"dev=20.31C"}, values(d.Feed(at(3*time.Second), []byte(whole))))
}

func TestPauseIsSeenWithoutAPoll(t *testing.T) {
	whole := checked("dev=20.31C")
	d := dialect.NewText()
	require.Empty(t, listen(d, whole[:6]))
	require.Empty(t, d.Feed(at(1999*time.Millisecond), []byte(whole[6:8])))
	frames := d.Feed(at(3999*time.Millisecond), []byte(whole[8:]+whole))
	require.Equal(t, []sensors.FrameResult{sensors.FrameCutOff, sensors.FrameGood}, results(frames))
}

func TestOverlongLineEndsAtAPause(t *testing.T) {
	d := dialect.NewText()
	require.Equal(t, []sensors.FrameResult{sensors.FrameTooLong}, results(listen(d, strings.Repeat("x", 500))))
	_, failed, wait := d.Poll(at(2 * time.Second))
	require.Empty(t, failed, "it is counted already")
	require.Zero(t, wait)
	require.Equal(t, []string{"a=1"}, values(d.Feed(at(2*time.Second), []byte(checked("a=1")))))
}

// The check values of CRC-16/MODBUS: the specification's own for 02 07, sent as
// 41 12 (MODBUS over Serial Line V1.02, section 6.2.2), and that for the digits 1
// to 9 which catalogues of such checks use.
func TestCRC16(t *testing.T) {
	require.Equal(t, uint16(0x1241), dialect.CRC16([]byte{0x02, 0x07}))
	require.Equal(t, uint16(0x4B37), dialect.CRC16("123456789"))
	require.Equal(t, "4B37", dialect.TextChecksum("123456789"))
}

// The procedure as the specification writes it, bit by bit (section 6.2.2).
func TestCRC16ByTheBitwiseProcedure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SliceOf(rapid.Byte()).Draw(t, "data")
		crc := uint16(0xFFFF)
		for _, b := range data {
			crc ^= uint16(b)
			for range 8 {
				low := crc & 1
				crc >>= 1
				if low == 1 {
					crc ^= 0xA001
				}
			}
		}
		require.Equal(t, crc, dialect.CRC16(data))
	})
}

func TestTextRoundTripInAnyPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sent := drawTextValues(t)
		line := dialect.EncodeText(sent)
		frames := inPieces(t, dialect.NewText(), []byte(line))
		require.Len(t, frames, 1)
		require.Equal(t, sensors.FrameGood, frames[0].Result)
		require.Len(t, frames[0].Measurements, len(sent))
		for i, m := range frames[0].Measurements {
			want := sensors.Measurement{Address: sent[i].Name, Fault: sent[i].Value == ""}
			if !want.Fault {
				want.Unit = sent[i].Unit
				want.Value, _ = strconv.ParseFloat(sent[i].Value, 64)
			}
			require.Equal(t, want, m)
		}
	})
}

// One or two flipped bits never let another value through.
func TestTextFlippedBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := dialect.EncodeText(drawTextValues(t))
		truth := values(listen(dialect.NewText(), line))
		bad := []byte(line)
		for range rapid.IntRange(1, 2).Draw(t, "flips") {
			bit := rapid.IntRange(0, 8*len(bad)-1).Draw(t, "bit")
			bad[bit/8] ^= 1 << (bit % 8)
		}
		for _, f := range listen(dialect.NewText(), string(bad)) {
			if f.Result == sensors.FrameGood { // the letters of the checksum in the other case, or the line's end
				require.Equal(t, truth, values([]sensors.Frame{f}))
			}
		}
	})
}

func TestFirmwareSketchShowsALineThatChecks(t *testing.T) {
	sketch, err := os.ReadFile("../../configs/firmware/text-line.ino")
	require.NoError(t, err)
	line := regexp.MustCompile(`(?m)^//   (\S.*;[0-9A-F]{4})$`).FindSubmatch(sketch)
	require.NotNil(t, line, "a worked line in a comment")
	require.Equal(t, []string{"dev=20.31C", "fan=1"}, values(listen(dialect.NewText(), string(line[1])+"\r\n")))
}

// A line that babbles new names for ever, each with a right checksum, must not fill the memory.
func TestMemoryIsBounded(t *testing.T) {
	d := dialect.NewText()
	heap := func() uint64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	before := heap()
	for i := range 50_000 {
		require.Len(t, d.Feed(at(0), []byte(checked("name"+strconv.Itoa(i)+"=20C"))), 1)
	}
	require.Less(t, heap(), before+200_000)
	runtime.KeepAlive(d)
}

func TestAKeeperIsShownTheFirst120CharactersOfALine(t *testing.T) {
	for line, want := range map[string]string{
		strings.Repeat("~", 120): strings.Repeat("~", 120),
		strings.Repeat("~", 121): strings.Repeat("~", 117) + "...",
		"\x1f !\x7f\xff":         ". !..",
	} {
		d := dialect.NewText()
		frames := listen(d, "\n"+line+"\n")
		require.Equal(t, want, frames[len(frames)-1].Text)
	}
}
