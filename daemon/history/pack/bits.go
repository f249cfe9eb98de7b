package pack

import (
	"fmt"
	"math/bits"
)

// bitWriter appends bits, the most significant first.
type bitWriter struct {
	out  []byte
	word uint64 // the last `used` bits are waiting
	used uint
}

// put appends the low n bits of v, n at most 64.
func (w *bitWriter) put(v uint64, n uint) {
	if n > 32 {
		w.put(v>>32, n-32)
		n = 32
	}
	w.word = w.word<<n | v&(1<<n-1)
	w.used += n
	for w.used >= 8 {
		w.used -= 8
		w.out = append(w.out, byte(w.word>>w.used))
	}
}

// ones appends n one bits and a zero bit, n less than 64.
func (w *bitWriter) ones(n uint) { w.put(1<<(n+1)-2, n+1) }

// finish gives the bytes, the last one filled up with zeros.
func (w *bitWriter) finish() []byte {
	if w.used > 0 {
		w.put(0, 8-w.used)
	}
	return w.out
}

// bitReader reads what a bitWriter wrote. Past the end it reads zeros and notes it.
type bitReader struct {
	in   []byte
	at   int
	word uint64 // its highest `have` bits are unread, the rest is zero
	have uint
	cut  bool // bits were read that were not there
}

// fill makes at least 56 bits available, as far as there are any.
func (r *bitReader) fill() {
	for r.have <= 56 && r.at < len(r.in) {
		r.word |= uint64(r.in[r.at]) << (56 - r.have)
		r.at++
		r.have += 8
	}
}

// get reads n bits, n at most 64.
func (r *bitReader) get(n uint) uint64 {
	if n > 32 {
		high := r.get(n - 32)
		return high<<32 | r.get(32)
	}
	if r.have < n {
		r.fill()
	}
	v := r.word >> 32 >> (32 - n)
	r.skip(n)
	return v
}

// skip drops n bits, n at most 32.
func (r *bitReader) skip(n uint) {
	r.word <<= n
	r.cut = r.cut || n > r.have
	r.have -= min(n, r.have)
}

// ended says whether exactly what was there has been read, but for the filling of
// the last byte.
func (r *bitReader) ended() bool {
	return !r.cut && r.have+8*uint(len(r.in)-r.at) < 8
}

// rest gives the bytes after those of which some bits were read.
func (r *bitReader) rest() ([]byte, error) {
	if r.cut {
		return nil, fmt.Errorf("%w: it is cut short", ErrDamaged)
	}
	return r.in[r.at-int(r.have/8):], nil
}

// ones counts one bits up to most and reads the zero bit behind them; after most
// of them there is none.
func (r *bitReader) ones(most uint) uint {
	r.fill()
	n := min(uint(bits.LeadingZeros64(^r.word)), most)
	if n == most {
		r.skip(most)
		return most
	}
	r.skip(n + 1)
	return n
}
