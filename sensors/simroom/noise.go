package simroom

import (
	"bytes"
	"math/rand/v2"
)

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
