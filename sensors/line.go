package sensors

import (
	"context"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// LineSettings say how to open a serial line.
type LineSettings struct {
	// Path is the device, best by its identity: /dev/serial/by-id/..., or COM3.
	Path     string
	Baud     int
	DataBits int    // 7 or 8
	Parity   Parity // N, E or O
	StopBits int    // 1 or 2
}

// Framed gives the settings with a character format: data bits, parity and stop bits,
// such as "8N1".
func (s LineSettings) Framed(format string) (LineSettings, error) {
	if len(format) != 3 || !strings.ContainsRune("78", rune(format[0])) || !strings.ContainsRune("NEO", rune(format[1])) ||
		!strings.ContainsRune("12", rune(format[2])) {
		return s, phrase.Errorf("%q is not a character format: expected data bits, parity and stop bits, such as \"8N1\" or \"7E1\"", format)
	}
	s.DataBits, s.Parity, s.StopBits = int(format[0]-'0'), Parity(format[1]), int(format[2]-'0')
	return s, nil
}

// Parity is the parity of a serial line: 'N', 'E' or 'O'.
type Parity byte

// Line is an open serial line. One goroutine of its own reads and closes the
// device; whoever opened the line calls Close and need not drain Chunks.
type Line interface {
	// Chunks delivers bytes as they arrive, with a bounded queue behind it. It is
	// closed when the line is gone or closed; Err then tells which. The receiver owns each slice.
	Chunks() <-chan []byte
	// Err is nil while the line is open or after Close, and says why the line went otherwise.
	Err() error
	// Write sends p, bounded in time; a peer that does not take it makes the line gone.
	Write(p []byte) error
	// Close ends the line and returns within one read timeout of the device.
	Close() error
}

// Opener opens serial lines; a simulated room may bring its own.
type Opener interface {
	Open(ctx context.Context, settings LineSettings) (Line, error)
}

// Errors that an [Opener] wraps, so that a keeper can be told what to do.
var (
	ErrAbsent      = phrase.Errorf("no such device")
	ErrBusy        = phrase.Errorf("in use by another program")
	ErrForbidden   = phrase.Errorf("no permission")
	ErrUnsupported = phrase.Errorf("settings not supported")
	ErrGone        = phrase.Errorf("device gone")
)

// Decoder turns the bytes of one line into measurements. It is a state machine
// without a clock or I/O of its own; a [Watch] drives it from one goroutine.
type Decoder interface {
	// Feed takes bytes that arrived at now and gives the frames completed by them,
	// good and bad. The slice may be reused by the next call.
	Feed(now Instant, data []byte) []Frame
	// Poll gives bytes to send now (nil for a line that speaks by itself), any frame that
	// has failed by its time having come (a request without an answer), and how long to wait until Poll
	// is to be called again (0: not before more bytes arrive).
	Poll(now Instant) (send []byte, failed []Frame, wait time.Duration)
	// Reset forgets a half frame; it is called after each opening of the line,
	// when it is unknown whether the bytes to come start in mid-frame.
	Reset()
}

// Frame is one complete unit of a dialect: a line, a sentence, an answer.
type Frame struct {
	Result       FrameResult
	Measurements []Measurement
	// Text is the frame as a keeper may read it, at most 120 characters, printable.
	Text string
}

// FrameResult says what became of a frame.
type FrameResult string

// The results of a frame, used as they are in the metrics.
const (
	FrameGood      FrameResult = "good"
	FrameGarbled   FrameResult = "garbled"   // not of the dialect's form
	FrameChecksum  FrameResult = "checksum"  // checksum or CRC wrong
	FrameTooLong   FrameResult = "too_long"  // longer than the dialect allows
	FrameCutOff    FrameResult = "cut_off"   // half a frame, then silence
	FrameException FrameResult = "exception" // a Modbus exception answer
	FrameNoAnswer  FrameResult = "no_answer" // a request without an answer
	FrameIgnored   FrameResult = "ignored"   // well-formed, but nothing we read
)

// Label is what people read of frames with this result, behind their number.
func (r FrameResult) Label() string {
	if r == FrameChecksum {
		return "with a wrong checksum"
	}
	return strings.ReplaceAll(string(r), "_", " ")
}

// FrameResults lists every result in a fixed order.
func FrameResults() []FrameResult {
	return []FrameResult{FrameGood, FrameGarbled, FrameChecksum, FrameTooLong, FrameCutOff, FrameException, FrameNoAnswer, FrameIgnored}
}
