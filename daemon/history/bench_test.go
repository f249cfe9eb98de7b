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

// BenchmarkAppend feeds channels at 1 Hz, sealing included: "as run" 64 channels with an Append a second
// of data and a durable commit a second of real time, "durable" one for every Append, "minutes" eight
// channels with a durable Append a minute.
// Two cores at rest: 780,000 samples a second with one durable commit a second.
// "minutes", two cores that others used: 1.2 ms of processor and 43 kB to the disk for a commit of 480 samples, sealing
// included. How long it waits for the disk depends on the disk: alone, 215,000 samples a second were counted when
// a commit cost 1.5 ms and 49 kB, and every one made the log longer.
func BenchmarkAppend(b *testing.B) {
	for _, c := range []struct {
		name              string
		channels, seconds int
		durable           bool
	}{{"as run", 64, 1, false}, {"durable", 64, 1, true}, {"minutes", 8, 60, true}} {
		b.Run(c.name, func(b *testing.B) {
			s := newSite(b, c.channels)
			if c.durable {
				require.NoError(b, history.AlwaysDurable(s.store))
			}
			n := 0
			for b.Loop() {
				var batch history.Batch
				for range c.seconds {
					batch.Samples = append(batch.Samples, s.second()...)
				}
				require.NoError(b, s.store.Append(b.Context(), batch))
				n += len(batch.Samples)
			}
			s.store.Settle(b.Context())
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "samples/s")
		})
	}
}

// BenchmarkAppendOne is the cost of a sample that comes alone.
// Two cores at rest: 86,000 samples a second where each batch waits for the disk.
func BenchmarkAppendOne(b *testing.B) {
	s := newSite(b, 1)
	for b.Loop() {
		require.NoError(b, s.store.Append(b.Context(), history.Batch{Samples: s.second()}))
	}
}

// BenchmarkBytesPerSample stores a month of evenings of four hours and divides the size of the file by
// the samples in it, all in: 8 channels at 1 Hz in one frame up to 8 ms late, a minute of silence in
// ten, one value in a thousand suspect.
// 0.76 bytes a sample, 12 % of the pages free: the tail, which is as large after a year. A year of evenings
// of five hours, 45.6 million samples: 0.64 bytes a sample, 1 % of the pages free.
// With the times of a frame written for each of its channels it was 1.26.
func BenchmarkBytesPerSample(b *testing.B) {
	for b.Loop() {
		s, n := newSite(b, 8), 0
		for quarter := range 30 * 16 {
			var batch history.Batch
			for second := range 900 {
				if frame := s.second(); second/60%10 != 0 {
					batch.Samples = append(batch.Samples, s.inOneFrame(frame)...)
				}
			}
			n += len(batch.Samples)
			require.NoError(b, s.store.Append(b.Context(), batch))
			s.store.Settle(b.Context())
			if quarter%16 == 15 {
				s.clock.pass(20 * time.Hour)
			}
		}
		require.NoError(b, s.store.Close())
		info, err := os.Stat(filepath.Join(s.dir, "wetside.db"))
		require.NoError(b, err)
		b.ReportMetric(float64(info.Size())/float64(n), "bytes/sample")
		b.ReportMetric(100*freePages(b, s.dir), "%free")
	}
}

// inOneFrame has samples come at the same moment, up to 8 ms late, and now and then one that jumped.
func (s *site) inOneFrame(samples []history.Sample) []history.Sample {
	late := time.Duration(s.random.IntN(9)) * time.Millisecond
	for i := range samples {
		samples[i].At = samples[i].At.Truncate(time.Second).Add(late)
		if s.random.IntN(1000) == 0 {
			samples[i].Grade, samples[i].Reason = sensors.Suspect, "jumped"
		}
	}
	return samples
}

// grow gives the one channel of a site years of quarter-hour roll-ups, and days
// of full samples at the end of them. The blocks of the other days hold what a
// block of that size would, so that the file is as large as a real one.
func grow(b *testing.B, s *site, years int) (from, to time.Time) {
	b.Helper()
	require.NoError(b, history.Grow(s.store, history.Growth{Channels: len(s.channels), From: evening().AddDate(-years, 0, 0), To: evening()}))
	var batch history.Batch
	for range 26 * 3600 {
		batch.Samples = append(batch.Samples, s.second()...)
	}
	require.NoError(b, s.store.Append(b.Context(), batch))
	s.store.Settle(b.Context())
	return evening().AddDate(-years, 0, 0), s.clock.Now().Wall
}

// BenchmarkChart draws a day, a year and ten years of one channel at 1 Hz in 1 000
// columns, beside each other for benchstat.
// Two cores that others used: a day in 3.0 ms, 2.3 at best; at rest, a year and ten years in 5 and 51 ms.
func BenchmarkChart(b *testing.B) {
	s := newSite(b, 1)
	_, to := grow(b, s, 10)
	for _, span := range []struct {
		name string
		from time.Time
	}{{"1 day", to.AddDate(0, 0, -1)}, {"1 year", to.AddDate(-1, 0, 0)}, {"10 years", to.AddDate(-10, 0, 0)}} {
		b.Run(span.name, func(b *testing.B) {
			for b.Loop() {
				series, err := s.store.Series(b.Context(), history.SeriesQuery{Channel: s.channels[0], From: span.from, To: to, Points: 1000})
				require.NoError(b, err)
				require.Greater(b, len(series.Columns), 900)
			}
		})
	}
}

// BenchmarkDayRaw reads every sample of 24 hours at 1 Hz.
// Two cores that others used: 2.8 ms, 2.1 at best.
func BenchmarkDayRaw(b *testing.B) {
	s := newSite(b, 1)
	_, to := grow(b, s, 1)
	for b.Loop() {
		n := 0
		for _, err := range s.store.Samples(b.Context(), s.channels[0], to.Add(-25*time.Hour), to.Add(-time.Hour)) {
			if err != nil {
				b.Fatal(err)
			}
			n++
		}
		require.InDelta(b, 86400, n, 1)
	}
}

// BenchmarkOpenTenYears opens a file of ten years of 8 channels at 1 Hz.
// Two cores at rest: 4 ms for a file of 3 GB.
func BenchmarkOpenTenYears(b *testing.B) {
	s := newSite(b, 8)
	require.NoError(b, history.Grow(s.store, history.Growth{Channels: 8, From: evening().AddDate(-10, 0, 0), To: evening()}))
	require.NoError(b, s.store.Close())
	for b.Loop() {
		store, err := history.Open(b.Context(), options(s.dir, s.clock))
		require.NoError(b, err)
		b.StopTimer()
		require.NoError(b, store.Close())
		b.StartTimer()
	}
	info, err := os.Stat(filepath.Join(s.dir, "wetside.db"))
	require.NoError(b, err)
	b.ReportMetric(float64(info.Size())/1e6, "MB")
}
