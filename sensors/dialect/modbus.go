package dialect

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"time"

	"wetside/sensors"
)

// ModbusOptions say what a Modbus master reads and how patient it is.
type ModbusOptions struct {
	Registers []Register
	// Every is how often each register is read; 1 s when zero. A line too slow for
	// that is asked without a break, each unit in its turn.
	Every time.Duration
	// AnswerWithin is how long a unit may take to begin its answer; 500 ms when zero.
	AnswerWithin time.Duration
	// Baud is the speed of the line, from which the silent times follow; 9600 when zero.
	Baud int
}

// Modbus is a master on a Modbus RTU line, after "MODBUS over Serial Line
// Specification and Implementation Guide V1.02". It reads registers with
// functions 03 and 04, has one request under way at a time, and takes as its
// answer only a frame of the right unit, function, length and CRC.
//
// After anything else it listens until the line has been quiet for a while, so
// that it never reads from the middle of a frame. The unit that was asked is then
// left alone for the longer of Every and AnswerWithin beyond the time of its
// answer, lest a late one be taken for that to the next request. If it does not
// answer at all it is left alone ever longer, up to 5 s, lest it starve the others.
type Modbus struct {
	blocks            []block
	every, within     time.Duration
	character, silent time.Duration
	phase             phase
	asked             *block // while listening
	next              int    // where the search for the next block begins
	deadline          time.Duration
	got               []byte
	verdict           sensors.FrameResult // on what is being thrown away; empty when not asked for
	last, noiseSince  time.Duration
	abandoned         bool // the line was opened anew with a request under way
	frames            []sensors.Frame
}

type phase uint8

const (
	idle      phase = iota // the line is ours
	listening              // for the answer to a request
	settling               // throwing away what comes until the line is quiet
)

// quiet is how long a line must be quiet to be taken as free after a failure.
// It is far longer than the 3.5 characters of the specification since adapters
// hand on what they hear in portions some 16 ms apart (common practice).
const quiet = 50 * time.Millisecond

// longestBackOff is the longest that a unit is left alone.
const longestBackOff = 5 * time.Second

var _ sensors.Decoder = (*Modbus)(nil)

// NewModbus makes a master that reads the registers of the options. The error
// says which register cannot be read and what is allowed.
func NewModbus(options ModbusOptions) (*Modbus, error) {
	for _, r := range options.Registers {
		if r.Unit == WholeDevice {
			return nil, fmt.Errorf("register %s: there is no unit %d on a serial line: expected 1 to 247", r.Address(), WholeDevice)
		}
	}
	return newMaster(options)
}

func newMaster(options ModbusOptions) (*Modbus, error) {
	blocks, err := plan(options.Registers)
	if err != nil {
		return nil, err
	}
	if options.Every < 0 || options.AnswerWithin < 0 || options.Baud < 0 {
		return nil, fmt.Errorf("a Modbus line cannot have a negative time or speed: every %v, answer within %v, %d baud",
			options.Every, options.AnswerWithin, options.Baud)
	}
	m := &Modbus{blocks: blocks, every: options.Every, within: options.AnswerWithin, got: make([]byte, 0, longestFrame)}
	m.every = cmp.Or(m.every, time.Second)
	m.within = cmp.Or(m.within, 500*time.Millisecond)
	m.character, m.silent = timing(options.Baud)
	return m, nil
}

// timing gives the time of a character of 11 bits and the silent time of 3.5
// characters between frames, fixed at 1.75 ms above 19200 baud: "MODBUS over
// Serial Line" V1.02, section 2.5.1.1.
func timing(baud int) (character, silent time.Duration) {
	baud = cmp.Or(baud, 9600)
	character = 11 * time.Second / time.Duration(baud)
	if baud > 19200 {
		return character, 1750 * time.Microsecond
	}
	return character, character * 7 / 2
}

