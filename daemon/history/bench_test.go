package history_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

// site is a history of several noisy baths, fed a second at a time.
type site struct {
	store    *history.Store
	clock    *handClock
	dir      string
	channels []sensors.ChannelID
	random   *rand.Rand
}

func newSite(b *testing.B, channels int) *site {
	b.Helper()
	s := &site{clock: newHandClock(evening()), dir: b.TempDir(), random: rand.New(rand.NewPCG(1, 2))}
	var err error
	s.store, err = history.Open(b.Context(), options(s.dir, s.clock))
	require.NoError(b, err)
	b.Cleanup(func() { s.store.Close() })
	var known []sensors.Channel
	for i := range channels {
		s.channels = append(s.channels, sensors.ChannelID(fmt.Sprintf("tray %d", i)))
		known = append(known, bath(b, s.channels[i]))
	}
	require.NoError(b, s.store.RegisterChannels(b.Context(), "wet", known))
	return s
}

// second is one sample of each channel, up to 4 ms late: half of the probes send
// hundredths with a noise of 0.03 degrees, half sixteenths with 0.06.
func (s *site) second() []history.Sample {
	now := s.clock.Now().Wall
	samples := make([]history.Sample, len(s.channels))
	for i, id := range s.channels {
		drift := math.Sin(float64(now.Unix())/3000 + float64(i))
		raw := math.Round((20+drift+s.random.NormFloat64()*0.03)*100) / 100
		if i%2 == 1 {
			raw = math.Round((20+drift+s.random.NormFloat64()*0.06)*16) / 16
		}
		samples[i] = history.Sample{
			Channel: id, At: now.Add(time.Duration(s.random.IntN(5)) * time.Millisecond), Raw: raw, Grade: sensors.Good,
		}
	}
	s.clock.pass(time.Second)
	return samples
}

// BenchmarkAppend feeds 64 channels at 1 Hz, one Append a second of data, sealing
// included. "as run" has a durable commit a second of real time, "durable" one
// for every Append.
func BenchmarkAppend(b *testing.B) {
	for _, name := range []string{"as run", "durable"} {
		b.Run(name, func(b *testing.B) {
			s := newSite(b, 64)
			if name == "durable" {
				require.NoError(b, history.AlwaysDurable(s.store))
			}
			n := 0
			for b.Loop() {
				require.NoError(b, s.store.Append(b.Context(), history.Batch{Samples: s.second()}))
				n += 64
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "samples/s")
		})
	}
}

// BenchmarkAppendOne is the cost of a sample that comes alone.
func BenchmarkAppendOne(b *testing.B) {
	s := newSite(b, 1)
	for b.Loop() {
		require.NoError(b, s.store.Append(b.Context(), history.Batch{Samples: s.second()}))
	}
}

// BenchmarkBytesPerSample stores a week of 8 channels at 1 Hz and divides the size
// of the file by the samples in it.
func BenchmarkBytesPerSample(b *testing.B) {
	const seconds = 7 * 24 * 3600
	for b.Loop() {
		s := newSite(b, 8)
		for done := 0; done < seconds; done += 900 {
			var batch history.Batch
			for range 900 {
				batch.Samples = append(batch.Samples, s.second()...)
			}
			require.NoError(b, s.store.Append(b.Context(), batch))
			history.SealDue(s.store)
		}
		require.NoError(b, s.store.Close())
		info, err := os.Stat(filepath.Join(s.dir, "wetside.db"))
		require.NoError(b, err)
		b.ReportMetric(float64(info.Size())/(seconds*8), "bytes/sample")
	}
}
