package history

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
	"time"

	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// last is the latest sample of a channel, of the tail or of its latest block.
func (v view) last(code int64, tail map[int64]pack.Sample) (pack.Sample, bool, error) {
	best, found := tail[code]
	keys := keysOf(code, -keyBias, keyBias)
	block, err := v.block("SELECT samples FROM block WHERE key >= ? AND key < ? ORDER BY key DESC LIMIT 1", keys.low, keys.high)
	for _, s := range block {
		if !imported(s) && (!found || s.At > best.At) {
			best, found = s, true
		}
	}
	return best, found, err
}

// block reads the samples of the one block that the query finds; there may be none.
func (v view) block(query string, args ...any) ([]pack.Sample, error) {
	var data []byte
	err := v.row(query, args...).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return unpackBy(pack.Decode, nil, data)
}

// unpackBy unpacks what is stored of a block as a decoder does.
func unpackBy(decode func(dst []pack.Sample, block []byte) ([]pack.Sample, error), dst []pack.Sample, block []byte) ([]pack.Sample, error) {
	samples := dst
	data, err := pack.Checked(block)
	if err == nil {
		samples, err = decode(dst, data)
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrCorrupt, err)
	}
	return samples, nil
}

// eachQuarter hands on the samples of a channel in the span, a quarter of an
// hour at a time, in the order of time. The slice is reused for the next quarter.
func (v view) eachQuarter(code int64, t span, tail unsealed, each func([]pack.Sample) error) error {
	give := func(_ int64, samples []pack.Sample) error { return each(t.cut(samples)) }
	err := v.eachBlock(code, t, func(quarter int64, samples []pack.Sample) error {
		if err := tail.before(quarter, give); err != nil {
			return err
		}
		return give(quarter, append(samples, tail.next(quarter)...))
	})
	if err != nil {
		return err
	}
	return tail.before(math.MaxInt64, give)
}

// eachBlock hands on the sealed samples of a channel, block by block.
func (v view) eachBlock(code int64, t span, each func(quarter int64, samples []pack.Sample) error) error {
	first, end := t.quarters()
	var decoder pack.Decoder
	var samples []pack.Sample
	const query = "SELECT key, samples FROM block WHERE key >= ? AND key < ? ORDER BY key"
	return v.eachStored(query, keysOf(code, first, end), func(key int64, data []byte) (err error) {
		if samples, err = unpackBy(decoder.Decode, samples[:0], data); err != nil {
			return err
		}
		return each(blockNumber(key), samples)
	})
}

// cut sorts samples by time, those of the same time in the order of arrival, and
// leaves out what is not in the span.
func (t span) cut(samples []pack.Sample) []pack.Sample {
	for i := 1; i < len(samples); i++ {
		if samples[i].At < samples[i-1].At {
			slices.SortStableFunc(samples, func(a, b pack.Sample) int { return cmp.Compare(a.At, b.At) })
			break
		}
	}
	first := 0
	for first < len(samples) && samples[first].At < t.from {
		first++
	}
	end := len(samples)
	for end > first && samples[end-1].At >= t.to {
		end--
	}
	return samples[first:end]
}

// set gives a sample all but its channel. A list of samples is set one after another in the same one: to
// make each anew, and copy it, takes as long as to unpack it.
func (s *Sample) set(p *pack.Sample, words *reasons) {
	s.At, s.Raw, s.Grade = time.UnixMilli(p.At).UTC(), p.Raw, gradeOf(*p)
	s.Reason, s.Imported = words[p.Word], imported(*p)
}

// importedBit marks an imported sample in its stored grade, and a quarter of an hour
// with such samples in the index of its roll-up.
const importedBit = 0x80

func gradeOf(s pack.Sample) sensors.Grade { return sensors.Grade(s.Grade &^ importedBit) }

func imported(s pack.Sample) bool { return s.Grade&importedBit != 0 }

func (s *Sample) storedGrade() uint8 {
	if s.Imported {
		return uint8(s.Grade) | importedBit
	}
	return uint8(s.Grade)
}

// Samples gives every sample of a channel from from up to, not including, to, in
// the order of time and in constant memory. After an error it ends.
func (s *Reader) Samples(ctx context.Context, channel sensors.ChannelID, from, to time.Time) iter.Seq2[Sample, error] {
	return func(yield func(Sample, error) bool) {
		var words *reasons
		quarters := sequence(func(give func([]pack.Sample) error) error {
			return s.view(ctx, func(v view) error {
				c, err := v.channel(channel)
				if err != nil {
					return err
				}
				if words, err = v.words(); err != nil {
					return err
				}
				t := spanOf(from, to)
				tail, err := v.unsealed(c.code, t)
				if err != nil {
					return err
				}
				return v.eachQuarter(c.code, t, tail, give)
			})
		})
		for samples, err := range quarters {
			if err != nil {
				yield(Sample{}, err)
				return
			}
			one := Sample{Channel: channel}
			for i := range samples {
				one.set(&samples[i], words)
				if !yield(one, nil) {
					return
				}
			}
		}
	}
}

// keyBias makes numbers before 1970 sort before those after it.
const keyBias = 1 << 31

// blockKey is where a channel's block of a quarter of an hour is kept, or its
// roll-up of a day; both are numbered from 1970.
func blockKey(code, number int64) int64 { return code<<32 + number + keyBias }

// blockNumber is the quarter or the day of a key.
func blockNumber(key int64) int64 { return key&(1<<32-1) - keyBias }

// keyRange is the keys from low to high-1.
type keyRange struct{ low, high int64 }

// keysOf is the keys of a channel from number first to end-1.
func keysOf(code, first, end int64) keyRange {
	return keyRange{blockKey(code, max(first, -keyBias)), blockKey(code, min(end, keyBias))}
}

// eachStored hands on the stored bytes that a query gives for a range of keys.
// They are good until the next ones.
func (v view) eachStored(query string, keys keyRange, each func(key int64, data []byte) error) error {
	return v.each(query, stored(each), keys.low, keys.high)
}

func stored(each func(key int64, data []byte) error) func(*sql.Rows) error {
	return func(rows *sql.Rows) error {
		var key int64
		var data sql.RawBytes
		if err := rows.Scan(&key, &data); err != nil {
			return err
		}
		return each(key, data)
	}
}
