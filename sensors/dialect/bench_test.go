package dialect_test

import (
	"strings"
	"testing"
	"time"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// benchLine feeds one line of eight channels again and again.
func benchLine(b *testing.B, d sensors.Decoder, line string) {
	data := []byte(line)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if frames := d.Feed(at(0), data); len(frames) != 1 || len(frames[0].Measurements) != 8 {
			b.Fatal("a line was not read")
		}
	}
}

func BenchmarkText(b *testing.B) {
	list := make([]dialect.TextValue, 8)
	for i := range list {
		list[i] = dialect.TextValue{Name: "bath" + string(rune('1'+i)), Value: "20.31", Unit: "C"}
	}
	benchLine(b, dialect.NewText(), dialect.EncodeText(list))
}

func BenchmarkXDR(b *testing.B) {
	list := make([]dialect.XDRValue, 8)
	for i := range list {
		list[i] = dialect.XDRValue{Type: "C", Value: "20.31", Unit: "C", Name: "BATH" + string(rune('1'+i))}
	}
	benchLine(b, dialect.NewXDR(), dialect.EncodeXDR("WI", list))
}

// BenchmarkModbus is a request and its answer of eight scaled registers.
func BenchmarkModbus(b *testing.B) {
	registers := make([]dialect.Register, 8)
	for i := range registers {
		registers[i] = dialect.Register{Unit: 1, Table: dialect.Input, Number: uint16(30 + i), Type: dialect.S16, Scale: 0.01}
	}
	m, err := dialect.NewModbus(dialect.ModbusOptions{Registers: registers})
	if err != nil {
		b.Fatal(err)
	}
	var answer []byte
	now := time.Duration(0)
	b.ReportAllocs()
	for b.Loop() {
		now += time.Second
		send, _, _ := m.Poll(at(now))
		if answer == nil {
			answer = dialect.AnswerModbus(send, func(uint8, dialect.Table, uint16) (uint16, bool) { return 2031, true })
		}
		if frames := m.Feed(at(now), answer); len(frames) != 1 || len(frames[0].Measurements) != 8 {
			b.Fatal("an answer was not read")
		}
	}
}

// BenchmarkFlood is a megabyte without the end of a line.
func BenchmarkFlood(b *testing.B) {
	d := dialect.NewText()
	data := []byte(strings.Repeat("x", 1<<20))
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		d.Feed(at(0), data)
	}
}
