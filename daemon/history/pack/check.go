package pack

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
)

// checkBytes is the length of the check at the end of stored bytes.
const checkBytes = 4

// WithCheck appends a check to data, by which accidental damage is found: a
// CRC-32 with the Castagnoli polynomial, low byte first.
func WithCheck(data []byte) []byte {
	return binary.LittleEndian.AppendUint32(data, sum(data))
}

// Checked gives stored bytes without their check; ErrDamaged says that a byte of
// them is not what it was.
func Checked(stored []byte) ([]byte, error) {
	n := len(stored) - checkBytes
	if n < 0 || binary.LittleEndian.Uint32(stored[n:]) != sum(stored[:n]) {
		return nil, fmt.Errorf("%w: its check does not fit", ErrDamaged)
	}
	return stored[:n], nil
}

func sum(data []byte) uint32 { return crc32.Checksum(data, crc32.MakeTable(crc32.Castagnoli)) }
