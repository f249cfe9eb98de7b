package pack

import (
	"encoding/binary"
	"math/bits"
	"sync"
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

// steady gives a whole run the value that is foretold.
func (f *foretell) steady(run []int64, v int64) {
	for i := range run {
		run[i] = v
	}
	for range run {
		before := f.mean
		if f.next(v); f.mean == before {
			return // it has settled
		}
	}
}

// fromLast gives a run its values from their differences to the value before.
func (f *foretell) fromLast(run, differences []int64) {
	last, mean := f.last, f.mean
	for i, d := range differences[:len(run)] {
		last += d
		mean += (last<<4 - mean) >> meanShift
		run[i] = last
	}
	f.last, f.mean = last, mean
}

// fromMean gives a run its values from their differences to the rounded mean. As each value waits
// for the mean after the one before, the mean is moved on in as few steps as possible: with raised
// for mean+8, last<<4 - mean is d<<4 + 8 - raised&15.
func (f *foretell) fromMean(run, differences []int64) {
	raised := f.mean + 8
	for i, d := range differences[:len(run)] {
		run[i] = raised>>4 + d
		raised += (d<<4 + 8 - raised&15) >> meanShift
	}
	f.last, f.mean = run[len(run)-1], raised-8
}

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
	var differences [runLength + mostCodes]int64
	for len(out) > 0 {
		run := out[:min(runLength, len(out))]
		out = out[len(run):]
		head := uint(r.get(8))
		k, byMean := head&^meanFlag&127, head&meanFlag != 0
		if k != noBits {
			getRice(r, &differences, len(run), k)
		}
		switch {
		case k == noBits && byMean:
			f.steady(run, f.rounded())
		case k == noBits:
			f.steady(run, f.last)
		case byMean:
			f.fromMean(run, differences[:])
		default:
			f.fromLast(run, differences[:])
		}
	}
}

// Most codes are short, so that the next bits hold several: a table says which. To read them one
// by one takes twice as long, as each has to wait for the length of the one before.
const (
	windowBits = 10
	mostCodes  = 4 // that are taken at a time
	shortCodes = 5 // for the parameters below it there are tables
)

// window is what the next bits hold: from the lowest byte on the length of the whole codes in them,
// how many these are, and the differences.
type window uint64

func (w window) bits() uint             { return uint(w & 63) }
func (w window) codes() int             { return int(w >> 8 & 255) }
func (w window) difference(i int) int64 { return int64(int8(w >> (16 + 8*i))) }

var windows = sync.OnceValue(func() *[shortCodes][1 << windowBits]window {
	var all [shortCodes][1 << windowBits]window
	for k := range all {
		for next := range all[k] {
			all[k][next] = windowOf(uint64(next)<<(64-windowBits), uint(k))
		}
	}
	return &all
})

func windowOf(word uint64, k uint) (w window) {
	for codes, used := uint(0), uint(0); codes < mostCodes; codes++ {
		d, n := riceCode(word, k)
		if used += n; used > windowBits {
			break
		}
		word <<= n
		w = w&^0xffff | window(uint8(unzigzag(d)))<<(16+8*codes) | window(codes+1)<<8 | window(used)
	}
	return w
}

// riceCode is the code at the beginning of a word with its length, if the word holds all of it.
func riceCode(word uint64, k uint) (d uint64, length uint) {
	n := uint(bits.LeadingZeros64(^word))
	return uint64(n)<<(k&63) | word<<((n+1)&63)>>1>>((63-k)&63), n + 1 + k
}

// getRice reads the differences of a run; there is room for more behind them. What it works with
// stays in registers: a history of years has hundreds of millions of values.
func getRice(r *bitReader, run *[runLength + mostCodes]int64, length int, k uint) {
	word, have := r.word, r.have
	table := &windows()[min(k, shortCodes-1)]
	for i := 0; i < length; {
		if have < 40 && r.at+8 <= len(r.in) {
			word |= binary.BigEndian.Uint64(r.in[r.at:]) >> have
			whole := (63 - have) >> 3
			r.at += int(whole)
			have += whole << 3
		}
		if k < shortCodes && have >= windowBits {
			w := table[word>>(64-windowBits)]
			if n := w.codes(); n > 0 && i+n <= length {
				word <<= w.bits()
				have -= w.bits()
				some := run[i : i+mostCodes]
				some[0] = w.difference(0)
				some[1] = w.difference(1)
				some[2] = w.difference(2)
				some[3] = w.difference(3)
				i += n
				continue
			}
		}
		d, n := riceCode(word, k)
		if n <= escape+k && n <= have {
			word <<= n
			have -= n
		} else {
			r.word, r.have = word, have
			d = r.rice(k)
			word, have = r.word, r.have
		}
		run[i] = unzigzag(d)
		i++
	}
	r.word, r.have = word, have
}

// rice reads one code, also a long one or one that is cut short.
func (r *bitReader) rice(k uint) uint64 {
	high := r.ones(escape)
	if high == escape {
		return r.get(64)
	}
	return uint64(high)<<k | r.get(k)
}