// Feed takes bytes that arrived at now and gives the answer completed by them.
func (m *Modbus) Feed(now sensors.Instant, data []byte) []sensors.Frame {
	m.frames = m.frames[:0]
	if len(data) == 0 {
		return m.frames
	}
	if m.phase == idle {
		m.settle(now, "")
	}
	m.last = now.Mono
	m.got = append(m.got, data[:min(len(data), cap(m.got)-len(m.got))]...)
	if m.phase == listening {
		m.judge(now)
	}
	return m.frames
}

// judge looks at what has come of an answer.
func (m *Modbus) judge(now sensors.Instant) {
	n, ok := m.asked.answerLength(m.got)
	switch {
	case !ok:
		m.spoil(now, sensors.FrameGarbled)
	case n == 0 || len(m.got) < n:
	case !checks(m.got[:n]):
		m.spoil(now, sensors.FrameChecksum)
	default:
		m.asked.unit.failures = 0
		m.frames = append(m.frames, m.asked.read(m.got[:n]))
		m.phase = idle
		m.got = append(m.got[:0], m.got[n:]...)
		if len(m.got) > 0 {
			m.settle(now, "")
		}
	}
}

// spoil gives up a request whose answer was spoilt. What came may be another
// unit's, so the answer proper may still be on its way.
func (m *Modbus) spoil(now sensors.Instant, verdict sensors.FrameResult) {
	m.asked.unit.notBefore = m.deadline + m.pause()
	m.settle(now, verdict)
}

// settle begins to throw away what comes until the line is quiet.
func (m *Modbus) settle(now sensors.Instant, verdict sensors.FrameResult) {
	m.phase, m.verdict, m.noiseSince = settling, verdict, now.Mono
}

// Poll gives the next request when its time has come, and the failure of one
// that was not answered.
func (m *Modbus) Poll(now sensors.Instant) (send []byte, failed []sensors.Frame, wait time.Duration) {
	m.frames = m.frames[:0]
	if m.abandoned {
		m.abandoned = false
		m.leaveAlone(now)
	}
	if m.phase == listening {
		if now.Mono < m.deadline {
			return nil, m.frames, m.deadline - now.Mono
		}
		m.giveUp(now)
	}
	if m.phase == settling && !m.settled(now) {
		return nil, m.frames, m.last + quiet - now.Mono
	}
	send, wait = m.ask(now)
	return send, m.frames, wait
}

// Reset forgets a request under way and what has come of its answer.
func (m *Modbus) Reset() {
	m.abandoned = m.abandoned || m.phase == listening
	m.phase, m.got = idle, m.got[:0]
}

// giveUp counts a request as failed for want of an answer.
func (m *Modbus) giveUp(now sensors.Instant) {
	frame := sensors.Frame{Result: sensors.FrameNoAnswer, Text: m.asked.name() + ": no answer"}
	if len(m.got) > 0 {
		frame = sensors.Frame{Result: sensors.FrameCutOff, Text: hexText(m.got)}
	}
	m.frames = append(m.frames, frame)
	m.leaveAlone(now)
	m.got = m.got[:0]
	m.last = now.Mono
	m.settle(now, "")
}

// leaveAlone puts off the next request to a unit that did not answer.
func (m *Modbus) leaveAlone(now sensors.Instant) {
	u := m.asked.unit
	u.notBefore = now.Mono + max(m.pause(), min(m.pause()<<min(u.failures, 10), longestBackOff))
	u.failures++
}

// pause is how long a unit is left alone at least after a failure.
func (m *Modbus) pause() time.Duration { return max(m.every, m.within) }

// settled says whether the line has become quiet. What came meanwhile is
// counted once then, and once in a while on a line that never becomes quiet.
func (m *Modbus) settled(now sensors.Instant) bool {
	done := now.Mono-m.last >= quiet
	if !done && now.Mono-m.noiseSince < m.within {
		return false
	}
	if len(m.got) > 0 {
		m.frames = append(m.frames, m.discarded())
	}
	m.got, m.noiseSince, m.verdict = m.got[:0], now.Mono, ""
	if done {
		m.phase = idle
	}
	return done
}

