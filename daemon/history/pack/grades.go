package pack

import (
	"encoding/binary"
	"fmt"
)

// appendGrades writes the runs of equal grade and word: how many runs, then each
// with grade, word and, but for the last, its length.
func appendGrades(dst []byte, samples []Sample) []byte {
	var starts []int
	for i := range samples {
		if i == 0 || samples[i].Grade != samples[i-1].Grade || samples[i].Word != samples[i-1].Word {
			starts = append(starts, i)
		}
	}
	dst = binary.AppendUvarint(dst, uint64(len(starts)))
	for i, start := range starts {
		dst = append(dst, samples[start].Grade, samples[start].Word)
		if i+1 < len(starts) {
			dst = binary.AppendUvarint(dst, uint64(starts[i+1]-start))
		}
	}
	return dst
}

// readGrades reads the runs into out and moves rest behind them.
func readGrades(rest *[]byte, out []Sample) error {
	b := *rest
	runs, n := binary.Uvarint(b)
	if runs == 0 || runs > uint64(len(out)) { // no whole number reads as zero
		return fmt.Errorf("%w: its runs of grades make no sense", ErrDamaged)
	}
	b = b[n:]
	for ; runs > 0; runs-- {
		length, n := uint64(len(out)), 0 // the last run is what is left
		if len(b) >= 2 && runs > 1 {
			length, n = binary.Uvarint(b[2:])
		}
		if len(b) < 2 || length == 0 || length > uint64(len(out)) {
			return fmt.Errorf("%w: a run of grades makes no sense", ErrDamaged)
		}
		for i := range out[:length] {
			out[i].Grade, out[i].Word = b[0], b[1]
		}
		out, b = out[length:], b[2+n:]
	}
	*rest = b
	return nil
}
