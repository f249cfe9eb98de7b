package dialect

import (
	"math"
	"slices"
	"strconv"
	"time"

	"wetside/sensors"
)

// LongestLine is the most characters a text line or sentence may have, without
// its end. IEC 61162-1 allows 82; instruments are known to send more.
const LongestLine = 200

// lineGap is the pause within a line after which what came before it is thrown away, longer than any
// pause that a probe makes in mid-line.
const lineGap = 2 * time.Second

// lines cuts a stream of bytes into lines and has each one read. A line never
// spans a pause, and the memory in use does not grow with what arrives.
type lines struct {
	read    func(line []byte) sensors.Frame
	part    []byte        // the line so far
	last    time.Duration // when its last byte came
	tooLong bool          // the line is already counted as such, skip to its end
	joined  bool          // the line may have begun before we listened
	frames  []sensors.Frame
}

func newLines(read func([]byte) sensors.Frame) lines {
	return lines{read: read, part: make([]byte, 0, LongestLine), joined: true}
}

// Feed takes bytes that arrived at now and gives the lines completed by them.
func (l *lines) Feed(now sensors.Instant, data []byte) []sensors.Frame {
	l.frames = l.frames[:0]
	l.cutOff(now)
	l.last = now.Mono
	for _, b := range data {
		switch {
		case b == '\r' || b == '\n':
			l.finish()
		case l.tooLong:
		case len(l.part) == LongestLine:
			l.emit(sensors.FrameTooLong)
			l.tooLong = true
		default:
			l.part = append(l.part, b)
		}
	}
	return l.frames
}

// Poll sends nothing; it gives up a line that has been left unfinished.
func (l *lines) Poll(now sensors.Instant) (send []byte, failed []sensors.Frame, wait time.Duration) {
	l.frames = l.frames[:0]
	l.cutOff(now)
	if l.unfinished() {
		wait = l.last + lineGap - now.Mono
	}
	return nil, l.frames, wait
}

// Reset forgets a half line and expects to join the next one in its middle.
func (l *lines) Reset() {
	l.part, l.tooLong, l.joined = l.part[:0], false, true
}

func (l *lines) unfinished() bool { return len(l.part) > 0 || l.tooLong }

// cutOff throws away an unfinished line after a pause. Its tail may still come,
// so the next line counts as joined in its middle.
func (l *lines) cutOff(now sensors.Instant) {
	if !l.unfinished() || now.Mono-l.last < lineGap {
		return
	}
	if !l.joined && !l.tooLong {
		l.emit(sensors.FrameCutOff)
	}
	l.Reset()
}

func (l *lines) emit(result sensors.FrameResult) {
	l.frames = append(l.frames, sensors.Frame{Result: result, Text: printable(l.part)})
}

// finish has the line read. A line that may lack its beginning is passed over
// in silence unless it proves to be whole.
func (l *lines) finish() {
	if len(l.part) > 0 && !l.tooLong {
		frame := l.read(l.part)
		whole := frame.Result == sensors.FrameGood || frame.Result == sensors.FrameIgnored
		if whole || !l.joined {
			l.frames = append(l.frames, frame)
		}
	}
	l.part, l.tooLong, l.joined = l.part[:0], false, false
}

// longestText is the most characters of a frame that are shown to a keeper.
const longestText = 120

// printable shows a line to a keeper: cut to what fits, a point for each byte
// that is not a printable ASCII character.
func printable(line []byte) string {
	var shown [longestText]byte
	n := copy(shown[:], line)
	for i, b := range shown[:n] {
		if b < ' ' || b > '~' {
			shown[i] = '.'
		}
	}
	if len(line) > longestText {
		copy(shown[longestText-3:], "...")
	}
	return string(shown[:n])
}

// decimal reads a plain decimal number: a sign if any, digits, a point if any.
func decimal(text []byte) (float64, bool) {
	digits, points := 0, 0
	for i, b := range text {
		switch {
		case b >= '0' && b <= '9':
			digits++
		case b == '.' && points == 0:
			points++
		case (b == '+' || b == '-') && i == 0:
		default:
			return 0, false
		}
	}
	if digits == 0 {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(text), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// hex reads hexadecimal digits of either case.
func hex(text []byte) (n uint64, ok bool) {
	n, err := strconv.ParseUint(string(text), 16, 64)
	return n, err == nil
}

// twice says that a frame has named this address before: which of the two
// values is meant nobody can tell.
func twice(list []sensors.Measurement, address string) bool {
	return slices.ContainsFunc(list, func(m sensors.Measurement) bool { return m.Address == address })
}

// words keeps one copy of each name and unit that a line repeats for ever. It
// forgets all of them when a babbling line has filled it.
type words map[string]string

func (w words) of(text []byte) string {
	if s, ok := w[string(text)]; ok {
		return s
	}
	if len(w) >= 256 {
		clear(w)
	}
	s := string(text)
	w[s] = s
	return s
}