// discarded is the frame for bytes that were thrown away. A whole frame that
// nobody asked for is a late answer, or comes from another master.
func (m *Modbus) discarded() sensors.Frame {
	result := m.verdict
	switch {
	case result != "":
	case checks(m.got):
		result = sensors.FrameIgnored
	default:
		result = sensors.FrameGarbled
	}
	return sensors.Frame{Result: result, Text: hexText(m.got)}
}

// ask gives the request whose turn it is, or how long there is none to send.
func (m *Modbus) ask(now sensors.Instant) (send []byte, wait time.Duration) {
	if free := m.last + m.silent; now.Mono < free {
		return nil, free - now.Mono
	}
	soonest := time.Duration(-1)
	for i := range m.blocks {
		b := &m.blocks[(m.next+i)%len(m.blocks)]
		at := max(b.due, b.unit.notBefore)
		if at <= now.Mono {
			m.next = (m.next + i + 1) % len(m.blocks)
			return b.request, m.begin(now, b)
		}
		if soonest < 0 || at < soonest {
			soonest = at
		}
	}
	return nil, soonest - now.Mono
}

// begin notes that a request goes out and gives how long its answer may take.
func (m *Modbus) begin(now sensors.Instant, b *block) time.Duration {
	if b.due += m.every; b.due <= now.Mono { // fallen behind: no catching up
		b.due = now.Mono + m.every
	}
	m.phase, m.asked, m.got = listening, b, m.got[:0]
	allowed := m.within + time.Duration(requestLength+5+2*b.count)*m.character
	m.deadline = now.Mono + allowed
	return allowed
}

// Modbus function codes and exception codes, from "MODBUS Application Protocol
// Specification V1.1b3", sections 6.3, 6.4 and 7.
const (
	readHolding = 0x03
	readInput   = 0x04
	refused     = 0x80 // added to the function in an exception answer

	illegalFunction = 0x01
	illegalAddress  = 0x02
	illegalValue    = 0x03

	requestLength = 8   // of functions 03 and 04, with unit and CRC
	longestFrame  = 256 // of any RTU frame
	mostRegisters = 125 // in one request
)

// AnswerModbus answers one Modbus RTU request as a unit does that has the two
// tables of registers and nothing else. A request of functions 03 and 04 has
// eight bytes. It gives nil where a unit keeps silent: a bad CRC, a broadcast,
// a frame that is no request. The registers function says what a register
// holds, or false where there is none; to a unit that is not there the caller
// gives no answer at all.
func AnswerModbus(request []byte, registers func(unit uint8, table Table, number uint16) (uint16, bool)) []byte {
	if len(request) < 4 || !checks(request) || request[0] == 0 {
		return nil
	}
	unit, function := request[0], request[1]
	exception := func(code byte) []byte { return appendCRC([]byte{unit, function | refused, code}) }
	table := Holding
	switch function {
	case readHolding:
	case readInput:
		table = Input
	default:
		return exception(illegalFunction)
	}
	if len(request) != requestLength {
		return exception(illegalValue)
	}
	first, count := int(binary.BigEndian.Uint16(request[2:])), int(binary.BigEndian.Uint16(request[4:]))
	if count < 1 || count > mostRegisters {
		return exception(illegalValue)
	}
	answer := append(make([]byte, 0, longestFrame), unit, function, byte(2*count))
	for number := first; number < first+count; number++ {
		if number > 0xFFFF {
			return exception(illegalAddress)
		}
		word, ok := registers(unit, table, uint16(number))
		if !ok {
			return exception(illegalAddress)
		}
		answer = binary.BigEndian.AppendUint16(answer, word)
	}
	return appendCRC(answer)
}

// exceptionWords names an exception code as the specification does.
func exceptionWords(code byte) string {
	return cmp.Or(map[byte]string{illegalFunction: "illegal function", illegalAddress: "illegal data address",
		illegalValue: "illegal data value", 0x04: "server device failure", 0x05: "acknowledge, still working", 0x06: "server device busy",
		0x08: "memory parity error", 0x0A: "gateway path unavailable", 0x0B: "gateway target device failed to respond",
	}[code], "a code without a published meaning")
}
