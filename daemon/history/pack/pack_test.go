package pack_test

import (
	"encoding/binary"
	"hash/crc32"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/history/pack"
)

// same compares to the last bit, so that NaN equals NaN and 0 does not equal -0.
func same(t require.TestingT, want, got []pack.Sample) {
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, math.Float64bits(want[i].Raw), math.Float64bits(got[i].Raw), "value of sample %d", i)
		want[i].Raw, got[i].Raw = 0, 0
	}
	require.Equal(t, want, got)
}

// valuesOfAKind are kinds of values that a series may have, and any of them mixed.
func valuesOfAKind() []*rapid.Generator[float64] {
	special := []float64{0, math.Copysign(0, -1), math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64,
		math.SmallestNonzeroFloat64, 1 << 53, 1<<53 + 2, 0.1, 1.0 / 3, 20.31, float64(float32(20.31)), -273.15}
	kinds := []*rapid.Generator[float64]{rapid.Float64(), rapid.SampledFrom(special),
		rapid.Map(rapid.Uint64(), math.Float64frombits),
		rapid.Map(rapid.Float32(), func(v float32) float64 { return float64(v) })}
	for d := range 7 {
		kinds = append(kinds, rapid.Map(rapid.IntRange(-5000, 5000), func(k int) float64 { return float64(k) / math.Pow10(d) }),
			rapid.Map(rapid.IntRange(-5, 5), func(k int) float64 { return float64(1000*k) / math.Pow10(d) }),
			rapid.Map(rapid.IntRange(-5000, 5000), func(k int) float64 { return float64(float32(float64(k) / math.Pow10(d))) }),
			rapid.Map(rapid.IntRange(-5000, 5000), func(k int) float64 { return float64(k) * (1 / math.Pow10(d)) }))
	}
	return append(kinds, rapid.OneOf(kinds...))
}

func TestWhateverGoesInComesOutToTheLastBit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// A series is of one kind, as one probe's is, or of any: decimals beside arbitrary bits are packed as bits.
		value := rapid.SampledFrom(valuesOfAKind()).Draw(t, "kind of value")
		times := rapid.SampledFrom([]*rapid.Generator[int64]{rapid.Int64(), rapid.Int64Range(0, 900_000)}).Draw(t, "kind of times")
		even := rapid.Int64Range(0, 3000).Draw(t, "beat")
		number := int64(0)
		sample := rapid.Custom(func(t *rapid.T) pack.Sample {
			number++
			return pack.Sample{
				At:  rapid.OneOf(times, rapid.Map(rapid.Int64Range(0, 9), func(late int64) int64 { return number*even + late })).Draw(t, "at"),
				Raw: value.Draw(t, "raw"), Grade: rapid.Uint8Range(0, 2).Draw(t, "grade"), Word: rapid.Uint8Range(0, 3).Draw(t, "word"),
			}
		})
		samples := rapid.SliceOfN(sample, 1, 300).Draw(t, "samples")
		block, _, err := pack.Encode(nil, samples)
		require.NoError(t, err)
		got, err := pack.Decode(nil, block)
		require.NoError(t, err)
		sameMoments(t, samples, block)
		same(t, samples, got)
		_, err = pack.Decode(nil, append(block, make([]byte, rapid.IntRange(1, 20).Draw(t, "more"))...))
		require.ErrorIs(t, err, pack.ErrDamaged, "what stands behind a block is none of it")
	})
}

// noisy is a quarter of an hour of a bath at 1 Hz: noise around a drift, times
// that come up to 4 ms late, values rounded to a step.
func noisy(sd float64, round func(float64) float64) []pack.Sample {
	r := rand.New(rand.NewPCG(1, 2))
	samples := make([]pack.Sample, 900)
	for i := range samples {
		samples[i] = pack.Sample{
			At:    1_700_000_000_000 + int64(i)*1000 + r.Int64N(5),
			Raw:   round(20 + 0.4*float64(i)/900 + r.NormFloat64()*sd),
			Grade: 2,
		}
	}
	return samples
}

func decimals(d int) func(float64) float64 {
	return func(v float64) float64 { return math.Round(v*math.Pow10(d)) / math.Pow10(d) }
}

func sixteenths(v float64) float64 { return math.Round(v*16) / 16 }

func TestABathTakesLessThanAByteASample(t *testing.T) {
	for name, c := range map[string]struct {
		samples []pack.Sample
		most    float64
	}{
		"hundredths, quiet":     {noisy(0.005, decimals(2)), 0.70},
		"hundredths, noisy":     {noisy(0.03, decimals(2)), 0.95},
		"sixteenths, quiet":     {noisy(0.01, sixteenths), 0.65},
		"sixteenths, noisy":     {noisy(0.06, sixteenths), 0.75},
		"tenths":                {noisy(0.03, decimals(1)), 0.65},
		"through single format": {noisy(0.03, func(v float64) float64 { return float64(float32(decimals(2)(v))) }), 0.95},
		"scaled by a factor":    {noisy(0.03, func(v float64) float64 { return math.Round(v*100) * 0.01 }), 0.95},
	} {
		t.Run(name, func(t *testing.T) {
			block, _, err := pack.Encode(nil, c.samples)
			require.NoError(t, err)
			perSample := float64(len(block)) / float64(len(c.samples))
			t.Logf("%.3f bytes a sample", perSample)
			require.Less(t, perSample, c.most)
		})
	}
}

