package pack_test

import (
	"encoding/binary"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history/pack"
)

// blockOfOne is the block of one sample, by its parts, in either order.
func blockOfOne(version byte, number uint64, form, decimals byte, runs uint64) []byte {
	const foretold = 63 // a time or a value
	block := binary.AppendUvarint([]byte{version}, number)
	block = binary.AppendVarint(block, 77) // its time
	block = binary.AppendVarint(block, 0)  // the beat
	if version == 2 {
		block = append(block, foretold)
	}
	block = binary.AppendVarint(append(block, form<<4|decimals), 2031)
	block = binary.AppendUvarint(block, 1)                  // the step
	block = append(binary.AppendUvarint(block, runs), 2, 3) // grade and word
	if version != 2 {
		block = append(block, foretold)
	}
	return append(block, foretold)
}

func TestAHeadThatMakesNoSenseIsRefused(t *testing.T) {
	for _, version := range []byte{1, 2} {
		for _, c := range []struct {
			form, decimals byte
			value          float64
		}{{1, 2, 20.31}, {1, 0, 2031}, {1, 6, 0.002031}, {2, 2, float64(float32(20.31))}, {3, 6, 2031 * 1e-6}} {
			got, err := pack.Decode(nil, blockOfOne(version, 1, c.form, c.decimals, 1))
			require.NoError(t, err)
			require.Equal(t, []pack.Sample{{At: 77, Raw: c.value, Grade: 2, Word: 3}}, got)
		}
		for name, block := range map[string][]byte{
			"no sample":      blockOfOne(version, 0, 1, 2, 1),
			"far too many":   blockOfOne(version, 1<<22+1, 1, 2, 1),
			"more than any":  blockOfOne(version, 1<<62, 1, 2, 1),
			"a fifth form":   blockOfOne(version, 1, 4, 2, 1),
			"seven decimals": blockOfOne(version, 1, 1, 7, 1),
			"no run":         blockOfOne(version, 1, 1, 2, 0),
			"more runs":      blockOfOne(version, 1, 1, 2, 2),
			"no version":     blockOfOne(version+2, 1, 1, 2, 1),
			"too large a time": slices.Concat([]byte{version, 1}, []byte{255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 1},
				blockOfOne(version, 1, 1, 2, 1)[4:]),
		} {
			_, err := pack.Decode(nil, block)
			require.ErrorIs(t, err, pack.ErrDamaged, name)
			var d pack.Decoder
			_, err = d.Moments(nil, block)
			require.ErrorIs(t, err, pack.ErrDamaged, name)
		}
	}
}

func TestOneWrongBitOfStoredBytesIsFound(t *testing.T) {
	// The check of the nine digits is 0xE3069283: the catalogue of CRC algorithms, CRC-32/ISCSI (from memory).
	stored := pack.WithCheck([]byte("123456789"))
	require.Equal(t, []byte{0x83, 0x92, 0x06, 0xE3}, stored[9:])
	got, err := pack.Checked(stored)
	require.NoError(t, err)
	require.Equal(t, []byte("123456789"), got)
	for bit := range 8 * len(stored) {
		wrong := slices.Clone(stored)
		wrong[bit/8] ^= 1 << (bit % 8)
		_, err := pack.Checked(wrong)
		require.ErrorIs(t, err, pack.ErrDamaged)
	}
	for n := range stored {
		_, err := pack.Checked(stored[:n])
		require.ErrorIs(t, err, pack.ErrDamaged)
	}
	got, err = pack.Checked(pack.WithCheck(nil))
	require.NoError(t, err)
	require.Empty(t, got)
}
