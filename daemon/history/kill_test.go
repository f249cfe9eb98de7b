package history_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/daemon/campaign"
	"wetside/daemon/history"
	"wetside/sensors"
)

// childFolder is set for a copy of the test program that is there to be killed.
const childFolder = "WETSIDE_HISTORY_CHILD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childFolder); dir != "" {
		fmt.Fprintln(os.Stderr, writeUntilKilled(dir))
		os.Exit(1)
	}
	if dir := os.Getenv(migrationChild); dir != "" {
		fmt.Fprintln(os.Stderr, startOn(dir))
		os.Exit(1)
	}
	goleak.VerifyTestMain(m)
}

// writeUntilKilled stores samples and records and prints each one that was
// acknowledged. Its clock runs fast, so that quarters are sealed all the time.
func writeUntilKilled(dir string) error {
	ctx := context.Background()
	s, err := history.Open(ctx, history.Options{Dir: dir, Clock: sensors.NewSystemClock(3000), Zone: time.UTC, Version: "test"})
	if err != nil {
		return err
	}
	traits, _ := sensors.BathTemperature.Traits()
	if err := s.RegisterChannels(ctx, "wet", []sensors.Channel{{ID: "tray", Kind: sensors.BathTemperature, Traits: traits}}); err != nil {
		return err
	}
	fmt.Println("open")
	clock := sensors.NewSystemClock(3000)
	for i := 0; ; i++ {
		at := clock.Now().Wall.Truncate(time.Millisecond)
		if err := s.Append(ctx, history.Batch{Samples: []history.Sample{{Channel: "tray", At: at, Raw: float64(i),
			Grade: sensors.Good}}}); err != nil {
			return err
		}
		fmt.Println("sample", at.UnixMilli(), i)
		if i%5 == 0 {
			r, err := s.Record(ctx, history.Entry{Kind: "form"})
			if err != nil {
				return err
			}
			fmt.Println("record", r.Number, r.Hash)
		}
	}
}

// acknowledged is what a killed child had been told is stored.
type acknowledged struct {
	samples map[int64][]float64 // by time
	records map[uint64]string   // number to hash
}

func (a acknowledged) note(t *testing.T, line string) {
	words := strings.Fields(line)
	number := func(i int) int64 {
		n, err := strconv.ParseInt(words[i], 10, 64)
		require.NoError(t, err)
		return n
	}
	switch {
	case len(words) == 3 && words[0] == "sample":
		a.samples[number(1)] = append(a.samples[number(1)], float64(number(2)))
	case len(words) == 3 && words[0] == "record":
		a.records[uint64(number(1))] = words[2]
	}
}

// runAndKill starts a child on dir, kills it at a random moment, and notes what it
// was told. The last line may be half written, so only whole lines count.
func runAndKill(t *testing.T, dir string, told acknowledged) {
	self, err := os.Executable()
	require.NoError(t, err)
	child := exec.Command(self)
	child.Env = append(os.Environ(), childFolder+"="+dir)
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	child.Stderr = os.Stderr
	require.NoError(t, child.Start())
	lines := bufio.NewReader(out)
	first, err := lines.ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "open\n", first)
	timer := time.AfterFunc(time.Duration(rand.IntN(600))*time.Millisecond, func() { _ = child.Process.Kill() })
	defer timer.Stop()
	for {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		told.note(t, line)
	}
	require.ErrorContains(t, child.Wait(), "killed")
}

func TestNothingAcknowledgedIsLostWhenKilled(t *testing.T) {
	dir := t.TempDir()
	told := acknowledged{map[int64][]float64{}, map[uint64]string{}}
	for range campaign.Size(t, 10) {
		runAndKill(t, dir, told)
		report, err := history.Verify(t.Context(), dir)
		require.NoError(t, err)
		require.NoError(t, report.Err())
	}
	require.NotEmpty(t, told.samples)
	require.NotEmpty(t, told.records)

	s, err := history.Open(t.Context(), options(dir, sensors.NewSystemClock(1)))
	require.NoError(t, err)
	defer s.Close()
	records, err := s.Records(t.Context(), history.Query{})
	require.NoError(t, err)
	hashes := map[uint64]string{}
	for _, r := range records {
		hashes[r.Number] = r.Hash
	}
	for number, hash := range told.records {
		require.Equal(t, hash, hashes[number], "record %d", number)
	}
	stored := map[int64][]float64{}
	for _, sample := range all(t, s, time.UnixMilli(0), time.Now().Add(1000*time.Hour)) {
		stored[sample.At.UnixMilli()] = append(stored[sample.At.UnixMilli()], sample.Raw)
	}
	for at, raws := range told.samples {
		require.Subset(t, stored[at], raws)
	}
}
