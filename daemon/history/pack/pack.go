// Package pack puts the samples of one channel and one stretch of time into few
// bytes and gives them back to the last bit. It knows no clock and does no I/O.
//
// A packed block is: a version byte; the number of samples; the times, up to a whole byte; the
// values; the runs of equal grades before them. Times are the distances from an even beat, and come
// first: channels that a probe sends in one frame have them in common. Values are whole numbers of
// the smallest step that gives back every bit, see the scale; arbitrary values take 8 bytes each.
// Both are then written as differences from a forecast.
package pack

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"slices"
)

// The first byte of a block. In blocks of the first version, which are no longer written, the times
// follow on the grades, and the values on them within the same byte.
const (
	timesLast  = 1
	timesFirst = 2
)

// maxSamples bounds what a damaged block can make Decode ask of the memory: about
// 4 660 samples a second for a quarter of an hour.
const maxSamples = 1 << 22

// ErrDamaged says that a block is not what Encode wrote.
var ErrDamaged = errors.New("damaged block of samples")

// Encode appends the packed samples, of which there is at least one, to dst. They come back in the
// same order, whatever their times. It also says how many bytes the times take at the start of the
// block: they are the same for all channels that have a sample at the same moments.
func Encode(dst []byte, samples []Sample) (all []byte, times int, err error) {
	if len(samples) == 0 || len(samples) > maxSamples {
		return dst, 0, fmt.Errorf("a block holds 1 to %d samples, not %d", maxSamples, len(samples))
	}
	start := len(dst)
	first, beat, offsets := timesOf(samples)
	dst = append(dst, timesFirst)
	dst = binary.AppendUvarint(dst, uint64(len(samples)))
	dst = binary.AppendVarint(dst, first)
	dst = binary.AppendVarint(dst, beat)
	dst = appendInts(dst, offsets)
	times = len(dst) - start

	s := findScale(samples)
	base, step, counts := s.wholes(samples)
	dst = append(dst, byte(s.form)<<4|s.decimals)
	dst = binary.AppendVarint(dst, base)
	dst = binary.AppendUvarint(dst, step)
	dst = appendGrades(dst, samples)
	return appendInts(dst, counts), times, nil
}

// Decode appends the samples of a block to dst. It fails with ErrDamaged on bytes
// that can't be a block.
func Decode(dst []Sample, block []byte) ([]Sample, error) {
	var d Decoder
	return d.Decode(dst, block)
}

// Decoder decodes block after block in the same memory. The zero Decoder is ready.
type Decoder struct {
	numbers []int64
	grades  []gradeRun
}

// Decode is [Decode].
func (d *Decoder) Decode(dst []Sample, block []byte) ([]Sample, error) {
	out, h, r, err := d.moments(dst, block)
	if err != nil {
		return dst, err
	}
	getInts(&r, d.numbers)
	h.values(out[len(dst):], d.numbers)
	if !r.ended() {
		return dst, fmt.Errorf("%w: its length is wrong", ErrDamaged)
	}
	return out, nil
}

// Moments appends the samples of a block without their values, for whoever asks only when
// there were some and how far they may be trusted. It takes half the time.
func (d *Decoder) Moments(dst []Sample, block []byte) ([]Sample, error) {
	out, _, r, err := d.moments(dst, block)
	if err == nil && r.cut {
		err = fmt.Errorf("%w: it is cut short", ErrDamaged)
	}
	if err != nil {
		return dst, err
	}
	return out, nil
}