func TestABlockHoldsSomethingAndNotTooMuch(t *testing.T) {
	_, _, err := pack.Encode(nil, nil)
	require.Error(t, err)
	_, _, err = pack.Encode(nil, make([]pack.Sample, 1<<22+1))
	require.Error(t, err)
}

func TestADamagedBlockIsRefused(t *testing.T) {
	block, _, err := pack.Encode(nil, noisy(0.03, decimals(2)))
	require.NoError(t, err)
	for n := range len(block) {
		_, err := pack.Decode(nil, block[:n])
		require.ErrorIs(t, err, pack.ErrDamaged, "cut after %d bytes", n)
		if n < len(block)/4 { // before the times end
			var d pack.Decoder
			_, err = d.Moments(nil, block[:n])
			require.ErrorIs(t, err, pack.ErrDamaged, "cut after %d bytes", n)
		}
	}
	_, err = pack.Decode(nil, append(block, 0))
	require.ErrorIs(t, err, pack.ErrDamaged)
	block[0] = 99
	_, err = pack.Decode(nil, block)
	require.ErrorIs(t, err, pack.ErrDamaged)
}

func TestDecodeAppends(t *testing.T) {
	block, _, err := pack.Encode([]byte("before"), noisy(0.03, decimals(2))[:2])
	require.NoError(t, err)
	got, err := pack.Decode([]pack.Sample{{Raw: 1}}, block[len("before"):])
	require.NoError(t, err)
	require.Len(t, got, 3)
	require.Equal(t, 1.0, got[0].Raw)
}

// fieldOf are series of whole numbers over a hundred, so that every computer makes the same: of one sample,
// of an even and of an uneven beat, quiet and noisy, with pauses, with values that leap and with changes of grade.
func fieldOf(number int) []pack.Sample {
	r := rand.New(rand.NewPCG(uint64(number), 2))
	samples := make([]pack.Sample, []int{1, 2, 63, 64, 65, 900}[number%6])
	at, most := int64(1_700_000_000_000), []int{1, 2, 6, 40, 3000}[number%5]
	for i := range samples {
		at += int64(1000 + r.IntN(1+number%4*3))
		if number%7 == 3 && i%50 == 49 {
			at += 60_000
		}
		k := 2000 + r.IntN(most) + i/200
		if number%3 == 2 && i%97 == 96 {
			k *= 1000
		}
		v := float64(k) / 100
		switch number % 14 {
		case 5:
			v = float64(float32(v))
		case 8:
			v = float64(k) * 0.01
		case 11:
			v = math.Sqrt(float64(k)) // of full length, the same on every computer
		}
		samples[i] = pack.Sample{At: at, Raw: v, Grade: uint8(i / 300 % 3), Word: uint8(i / 450)}
	}
	return samples
}

// What a history holds is read for ever, and takes the room that it took: these bytes have been written.
func TestTheFormOfABlockIsKept(t *testing.T) {
	var all []byte
	for number := range 84 {
		block, _, err := pack.Encode(nil, fieldOf(number))
		require.NoError(t, err)
		all = append(all, block...)
		got, err := pack.Decode(nil, block)
		require.NoError(t, err)
		same(t, fieldOf(number), got)
	}
	require.Equal(t, 32372, len(all))
	require.Equal(t, uint32(0xebc4b89b), crc32.ChecksumIEEE(all))
}

// firstVersion are blocks in which the times follow on the grades, as they were written until November 2026:
// of the same fields, each behind its length.
func firstVersion(t testing.TB) (blocks [][]byte) {
	rest, err := os.ReadFile("testdata/times-last.blocks")
	require.NoError(t, err)
	for len(rest) > 0 {
		length, n := binary.Uvarint(rest)
		blocks = append(blocks, rest[n:n+int(length)])
		rest = rest[n+int(length):]
	}
	return blocks
}

func TestBlocksOfTheFirstVersionAreRead(t *testing.T) {
	blocks := firstVersion(t)
	require.Len(t, blocks, 84)
	for number, block := range blocks {
		got, err := pack.Decode(nil, block)
		require.NoError(t, err)
		sameMoments(t, fieldOf(number), block)
		same(t, fieldOf(number), got)
	}
	for number, block := range blocks {
		if len(fieldOf(number)) == 900 { // its times take more than this
			var d pack.Decoder
			_, err := d.Moments(nil, block[:50])
			require.ErrorIs(t, err, pack.ErrDamaged)
		}
	}
	require.Equal(t, uint32(0xd911efcd), crc32.ChecksumIEEE(slices.Concat(blocks...)))
}

