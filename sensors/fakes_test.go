package sensors_test

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"wetside/sensors"
)

// fakeLine is a line whose bytes a test says.
type fakeLine struct {
	chunks chan []byte
	mu     sync.Mutex
	err    error
	sent   []string
	closed int
	refuse error // of Write
}

func newFakeLine() *fakeLine { return &fakeLine{chunks: make(chan []byte, 16)} }

func (l *fakeLine) Chunks() <-chan []byte { return l.chunks }

func (l *fakeLine) Err() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.err
}

func (l *fakeLine) Write(p []byte) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.sent = append(l.sent, string(p))
	return l.refuse
}

func (l *fakeLine) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed++
	return nil
}

func (l *fakeLine) requests() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(l.sent)
}

func (l *fakeLine) closings() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.closed
}

func (l *fakeLine) say(text string) { l.chunks <- []byte(text) }

// vanish ends the line as a pulled plug does.
func (l *fakeLine) vanish() {
	l.mu.Lock()
	l.err = fmt.Errorf("usb-probe: %w: reading failed", sensors.ErrGone)
	l.mu.Unlock()
	close(l.chunks)
}

// fakeOpener opens the line that is plugged in, if one is.
type fakeOpener struct {
	mu    sync.Mutex
	line  *fakeLine
	tries []time.Time
	busy  error // what stands against opening it, in place of its absence
}

func (o *fakeOpener) plug() *fakeLine {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.line = newFakeLine()
	return o.line
}

// pull takes the line away; a second pull finds none.
func (o *fakeOpener) pull() {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.line != nil {
		o.line.vanish()
		o.line = nil
	}
}

// jam makes writing to the line fail, and the line can't be opened again.
func (o *fakeOpener) jam(why error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.line.mu.Lock()
	defer o.line.mu.Unlock()
	o.line.refuse = why
	o.line = nil
}

func (o *fakeOpener) Open(context.Context, sensors.LineSettings) (sensors.Line, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.tries = append(o.tries, time.Now())
	if o.line == nil {
		return nil, fmt.Errorf("can't open usb-probe: %w", cmp.Or(o.busy, sensors.ErrAbsent))
	}
	return o.line, nil
}

// fakeDecoder reads lines such as "dev=20.1C wash=18". A line that starts with
// an exclamation mark is garbled; half a line fails after two seconds. When ask
// is set, it asks once a second and wants an answer within half of it.
type fakeDecoder struct {
	half    string
	started sensors.Instant
	ask     string
	asked   time.Duration
	begun   bool // it has asked since the reset
	waiting bool
}

func (d *fakeDecoder) Reset() { d.half, d.waiting, d.begun = "", false, false }

func (d *fakeDecoder) Feed(now sensors.Instant, data []byte) (frames []sensors.Frame) {
	if d.half == "" {
		d.started = now
	}
	d.half += string(data)
	for {
		text, rest, whole := strings.Cut(d.half, "\n")
		if !whole {
			return frames
		}
		d.half, d.started, d.waiting = rest, now, false
		frames = append(frames, fakeFrame(text))
	}
}

func fakeFrame(text string) sensors.Frame {
	f := sensors.Frame{Result: sensors.FrameGood, Text: text}
	for field := range strings.FieldsSeq(text) {
		address, value, _ := strings.Cut(field, "=")
		number := strings.TrimRight(value, "CF%")
		v, err := strconv.ParseFloat(number, 64)
		if err != nil || strings.HasPrefix(text, "!") {
			return sensors.Frame{Result: sensors.FrameGarbled, Text: text}
		}
		f.Measurements = append(f.Measurements, sensors.Measurement{Address: address, Value: v, Unit: value[len(number):]})
	}
	return f
}

func (d *fakeDecoder) Poll(now sensors.Instant) (send []byte, failed []sensors.Frame, wait time.Duration) {
	const patience, answerWithin, period = 2 * time.Second, time.Second / 2, time.Second
	if d.ask == "" {
		if d.half == "" {
			return nil, nil, 0
		}
		if left := patience - now.Since(d.started); left > 0 {
			return nil, nil, left
		}
		failed = []sensors.Frame{{Result: sensors.FrameCutOff, Text: d.half}}
		d.half = ""
		return nil, failed, 0
	}
	if d.waiting && now.Mono-d.asked >= answerWithin {
		d.waiting = false
		failed = []sensors.Frame{{Result: sensors.FrameNoAnswer, Text: d.ask}}
	}
	switch next := d.asked + period; {
	case d.waiting:
		return nil, failed, d.asked + answerWithin - now.Mono
	case d.begun && now.Mono < next:
		return nil, failed, next - now.Mono
	}
	d.asked, d.begun, d.waiting = now.Mono, true, true
	return []byte(d.ask), failed, answerWithin
}
