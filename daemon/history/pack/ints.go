package pack

import (
	"encoding/binary"
	"math/bits"
)

// Integers are written in runs of 64. Each run states in one byte how its values
// are foretold, from the value before or from the running mean, and the
// parameter of the Rice code (R. F. Rice, 1979) in which the differences are
// written: the high part in ones, the low bits plain. Both are the cheapest of all
// choices for the run. A run that is foretold exactly takes the one byte.

const (
	runLength = 64
	// noBits marks a run in which every difference is zero.
	noBits = 63
	// escape is how many ones announce a difference written in 64 plain bits.
	escape = 24
	// meanFlag in the byte of a run says that the running mean foretells.
	meanFlag = 64
)

// meanShift is the weight of a new value in the running mean, 1/8; the mean is
// kept in sixteenths. Overflow wraps, in the same way for writer and reader.
const meanShift = 3

// foretell holds both forecasts of the next value.
type foretell struct{ last, mean int64 }

func (f *foretell) next(v int64) {
	f.last = v
	f.mean += (v<<4 - f.mean) >> meanShift
}

func (f *foretell) rounded() int64 { return (f.mean + 8) >> 4 }

// zigzag maps small numbers of both signs to small ones without a sign.
func zigzag(v int64) uint64 { return uint64(v)<<1 ^ uint64(v>>63) }

func unzigzag(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }

func appendInts(dst []byte, values []int64) []byte {
	w := bitWriter{out: dst}
	putInts(&w, values)
	return w.finish()
}

// putInts writes values, of which the first is zero: a time, or a count, from the first one.
func putInts(w *bitWriter, values []int64) {
	var f foretell
	var byLast, byMean [runLength]uint64
	for start := 0; start < len(values); start += runLength {
		run := values[start:min(start+runLength, len(values))]
		for i, v := range run {
			byLast[i] = zigzag(v - f.last)
			byMean[i] = zigzag(v - f.rounded())
			f.next(v)
		}
		k, cost := cheapest(byLast[:len(run)])
		kMean, costMean := cheapest(byMean[:len(run)])
		if costMean < cost {
			w.put(uint64(kMean)|meanFlag, 8)
			putRice(w, byMean[:len(run)], kMean)
			continue
		}
		w.put(uint64(k), 8)
		putRice(w, byLast[:len(run)], k)
	}
}

// cheapest finds the parameter of the Rice code that needs the fewest bits.
func cheapest(differences []uint64) (k uint, cost uint64) {
	var all uint64
	for _, d := range differences {
		all |= d
	}
	if all == 0 {
		return noBits, 0
	}
	k, cost = 0, riceCost(differences, 0)
	for try := uint(1); try < noBits; try++ {
		c := riceCost(differences, try)
		if c > cost {
			break // the cost has a single valley, but for escapes, which only shrink
		}
		k, cost = try, c
	}
	return k, cost
}

func riceCost(differences []uint64, k uint) uint64 {
	var sum uint64
	for _, d := range differences {
		if high := d >> k; high < escape {
			sum += high + 1 + uint64(k)
		} else {
			sum += escape + 64
		}
	}
	return sum
}

func putRice(w *bitWriter, differences []uint64, k uint) {
	if k == noBits {
		return
	}
	for _, d := range differences {
		if high := d >> k; high < escape {
			w.ones(uint(high))
			w.put(d, k)
		} else {
			w.put(1<<escape-1, escape)
			w.put(d, 64)
		}
	}
}

// getInts reads as many values as fit into out.
func getInts(r *bitReader, out []int64) {
	var f foretell
	for start := 0; start < len(out); start += runLength {
		run := out[start:min(start+runLength, len(out))]
		head := uint(r.get(8))
		getRun(r, run, runHead{head &^ meanFlag & 127, head&meanFlag != 0}, &f)
	}
}

type runHead struct {
	k    uint
	mean bool
}

// getRun reads one run. What it works with stays in registers: a history of years has
// hundreds of millions of values.
func getRun(r *bitReader, run []int64, head runHead, f *foretell) {
	word, have, now := r.word, r.have, *f
	for i := range run {
		var d uint64
		if head.k != noBits {
			if have < 40 && r.at+8 <= len(r.in) {
				word |= binary.BigEndian.Uint64(r.in[r.at:]) >> have
				whole := (63 - have) >> 3
				r.at += int(whole)
				have += whole << 3
			}
			if n := uint(bits.LeadingZeros64(^word)); n < escape && n+1+head.k <= have { // nearly always
				d = uint64(n)<<(head.k&63) | word<<((n+1)&63)>>1>>((63-head.k)&63)
				word <<= n + 1 + head.k
				have -= n + 1 + head.k
			} else {
				r.word, r.have = word, have
				d = getRice(r, head.k)
				word, have = r.word, r.have
			}
		}
		v := now.last + unzigzag(d)
		if head.mean {
			v = now.rounded() + unzigzag(d)
		}
		run[i] = v
		now.next(v)
	}
	r.word, r.have, *f = word, have, now
}

func getRice(r *bitReader, k uint) uint64 {
	high := r.ones(escape)
	if high == escape {
		return r.get(64)
	}
	return uint64(high)<<k | r.get(k)
}