// The channels of a frame have their samples at the same moments, whatever they measure and however good it is.
func TestTheTimesOfAFrameAreTheSameBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		late := rapid.SliceOfN(rapid.Int64Range(0, 5000), 1, 300).Draw(t, "late")
		var times [][]byte
		for range 2 {
			value := rapid.SampledFrom(valuesOfAKind()).Draw(t, "kind of value")
			samples := make([]pack.Sample, len(late))
			for i := range samples {
				samples[i] = pack.Sample{At: int64(i)*1000 + late[i], Raw: value.Draw(t, "raw"), Grade: rapid.Uint8Range(0, 2).Draw(t, "grade")}
			}
			block, n, err := pack.Encode([]byte("before"), samples)
			require.NoError(t, err)
			require.Equal(t, "before", string(block[:6]))
			times = append(times, block[6:6+n])
			got, err := pack.Decode(nil, slices.Concat(times[0], block[6+n:]))
			require.NoError(t, err)
			even := slices.Clone(samples)
			for i := range even {
				even[i].At = int64(i)
			}
			other, m, err := pack.Encode(nil, even)
			require.NoError(t, err)
			require.Equal(t, block[6+n:], other[m:], "the rest does not depend on the times")
			same(t, samples, got)
		}
		require.Equal(t, times[0], times[1])
	})
}

// Of a probe that misses every fifth of its seconds the beat is still a second: what is missing costs, the rest does not.
func TestASecondThatIsMissingChangesNoBeat(t *testing.T) {
	even, missing := make([]pack.Sample, 800), make([]pack.Sample, 800)
	at := int64(0)
	for i := range missing {
		even[i] = pack.Sample{At: int64(i) * 1000, Raw: 20}
		if at += 1000; i%4 == 3 {
			at += 1000
		}
		missing[i] = pack.Sample{At: at, Raw: 20}
	}
	size := func(samples []pack.Sample) int {
		block, _, err := pack.Encode(nil, samples)
		require.NoError(t, err)
		return len(block)
	}
	t.Logf("%d bytes with every second, %d with every fifth missing", size(even), size(missing))
	require.Less(t, size(even), 800/16)
	require.Less(t, size(missing), 2*800, "by a beat of the mean distance, 1.2 s, each would be off")
}

// Nor does a clock that is set back now and then, or a sample that comes twice.
func TestAStepBackOfTheClockChangesNoBeat(t *testing.T) {
	for _, step := range []int64{0, -60_000} {
		samples := make([]pack.Sample, 900)
		at := int64(0)
		for i := range samples {
			samples[i] = pack.Sample{At: at, Raw: 20}
			if at += 1000; i%300 == 299 {
				at += step - 1000
			}
		}
		block, _, err := pack.Encode(nil, samples)
		require.NoError(t, err)
		got, err := pack.Decode(nil, block)
		require.NoError(t, err)
		same(t, samples, got)
		require.Less(t, len(block), 900/8, "a bit for each, as of an even beat, steps of %d ms", step)
	}
}

// A leap of every height is written in ones as far as they reach, and plain beyond.
func TestALeapOfAnyHeightComesBack(t *testing.T) {
	for height := range 3000 {
		samples := make([]pack.Sample, 70)
		for i := range samples {
			samples[i] = pack.Sample{At: int64(i) * 1000, Raw: float64(i % 3)}
		}
		samples[40].Raw = float64(height)
		comesBack(t, samples)
	}
}

// Numbers of every width come back, with a leap among them that just fits into the ones of the code, or just does not.
func TestNumbersOfEveryWidthComeBack(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for width := range 45 {
		for leap := int64(1); leap <= 60; leap++ {
			samples := make([]pack.Sample, 70)
			v, low := int64(0), int64(1)<<width
			for i := range samples {
				v += (low + r.Int64N(low)) * int64(1-i%2*2)
				samples[i] = pack.Sample{At: int64(i) * 1000, Raw: float64(v)}
			}
			for i := 40; i < len(samples); i++ {
				samples[i].Raw += float64(leap * low)
			}
			comesBack(t, samples)
		}
	}
}

// Bits that are as far apart as bits can be, the last of them in a run of its own.
func TestBitsOfAnyDistanceComeBack(t *testing.T) {
	samples := make([]pack.Sample, 65)
	for i := range samples {
		samples[i].Raw = math.Float64frombits(math.Float64bits(1) + uint64(i%2))
	}
	for shift := range 64 {
		for _, far := range []uint64{1 << shift, 3 << shift, math.MaxUint64 >> shift, math.MaxUint64 << shift} {
			samples[64].Raw = math.Float64frombits(math.Float64bits(1) + far)
			comesBack(t, slices.Clone(samples))
		}
	}
}

func comesBack(t *testing.T, samples []pack.Sample) {
	block, _, err := pack.Encode(nil, samples)
	require.NoError(t, err)
	got, err := pack.Decode(nil, block)
	require.NoError(t, err)
	same(t, samples, got)
}
