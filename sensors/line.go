package sensors

import (
	"context"
	"slices"
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

// LineID names a line within a site, as its configuration does.
type LineID string

// LineState says where a line stands. A line that went away passes through
// waiting before it is live again: what it said earlier proves nothing.
type LineState string

// The states of a line.
const (
	StateOpening LineState = "opening" // not tried yet
	StateWaiting LineState = "waiting" // open, no good frame yet
	StateLive    LineState = "live"    // good frames arrive
	StateSilent  LineState = "silent"  // open, but no good frame for longer than the line's silence
	StateGone    LineState = "gone"    // can't be opened or went away; tried again and again
)

// Said is the state in a word; itself it is a key of records and metrics.
func (s LineState) Said() phrase.Sentence { return phrase.Plain(string(s)) }

// LineStates lists every state in a fixed order.
func LineStates() []LineState {
	return []LineState{StateOpening, StateWaiting, StateLive, StateSilent, StateGone}
}

// FrameCounts counts frames by what became of them, in the order of [FrameResults].
type FrameCounts [8]uint64

// Count gives the number of frames with a result; zero for an unknown result.
func (f FrameCounts) Count(r FrameResult) uint64 {
	if at := slices.Index(FrameResults(), r); at >= 0 {
		return f[at]
	}
	return 0
}

// add counts one frame; a result that no dialect should give counts as garbled.
func (f *FrameCounts) add(r FrameResult) {
	at := slices.Index(FrameResults(), r)
	if at < 0 {
		at = slices.Index(FrameResults(), FrameGarbled)
	}
	f[at]++
}

// LineStatus is what a keeper needs to know of a line: a value that never
// changes once delivered. Counts run from the start of the daemon.
type LineStatus struct {
	ID      LineID
	Path    string
	Dialect string
	State   LineState
	// Since is when the line came into its state.
	Since Instant
	// LastGood is when the last good frame came; it means nothing unless EverGood.
	LastGood Instant
	EverGood bool
	// LastText is the last good frame as text, LastBadText the last one that was
	// neither good nor ignored; both empty if there was none.
	LastText    string
	LastBadText string
	Frames      FrameCounts
	// Readings counts the readings of every grade that were delivered.
	Readings uint64
	// Unknown counts measurements from addresses that no channel is configured for;
	// LastUnknown is the latest such address.
	Unknown     uint64
	LastUnknown string
	// Opens counts successful openings: reopenings are one less.
	Opens uint64
	// Bytes counts what arrived, Dropped what of it had waited too long to be dated.
	Bytes   uint64
	Dropped uint64
	// LastError says why the line could last not be opened or went away; it stays after its return.
	LastError phrase.Sentence
	// RatePerMinute is good frames a minute over the last minute.
	RatePerMinute float64
}

// Lost is why the line is gone; nothing while it is open, whatever ended it before.
func (s LineStatus) Lost() phrase.Sentence {
	if s.State != StateGone {
		return phrase.Sentence{}
	}
	return s.LastError
}

// Update is what a [Watch] delivers: the line's status and the readings of one
// chunk of bytes, if it held any. The slice is the watch's own: a receiver that
// keeps readings beyond its return copies them.
type Update struct {
	Status   LineStatus
	Readings []Reading
}

// minuteRate counts events over the last minute in buckets of a second. The
// zero value is ready for a clock that starts at zero.
type minuteRate struct {
	buckets [60]uint64
	sum     uint64
	first   int64 // the second of the first event
	last    int64 // the second up to which the buckets are current
	begun   bool
}

// add counts n events at a moment.
func (r *minuteRate) add(at Instant, n uint64) {
	r.turn(at)
	if !r.begun {
		r.begun, r.first = true, r.last
	}
	r.buckets[r.last%60] += n
	r.sum += n
}

// perMinute is the rate at a moment; in the first minute it is taken from the
// seconds that have passed.
func (r *minuteRate) perMinute(at Instant) float64 {
	r.turn(at)
	if !r.begun {
		return 0
	}
	return float64(r.sum) * 60 / float64(min(r.last-r.first+1, 60))
}

// turn empties the buckets of the seconds that have gone by.
func (r *minuteRate) turn(at Instant) {
	now := int64(at.Mono / time.Second)
	for s := max(r.last+1, now-59); s <= now; s++ {
		r.sum -= r.buckets[s%60]
		r.buckets[s%60] = 0
	}
	r.last = max(r.last, now)
}
