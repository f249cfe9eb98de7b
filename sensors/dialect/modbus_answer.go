package dialect

import "encoding/binary"

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
	switch code {
	case illegalFunction:
		return "illegal function"
	case illegalAddress:
		return "illegal data address"
	case illegalValue:
		return "illegal data value"
	case 0x04:
		return "server device failure"
	case 0x05:
		return "acknowledge, still working"
	case 0x06:
		return "server device busy"
	case 0x08:
		return "memory parity error"
	case 0x0A:
		return "gateway path unavailable"
	case 0x0B:
		return "gateway target device failed to respond"
	default:
		return "a code without a published meaning"
	}
}