// moments decodes all but the values, which the reader is left in front of.
func (d *Decoder) moments(dst []Sample, block []byte) (all []Sample, h head, r bitReader, err error) {
	if len(block) == 0 || block[0] != timesFirst && block[0] != timesLast {
		return dst, h, r, fmt.Errorf("%w: its version is unknown", ErrDamaged)
	}
	h.rest = block[1:]
	if err = h.readBeat(); err != nil {
		return dst, h, r, err
	}
	d.numbers = slices.Grow(d.numbers[:0], h.n)[:h.n]
	if block[0] == timesFirst {
		r = bitReader{in: h.rest}
		getInts(&r, d.numbers)
		if h.rest, err = r.rest(); err != nil {
			return dst, h, r, err
		}
	}
	if err = h.readScale(); err != nil {
		return dst, h, r, err
	}
	if d.grades, err = readGrades(d.grades[:0], &h.rest, h.n); err != nil {
		return dst, h, r, err
	}
	r = bitReader{in: h.rest}
	if block[0] == timesLast {
		getInts(&r, d.numbers)
	}
	all = slices.Grow(dst, h.n)[:len(dst)+h.n]
	out, i := all[len(dst):], 0
	for _, run := range d.grades {
		for end := i + run.length; i < end; i++ {
			out[i] = Sample{At: h.first + onBeat(h.beat, i) + d.numbers[i], Grade: run.grade, Word: run.word}
		}
	}
	return all, h, r, nil
}

// head is what a block says of its numbers.
type head struct {
	n           int
	first, beat int64
	scale       scale
	base        int64
	step        uint64
	rest        []byte
}

func (h *head) readBeat() (err error) {
	n := h.unsigned(&err)
	h.first = h.signed(&err)
	h.beat = h.signed(&err)
	if n == 0 || n > maxSamples {
		err = fmt.Errorf("%w: its number of samples makes no sense", ErrDamaged)
	}
	h.n = int(n)
	return err
}

func (h *head) readScale() (err error) {
	if len(h.rest) == 0 {
		return fmt.Errorf("%w: its head is cut short", ErrDamaged)
	}
	h.scale = scale{form(h.rest[0] >> 4), h.rest[0] & 15}
	h.rest = h.rest[1:]
	h.base = h.signed(&err)
	h.step = h.unsigned(&err)
	if h.scale.form > asProduct || h.scale.decimals > maxDecimals {
		err = fmt.Errorf("%w: its scale makes no sense", ErrDamaged)
	}
	return err
}

func (h *head) unsigned(err *error) uint64 {
	v, n := binary.Uvarint(h.rest)
	return take(h, v, n, err)
}

func (h *head) signed(err *error) int64 {
	v, n := binary.Varint(h.rest)
	return take(h, v, n, err)
}

func take[T any](h *head, v T, n int, err *error) T {
	if n <= 0 {
		*err = fmt.Errorf("%w: its head is cut short", ErrDamaged)
		return v
	}
	h.rest = h.rest[n:]
	return v
}

// beatUnit is the resolution of the beat, in parts of a millisecond.
const beatUnit = 1 << 16

// onBeat is the time of the beat with number i after the first.
func onBeat(beat int64, i int) int64 { return beat * int64(i) >> 16 }

// timesOf gives each time as its distance from an even beat.
func timesOf(samples []Sample) (first, beat int64, offsets []int64) {
	first, beat = samples[0].At, beatOf(samples)
	offsets = make([]int64, len(samples))
	for i := range samples {
		offsets[i] = samples[i].At - first - onBeat(beat, i)
	}
	return first, beat, offsets
}

// beatOf is the mean distance of samples, leaving out gaps and steps of the clock.
func beatOf(samples []Sample) int64 {
	if len(samples) < 2 {
		return 0
	}
	distances := make([]int64, len(samples)-1)
	for i := range distances {
		distances[i] = samples[i+1].At - samples[i].At
	}
	slices.Sort(distances)
	middle := distances[len(distances)/2]
	low, _ := slices.BinarySearch(distances, middle/2)
	high, _ := slices.BinarySearch(distances, middle+middle/2+1)
	if low >= high { // most of the steps go back
		return 0
	}
	var sum int64
	for _, d := range distances[low:high] {
		sum += d
	}
	return sum * beatUnit / int64(high-low)
}

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

// Sample is one value of one channel.
type Sample struct {
	// At is in milliseconds since 1970-01-01T00:00:00Z.
	At int64
	// Raw is kept to the last bit.
	Raw float64
	// Grade and Word say how far it may be trusted; the caller knows what they mean.
	Grade uint8
	Word  uint8
}
