package history

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// dayMillis and quartersPerDay: a roll-up row holds one UTC day.
const (
	quartersPerDay = 96
	dayMillis      = quartersPerDay * quarterMillis
)

// summary is what a stretch of one channel comes to. Low, mean and high are of
// good values only, and mean nothing when good is 0.
type summary struct {
	good, bad       uint32
	covered         int64 // milliseconds for which a good value stands
	low, mean, high float64
	imported        bool // some of it was imported
}

// summarize sums up samples in the order of time, all within t. A good value stands
// until the next sample, at most for silence, and not beyond the end of t; before is
// the sample before the first one, if any. An imported value stands for no time.
func summarize(samples []pack.Sample, t span, silence int64, before *pack.Sample) summary {
	var covered int64
	var good, grades = uint32(0), uint8(0)
	low, high, sum := math.Inf(1), math.Inf(-1), 0.0
	for i := range samples {
		p := &samples[i]
		if i == 0 && before != nil {
			covered = stands(before, p.At, silence, t)
		}
		if grades |= p.Grade; sensors.Grade(p.Grade) == sensors.Good && i+1 < len(samples) {
			covered += min(samples[i+1].At-p.At, silence)
		}
		if gradeOf(*p) != sensors.Good || p.Raw-p.Raw != 0 { // infinite, or not a number
			continue
		}
		good++
		sum += p.Raw
		if p.Raw <= low { // seldom: to ask costs less than min, which every next value would wait for
			low = min(low, p.Raw)
		}
		if p.Raw >= high {
			high = max(high, p.Raw)
		}
	}
	if n := len(samples); n > 0 {
		before = &samples[n-1]
	}
	if before != nil {
		covered += stands(before, t.to, silence, t)
	}
	s := summary{good: good, bad: uint32(len(samples)) - good, covered: covered, imported: grades&importedBit != 0}
	if good == 0 {
		s.low, s.mean, s.high = math.NaN(), math.NaN(), math.NaN()
		return s
	}
	s.low, s.mean, s.high = low, sum/float64(good), high
	return s
}

// stands is for how long a value stands within t, the next one coming at until.
func stands(p *pack.Sample, until, silence int64, t span) int64 {
	if sensors.Grade(p.Grade) != sensors.Good { // not so when the bit of an imported one is set
		return 0
	}
	return max(0, min(until, p.At+silence, t.to)-max(p.At, t.from))
}

// join adds a later stretch to s.
func (s *summary) join(o summary) {
	if o.good > 0 {
		total := float64(s.good) + float64(o.good)
		if s.good == 0 {
			s.low, s.mean, s.high = o.low, o.mean, o.high
		} else {
			s.low, s.high = min(s.low, o.low), max(s.high, o.high)
			s.mean += (o.mean - s.mean) * float64(o.good) / total
		}
	}
	s.good, s.bad, s.covered = s.good+o.good, s.bad+o.bad, s.covered+o.covered
	s.imported = s.imported || o.imported
}

type quarterSummary struct {
	index uint8
	summary
}

// The form of a day's roll-up: a version byte, then an entry for each quarter
// that has samples, in order; and a check.
const (
	dayVersion    = 1
	dayEntryBytes = 1 + 3*4 + 3*8
)

func encodeDay(quarters []quarterSummary) []byte {
	b := append(make([]byte, 0, 1+len(quarters)*dayEntryBytes), dayVersion)
	for _, q := range quarters {
		index := q.index
		if q.imported {
			index |= importedBit
		}
		b = append(b, index)
		b = binary.LittleEndian.AppendUint32(b, q.good)
		b = binary.LittleEndian.AppendUint32(b, q.bad)
		b = binary.LittleEndian.AppendUint32(b, uint32(q.covered))
		for _, v := range []float64{q.low, q.mean, q.high} {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
	}
	return pack.WithCheck(b)
}

func decodeDay(stored []byte) ([]quarterSummary, error) {
	return decodeQuarters(nil, stored, 0, quartersPerDay)
}

// decodeQuarters appends the summaries of a day from its quarter first up to, not including, end.
func decodeQuarters(dst []quarterSummary, stored []byte, first, end int64) ([]quarterSummary, error) {
	b, err := pack.Checked(stored)
	if err != nil {
		return dst, fmt.Errorf("%w: a day's roll-up: %w", ErrCorrupt, err)
	}
	if len(b) == 0 || b[0] != dayVersion || (len(b)-1)%dayEntryBytes != 0 {
		return dst, fmt.Errorf("%w: a day's roll-up makes no sense", ErrCorrupt)
	}
	for b = b[1:]; len(b) > 0; b = b[dayEntryBytes:] {
		index := b[0] &^ importedBit
		if int64(index) < first || int64(index) >= end {
			continue
		}
		number := func(at int) uint32 { return binary.LittleEndian.Uint32(b[at:]) }
		value := func(at int) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b[at:])) }
		dst = append(dst, quarterSummary{index, summary{
			number(1), number(5), int64(number(9)), value(13), value(21), value(29), b[0]&importedBit != 0,
		}})
	}
	return dst, nil
}

// setQuarter puts a summary in its place among the quarters of a day.
func setQuarter(quarters []quarterSummary, q quarterSummary) []quarterSummary {
	at, found := slices.BinarySearchFunc(quarters, q.index, func(e quarterSummary, index uint8) int {
		return int(e.index) - int(index)
	})
	if found {
		quarters[at] = q
		return quarters
	}
	return slices.Insert(quarters, at, q)
}
