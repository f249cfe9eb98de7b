package history_test

import (
	"bytes"
	"encoding/csv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

func TestARecordWaitsForTheDiskAndASampleForASecondAtMost(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	level, err := history.Synchronous(s, true)
	require.NoError(t, err)
	require.Equal(t, 2, level)
	level, err = history.Synchronous(s, false)
	require.NoError(t, err)
	require.Equal(t, 1, level)

	fill(t, s, clock, 1)
	appended := time.Now()
	require.Eventually(t, func() bool { return s.Health().LastDurable.After(appended) }, 10*time.Second, 10*time.Millisecond,
		"an idle history makes its last sample durable by itself")
}

func TestHealthTellsHowItGoes(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	_, err := s.Record(t.Context(), history.Entry{Kind: "form"})
	require.NoError(t, err)
	fill(t, s, clock, 5)
	h := s.Health()
	require.True(t, h.Writable)
	require.Empty(t, h.Problem)
	require.Empty(t, h.Unsealed)
	require.Zero(t, h.Failed)
	require.Zero(t, h.Queued)
	require.Positive(t, h.Durable.Count)
	require.Positive(t, h.Durable.Sum)
	require.Positive(t, h.Commits.Count+h.Durable.Count)
	require.Equal(t, h.Durable.Count, h.Durable.Buckets[3], "no commit of a test takes three seconds")
	require.WithinDuration(t, time.Now(), h.LastCommit, time.Minute)
	require.Positive(t, h.FileBytes)
	require.Positive(t, h.LogBytes)
}

func TestSamplesAreWrittenOutExactlyAndHarmlessly(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	odd := bath(t, `=cmd|"x"`)
	require.NoError(t, s.RegisterChannels(t.Context(), "dry", []sensors.Channel{odd}))
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{
		good(evening(), 20.31),
		{Channel: "tray", At: evening().Add(1500 * time.Millisecond), Raw: 1.0 / 3, Grade: sensors.Suspect, Reason: sensors.Jump},
		{Channel: odd.ID, At: evening(), Raw: -1e-9, Grade: sensors.Good},
	}}))
	var out bytes.Buffer
	require.NoError(t, s.ExportSamples(t.Context(), &out, history.SampleExport{
		Channels: []sensors.ChannelID{"tray", odd.ID}, From: evening(), To: evening().Add(time.Minute),
	}))
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Equal(t, [][]string{
		{"channel", "unit", "utc", "local", "raw", "grade", "reason", "imported"},
		{"tray", "C", "2026-10-14T19:15:00.000Z", "2026-10-14T21:15:00.000+02:00", "20.31", "good", "", "false"},
		{"tray", "C", "2026-10-14T19:15:01.500Z", "2026-10-14T21:15:01.500+02:00", "0.3333333333333333", "suspect", "jump", "false"},
		{`'=cmd|"x"`, "C", "2026-10-14T19:15:00.000Z", "2026-10-14T21:15:00.000+02:00", "-1e-09", "good", "", "false"},
	}, rows)
	require.ErrorIs(t, s.ExportSamples(t.Context(), &out, history.SampleExport{Channels: []sensors.ChannelID{"nowhere"}}),
		history.ErrUnknownChannel)
}

// TestTheLogKeepsItsLength begins the log anew as the keeper does: a commit that has to make the file longer
// waits for the disk several times as long as one that writes over what is there.
func TestTheLogKeepsItsLength(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	longest := int64(0)
	for range 12 {
		require.NoError(t, history.Grow(s, history.Growth{Channels: 1, From: evening().AddDate(0, -1, 0), To: evening()}))
		fill(t, s, clock, 1)
		log := s.Health().LogBytes
		longest = max(longest, log)
		require.GreaterOrEqual(t, log, min(longest, 3<<20))
	}
	require.Greater(t, longest, int64(3<<20))
	require.Eventually(t, func() bool {
		fill(t, s, clock, 1)
		return s.Health().LogBytes < 8<<20
	}, 20*time.Second, 100*time.Millisecond, "once the keeper had the time to move it into the file")
}
