package dialect_test

import (
	"fmt"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// A probe prints a line, the decoder gives what it measured. The first line
// after opening is believed only because it is whole and its checksum is right.
func Example() {
	line := dialect.EncodeText([]dialect.TextValue{
		{Name: "dev", Value: "20.31", Unit: "C"},
		{Name: "fix"}, // this probe cannot measure
	})
	fmt.Printf("%q\n", line)
	for _, frame := range dialect.NewText().Feed(sensors.Instant{}, []byte(line)) {
		for _, m := range frame.Measurements {
			fmt.Println(frame.Result, m.Address, m.Value, m.Unit, m.Fault)
		}
	}
	// Output:
	// "dev=20.31C fix=?;A300\r\n"
	// good dev 20.31 C false
	// good fix 0  true
}

// A unit answers the request of the published specification: holding registers
// 107 to 109 hold 555, 0 and 100.
func ExampleAnswerModbus() {
	request := []byte{0x01, 0x03, 0x00, 0x6B, 0x00, 0x03, 0x74, 0x17}
	answer := dialect.AnswerModbus(request, func(unit uint8, table dialect.Table, number uint16) (uint16, bool) {
		holds := map[uint16]uint16{107: 555, 108: 0, 109: 100}
		word, ok := holds[number]
		return word, ok && table == dialect.Holding
	})
	fmt.Printf("% X\n", answer)
	// Output: 01 03 06 02 2B 00 00 00 64 05 7A
}
