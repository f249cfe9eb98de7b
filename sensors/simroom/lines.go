package simroom

import (
	"bytes"
	"math/rand/v2"
	"strconv"

	"wetside/sensors/dialect"
)

// powerOn is what a digital temperature probe shows before its first conversion.
const powerOn = 85.0

// sayTrays is what the microcontroller with the tray probes prints each second:
// the text dialect, temperatures in °C. After a power-on the probes have not
// measured yet.
func sayTrays(values readings, fresh bool) []byte {
	var out []dialect.TextValue
	for _, id := range []string{"DEV", "STP", "FX1", "FX2", "WSH"} {
		celsius := values[id]
		if fresh {
			celsius = powerOn
		}
		out = append(out, dialect.TextValue{Name: id, Value: places(celsius, 2), Unit: "C"})
	}
	return []byte(dialect.EncodeText(out))
}

// readings are what the probes show, by name.
type readings map[string]float64

func places(v float64, n int) string { return strconv.FormatFloat(v, 'f', n, 64) }

// sayAir is the sentence of the instrument on the wall, once a second:
// temperature in °C, relative humidity in per cent, room pressure in Pa.
func sayAir(values readings, _ bool) []byte {
	return []byte(dialect.EncodeXDR("WI", []dialect.XDRValue{
		{Type: "C", Value: places(values["AIR"], 2), Unit: "C", Name: "AIR"},
		{Type: "H", Value: places(values["HUM"], 1), Unit: "P", Name: "HUM"},
		{Type: "P", Value: places(values["ROOM"], 1), Unit: "P", Name: "ROOM"},
	}))
}

// requestLength is that of a Modbus RTU read request with its CRC.
const requestLength = 8

// Registers is the map of the duct line: unit 1 is a transmitter in the duct
// with the fan's contact and three probes along the hood, unit 2 a box of gas cells. The names are those that
// [ParseTrouble] knows.
func Registers() map[string]dialect.Register {
	return map[string]dialect.Register{
		"VEL": {Unit: 1, Table: dialect.Input, Number: 0, Type: dialect.U16, Scale: 0.01},
		"VPR": {Unit: 1, Table: dialect.Input, Number: 1, Type: dialect.S16, Scale: 0.1},
		"HDL": {Unit: 1, Table: dialect.Input, Number: 2, Type: dialect.U16, Scale: 0.01},
		"HDM": {Unit: 1, Table: dialect.Input, Number: 3, Type: dialect.U16, Scale: 0.01},
		"HDR": {Unit: 1, Table: dialect.Input, Number: 4, Type: dialect.U16, Scale: 0.01},
		"FAN": {Unit: 1, Table: dialect.Holding, Number: 10, Type: dialect.U16},
		"CO2": {Unit: 2, Table: dialect.Input, Number: 0, Type: dialect.F32, Order: dialect.HighFirst},
		"ACA": {Unit: 2, Table: dialect.Input, Number: 2, Type: dialect.F32, Order: dialect.LowFirst},
		"SO2": {Unit: 2, Table: dialect.Input, Number: 4, Type: dialect.U16, Scale: 0.01},
	}
}

// answerDuct answers one request, or keeps silent where a unit on the line would.
func answerDuct(request []byte, values readings) []byte {
	if len(request) == 0 || request[0] < 1 || request[0] > 2 {
		return nil
	}
	return dialect.AnswerModbus(request, func(unit uint8, table dialect.Table, number uint16) (uint16, bool) {
		for id, r := range Registers() {
			words := r.Words(values[id])
			at := int(number) - int(r.Number)
			if r.Unit == unit && r.Table == table && at >= 0 && at < len(words) {
				return words[at], true
			}
		}
		return 0, false
	})
}

// floodSize is what a flooded line is offered each second, more than any queue takes.
const floodSize = 64 << 10

// tail is the end of a frame that is left alone, so that a spoilt frame still ends
// where it did and its checksum is still one.
const tail = 6

// garble spoils a frame, which is not empty: one of its bytes changes, and now and then its second half is
// lost. Every checksum in use tells.
func garble(frame []byte, dice *rand.Rand) []byte {
	spoilt := bytes.Clone(frame)
	spoilt[dice.IntN(max(1, len(frame)-tail))] ^= byte(1 + dice.IntN(127))
	if dice.IntN(4) == 0 {
		return append(spoilt[:len(spoilt)/2], '\r', '\n')
	}
	return spoilt
}

// flood is a second's worth of noise without an end of a line.
func flood(dice *rand.Rand) []byte {
	noise := make([]byte, floodSize)
	for i := range noise {
		noise[i] = byte('!' + dice.IntN('~'-'!'))
	}
	return noise
}
