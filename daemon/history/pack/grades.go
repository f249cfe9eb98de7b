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

// gradeRun is how many samples there are of one grade and word, one after another.
type gradeRun struct {
	length      int
	grade, word uint8
}

// readGrades appends the runs of n samples to dst and moves rest behind them.
func readGrades(dst []gradeRun, rest *[]byte, n int) ([]gradeRun, error) {
	b := *rest
	runs, size := binary.Uvarint(b)
	if runs == 0 || runs > uint64(n) { // no whole number reads as zero
		return dst, fmt.Errorf("%w: its runs of grades make no sense", ErrDamaged)
	}
	b = b[size:]
	for ; runs > 0; runs-- {
		length, size := uint64(n), 0 // the last run is what is left
		if len(b) >= 2 && runs > 1 {
			length, size = binary.Uvarint(b[2:])
		}
		if len(b) < 2 || length == 0 || length > uint64(n) {
			return dst, fmt.Errorf("%w: a run of grades makes no sense", ErrDamaged)
		}
		dst = append(dst, gradeRun{int(length), b[0], b[1]})
		n, b = n-int(length), b[2+size:]
	}
	*rest = b
	return dst, nil
}
