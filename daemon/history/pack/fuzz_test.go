package pack_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history/pack"
)

// FuzzDecode hands any bytes to Decode: it refuses them or gives samples that
// pack and unpack to themselves.
func FuzzDecode(f *testing.F) {
	for _, samples := range [][]pack.Sample{
		noisy(0.03, decimals(2)), noisy(0.06, sixteenths)[:3], noisy(0.03, func(v float64) float64 { return v })[:70],
		{{At: -1, Raw: -0.5, Grade: 1, Word: 2}, {At: 1 << 60, Raw: 7, Grade: 2}},
	} {
		block, _, err := pack.Encode(nil, samples)
		require.NoError(f, err)
		f.Add(block)
	}
	for _, block := range firstVersion(f)[:14] {
		f.Add(block)
	}
	f.Fuzz(func(t *testing.T, block []byte) {
		samples, err := pack.Decode(nil, block)
		if err != nil {
			require.ErrorIs(t, err, pack.ErrDamaged)
			require.Empty(t, samples)
			return
		}
		sameMoments(t, samples, block)
		again, _, err := pack.Encode(nil, samples)
		require.NoError(t, err)
		got, err := pack.Decode(nil, again)
		require.NoError(t, err)
		same(t, samples, got)
	})
}

// sameMoments decodes a block without its values, twice in the same memory.
func sameMoments(t require.TestingT, want []pack.Sample, block []byte) {
	var d pack.Decoder
	for range 2 {
		got, err := d.Moments(nil, block)
		require.NoError(t, err)
		require.Len(t, got, len(want))
		for i, s := range want {
			s.Raw = 0
			require.Equal(t, s, got[i])
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	samples := noisy(0.03, decimals(2))
	var block []byte
	for b.Loop() {
		block, _, _ = pack.Encode(block[:0], samples)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(samples)), "ns/sample")
	b.ReportMetric(float64(len(block))/float64(len(samples)), "bytes/sample")
}

// BenchmarkDecode decodes a quarter of an hour at 1 Hz, whole and without its values.
func BenchmarkDecode(b *testing.B) {
	block, _, err := pack.Encode(nil, noisy(0.03, decimals(2)))
	require.NoError(b, err)
	for name, decode := range decoders() {
		b.Run(name, func(b *testing.B) {
			var d pack.Decoder
			var samples []pack.Sample
			for b.Loop() {
				samples, _ = decode(&d, samples[:0], block)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(samples)), "ns/sample")
		})
	}
}

func decoders() map[string]func(*pack.Decoder, []pack.Sample, []byte) ([]pack.Sample, error) {
	return map[string]func(*pack.Decoder, []pack.Sample, []byte) ([]pack.Sample, error){
		"whole": (*pack.Decoder).Decode, "moments": (*pack.Decoder).Moments}
}
