package dialect_test

import (
	"encoding/binary"
	"fmt"
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// bus is a Modbus line in simulated time: a master, and units that answer.
type bus struct {
	master *dialect.Modbus
	now    time.Duration
	units  map[uint8]func(request []byte) []byte
	delay  map[uint8]time.Duration // from a request to its answer; 5 ms when zero
	wire   []arrival               // what is on its way to the master, soonest first
	frames []sensors.Frame
	at     []time.Duration // of each frame
	asked  []string        // unit, function, first register and count of each request
	sent   []time.Duration // of each request
}

type arrival struct {
	at    time.Duration
	bytes []byte
}

// newBus makes a line on which every unit holds its number times 1000 plus the
// number of the register.
func newBus(master *dialect.Modbus) *bus {
	return &bus{master: master, now: time.Second, units: map[uint8]func([]byte) []byte{}, delay: map[uint8]time.Duration{}}
}

func truthful(request []byte) []byte {
	return dialect.AnswerModbus(request, func(unit uint8, _ dialect.Table, number uint16) (uint16, bool) {
		return uint16(unit)*1000 + number, true
	})
}

// silent is a unit that is not there.
func silent([]byte) []byte { return nil }

// arrive has bytes reach the master after a while.
func (b *bus) arrive(after time.Duration, bytes []byte) {
	i := 0
	for i < len(b.wire) && b.wire[i].at <= b.now+after {
		i++
	}
	b.wire = append(b.wire[:i], append([]arrival{{b.now + after, bytes}}, b.wire[i:]...)...)
}

func (b *bus) run(d time.Duration) {
	for end := b.now + d; b.now < end; {
		send, failed, wait := b.master.Poll(at(b.now))
		b.keep(failed)
		if send != nil {
			b.answer(send)
		}
		next := min(b.now+max(wait, time.Microsecond), end)
		if len(b.wire) > 0 && b.wire[0].at <= next {
			next = max(b.wire[0].at, b.now)
			b.now = next
			b.keep(b.master.Feed(at(b.now), b.wire[0].bytes))
			b.wire = b.wire[1:]
		}
		b.now = next
	}
}

func (b *bus) answer(request []byte) {
	unit := request[0]
	first, count := binary.BigEndian.Uint16(request[2:]), binary.BigEndian.Uint16(request[4:])
	b.asked = append(b.asked, fmt.Sprint(unit, " ", request[1], " ", first, " ", count))
	b.sent = append(b.sent, b.now)
	speak, delay := b.units[unit], b.delay[unit]
	if speak == nil {
		speak = truthful
	}
	if delay == 0 {
		delay = 5 * time.Millisecond
	}
	if answer := speak(request); answer != nil {
		b.arrive(delay, answer)
	}
}

func (b *bus) keep(frames []sensors.Frame) {
	for _, f := range frames {
		b.frames = append(b.frames, f)
		b.at = append(b.at, b.now)
	}
}

// count says how many frames had each result.
func (b *bus) count() map[sensors.FrameResult]int {
	n := map[sensors.FrameResult]int{}
	for _, f := range b.frames {
		n[f.Result]++
	}
	return n
}

// lies lists the good values that are not what the register of their address holds.
func (b *bus) lies() []string {
	var list []string
	for _, f := range b.frames {
		for _, m := range f.Measurements {
			var unit, number int
			var table string
			fmt.Sscanf(strings.ReplaceAll(m.Address, ":", " "), "%d %s %d", &unit, &table, &number)
			if f.Result != sensors.FrameGood || m.Value != float64(unit*1000+number) {
				list = append(list, fmt.Sprint(m.Address, "=", m.Value))
			}
		}
	}
	return list
}
