package history_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
	"wetside/daemon/history"
	"wetside/daemon/history/disktest"
	"wetside/sensors"
)

// notes is what a history acknowledged, with the moments at which it did.
type notes struct {
	mu      sync.Mutex
	samples []noted
	records []history.Record
	refused int
	every   int // how many samples come to a record
}

type noted struct {
	history.Sample
	told time.Time
}

// until writes samples and records until ctx ends, and notes what was acknowledged.
// A refusal is no news: the disk is broken.
func (n *notes) until(ctx context.Context, s *history.Store, clock sensors.Clock) {
	for i := 0; ctx.Err() == nil; i++ {
		at := clock.Now().Wall.Truncate(time.Millisecond)
		sample := good(at, float64(i)/8)
		err := s.Append(context.Background(), history.Batch{Samples: []history.Sample{sample}})
		var r history.Record
		if i%n.every == 0 && err == nil {
			r, err = s.Record(context.Background(), history.Entry{Kind: "form", Content: fmt.Appendf(nil, `{"n":%d}`, i)})
		}
		n.mu.Lock()
		switch {
		case err != nil:
			n.refused++
		case r.Number > 0:
			n.records = append(n.records, r)
			fallthrough
		default:
			n.samples = append(n.samples, noted{sample, time.Now()})
		}
		n.mu.Unlock()
		time.Sleep(rand.N(2 * time.Millisecond))
	}
}

// soFar is what had been acknowledged by now.
func (n *notes) soFar() ([]noted, []history.Record) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return slices.Clone(n.samples), slices.Clone(n.records)
}

// missing are the samples that a history does not hold.
func missing(t *testing.T, s *history.Store, samples []noted) (lost []noted) {
	stored := map[history.Sample]bool{}
	for _, sample := range all(t, s, time.UnixMilli(0), time.Now().Add(10000*time.Hour)) {
		stored[sample] = true
	}
	for _, sample := range samples {
		if !stored[sample.Sample] {
			lost = append(lost, sample)
		}
	}
	return lost
}

// requireBook holds that every acknowledged record is in the book as it was acknowledged.
func requireBook(t *testing.T, s *history.Store, records []history.Record) {
	inBook, err := s.Records(t.Context(), history.Query{Kinds: []string{"form"}})
	require.NoError(t, err)
	hashes := map[uint64]string{}
	for _, r := range inBook {
		hashes[r.Number] = r.Hash
	}
	for _, r := range records {
		require.Equal(t, r.Hash, hashes[r.Number], "record %d", r.Number)
	}
}

// anyFault is what may happen to a disk.
func anyFault(dice *rand.Rand) []disktest.Fault {
	always := [][]disktest.Fault{
		{{Op: disktest.Write, Code: disktest.Full}},
		{{Op: disktest.Write, Code: disktest.ReadOnly}, {Op: disktest.Truncate, Code: disktest.ReadOnly}},
		{{Op: disktest.Write, Code: disktest.IOError}},
		{{Op: disktest.Write, Code: disktest.IOError, Torn: true}},
		{{Op: disktest.Sync, Code: disktest.IOError}},
		{{Op: disktest.Read, Code: disktest.IOError}},
		{{Op: disktest.Truncate, Code: disktest.IOError}, {Op: disktest.Sync, Code: disktest.IOError}},
		{{Op: disktest.Sync, Delay: 20 * time.Millisecond}},
	}
	faults := always[dice.IntN(len(always))]
	for i := range faults {
		faults[i].Chance = []float64{0, 0.1, 0.5}[dice.IntN(3)]
	}
	return faults
}

func TestADiskThatFailsAtRandomLosesNothingAcknowledged(t *testing.T) {
	const seed = 5
	dice, dir := rand.New(rand.NewPCG(seed, 2)), t.TempDir()
	disk := disktest.On(t, dir, seed)
	clock := sensors.NewSystemClock(600) // so that quarters of an hour are sealed meanwhile
	s := open(t, dir, clock)
	n := notes{every: 7}
	ctx, stop := context.WithCancel(t.Context())
	var writing sync.WaitGroup
	writing.Go(func() { n.until(ctx, s, clock) })
	faults, hits := campaign.Size(t, 60), 0
	for range faults {
		disk.Break(anyFault(dice)...)
		time.Sleep(time.Duration(dice.IntN(30)) * time.Millisecond)
		hits += disk.Mend()
		require.Eventually(t, func() bool { return s.Health().Writable }, 10*time.Second, time.Millisecond, "writing resumes by itself")
	}
	stop()
	writing.Wait()
	samples, records := n.soFar()
	require.NotEmpty(t, records)
	require.Positive(t, n.refused, "the disk did refuse something")
	require.Empty(t, missing(t, s, samples))
	requireBook(t, s, records)
	require.NoError(t, s.Close())
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, err)
	require.NoError(t, report.Err())
	t.Logf("%d broken spells, %d failed operations, %d writes refused; %d samples and %d records acknowledged, none lost",
		faults, hits, n.refused, len(samples), len(records))
}

func TestAPowerCutCostsNoRecordAndASecondOfSamplesAtMost(t *testing.T) {
	const seed = 5
	// What one commit takes on a busy computer comes on top of the second.
	const commit = 500 * time.Millisecond
	dice, dir := rand.New(rand.NewPCG(seed, 2)), t.TempDir()
	disk := disktest.On(t, dir, seed)
	clock := sensors.NewSystemClock(600)
	s := open(t, dir, clock)
	n := notes{every: 400}
	ctx, stop := context.WithCancel(t.Context())
	var writing sync.WaitGroup
	writing.Go(func() { n.until(ctx, s, clock) })
	defer writing.Wait()
	defer stop()
	var most time.Duration
	cuts := campaign.Size(t, 12)
	for range cuts {
		if dice.IntN(3) == 0 { // a sync that failed before makes it worse
			disk.Break(disktest.Fault{Op: disktest.Sync, Code: disktest.IOError})
			_, err := s.Record(t.Context(), history.Entry{Kind: "unlucky"})
			require.ErrorIs(t, err, history.ErrWrite)
			disk.Mend()
			require.EventuallyWithT(t, func(c *assert.CollectT) { require.Empty(c, s.Health().Problem) }, 10*time.Second, time.Millisecond)
		}
		time.Sleep(time.Duration(dice.IntN(200)) * time.Millisecond)
		after := t.TempDir()
		samples, records := n.soFar()
		cut := time.Now()
		require.NoError(t, disk.Cut(dice, after))
		most = max(most, afterTheCut(t, after, cut, samples, records))
	}
	require.Less(t, most, time.Second+commit)
	t.Logf("%d power cuts: no acknowledged record lost, at most %v of samples", cuts, most)
}

// afterTheCut starts on what a power cut left and tells how far before it the
// earliest lost sample had been acknowledged.
func afterTheCut(t *testing.T, dir string, cut time.Time, samples []noted, records []history.Record) (lost time.Duration) {
	s, err := history.Open(t.Context(), options(dir, sensors.NewSystemClock(1)))
	require.NoError(t, err)
	requireBook(t, s, records)
	for _, sample := range missing(t, s, samples) {
		lost = max(lost, cut.Sub(sample.told))
	}
	report, err := history.Verify(t.Context(), dir)
	require.NoError(t, errors.Join(err, report.Err()))
	require.NoError(t, s.Close())
	return lost
}
