package dialect

// CRC16 is the cyclic redundancy check of Modbus RTU (polynomial x16+x15+x2+1,
// reflected, starting with all ones), by the procedure of "MODBUS over Serial
// Line Specification and Implementation Guide V1.02", section 6.2.2. On a Modbus
// line its low byte goes first. The text line uses it too: it finds every one- and
// two-bit error and every burst of up to 16 bits in lines of this length.
func CRC16[Bytes ~string | ~[]byte](data Bytes) uint16 {
	// Four steps of the bitwise procedure at once, one entry for each low half-byte.
	steps := [16]uint16{
		0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401,
		0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01, 0x8801, 0x4400,
	}
	crc := uint16(0xFFFF)
	for i := range len(data) {
		crc ^= uint16(data[i])
		crc = crc>>4 ^ steps[crc&15]
		crc = crc>>4 ^ steps[crc&15]
	}
	return crc
}

// appendCRC adds the check to a Modbus frame, low byte first.
func appendCRC(frame []byte) []byte {
	crc := CRC16(frame)
	return append(frame, byte(crc), byte(crc>>8))
}

// checks says whether a Modbus frame ends with its own check.
func checks(frame []byte) bool {
	end := len(frame) - 2
	return end > 0 && CRC16(frame[:end]) == uint16(frame[end])|uint16(frame[end+1])<<8
}
