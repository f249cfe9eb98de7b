package stamp_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"go.uber.org/zap"

	"wetside/daemon/history/book"
	"wetside/daemon/stamp"
	"wetside/sensors/clocktest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// stamping is a stamper under test with a book that grows.
type stamping struct {
	*authority
	kept    string
	newest  atomic.Pointer[book.Checkpoint]
	clock   *clocktest.Manual
	stamper *stamp.Stamper
}

func newStamping(t *testing.T) *stamping {
	s := &stamping{authority: newAuthority(t), kept: filepath.Join(t.TempDir(), stamp.Folder), clock: clocktest.New(time.Now())}
	s.grow(812)
	roots, err := stamp.Roots(s.file("root.pem"))
	require.NoError(t, err)
	s.stamper, err = stamp.New(stamp.Options{URL: s.url, Every: 24 * time.Hour, Folder: s.kept, Roots: roots,
		Newest: func() book.Checkpoint { return *s.newest.Load() }, Clock: s.clock, Log: zap.NewNop()})
	require.NoError(t, err)
	return s
}

func (s *stamping) grow(to uint64) {
	s.newest.Store(&book.Checkpoint{Number: to, Hash: strings.Repeat("5f", 32)})
}

// turn lets the stamper look once, after some time.
func (s *stamping) turn(after time.Duration) stamp.Standing {
	s.clock.Advance(after)
	ctx, cancel := context.WithCancel(s.Context())
	done, waiting := make(chan struct{}), s.clock.Waiters()
	go func() { defer close(done); s.stamper.Run(ctx) }()
	s.clock.BlockUntil(waiting + 1)
	cancel()
	<-done
	return s.stamper.Standing()
}

func TestTheBookIsStampedOnceADayAndOpensslAgrees(t *testing.T) {
	s := newStamping(t)
	first := s.turn(0)
	require.NoError(t, first.Problem)
	require.EqualValues(t, 812, first.Last.Checkpoint.Number)
	require.WithinDuration(t, time.Now(), first.Last.At, time.Minute)
	require.Contains(t, first.Last.Authority, "signer of an invented authority")
	name := filepath.Join(s.kept, "checkpoint-812")
	require.NoError(t, s.openssl("ts", "-verify", "-CAfile", "root.pem", "-data", name+".txt", "-in", name+".tsr"))

	s.turn(48 * time.Hour)
	require.EqualValues(t, 1, s.asked.Load(), "nothing new in the book needs no stamp")
	s.grow(813)
	require.EqualValues(t, 813, s.turn(0).Last.Checkpoint.Number)
	s.grow(814)
	s.turn(time.Hour)
	require.EqualValues(t, 2, s.asked.Load(), "once a day")

	again, err := stamp.New(stamp.Options{Folder: s.kept, Log: zap.NewNop()})
	require.NoError(t, err)
	require.EqualValues(t, 813, again.Standing().Last.Checkpoint.Number, "the newest is known again after a start")
}

func TestAnAuthorityThatDoesNotAnswerIsAskedAgainLater(t *testing.T) {
	s := newStamping(t)
	s.broken.Store(true)
	require.ErrorContains(t, s.turn(0).Problem, "503")
	s.broken.Store(false)
	s.turn(time.Minute)
	require.EqualValues(t, 1, s.asked.Load(), "not every minute")
	require.NoError(t, s.turn(15*time.Minute).Problem)
	require.EqualValues(t, 2, s.asked.Load())
}

func TestAnAnswerToAnOlderQuestionIsRefused(t *testing.T) {
	s := newStamping(t)
	s.turn(0)
	require.NoError(t, os.RemoveAll(s.kept))
	s.replay.Store(true)
	fresh, err := stamp.New(stamp.Options{URL: s.url, Folder: s.kept, Newest: func() book.Checkpoint { return *s.newest.Load() },
		Clock: s.clock, Log: zap.NewNop()})
	require.NoError(t, err)
	s.stamper = fresh
	require.ErrorContains(t, s.turn(0).Problem, "earlier request")
	require.NoDirExists(t, s.kept)
}

func TestATimeStampProvesItsOwnCheckpointByItsOwnAuthorityAlone(t *testing.T) {
	s := newStamping(t)
	s.turn(0)
	roots, err := stamp.Roots(s.file("root.pem"))
	require.NoError(t, err)
	list, err := stamp.List(s.kept, roots)
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.NoError(t, list[0].Err)
	signed := list[0].At

	stranger := newAuthority(t)
	others, err := stamp.Roots(stranger.file("root.pem"))
	require.NoError(t, err)
	list, err = stamp.List(s.kept, others)
	require.NoError(t, err)
	require.ErrorContains(t, list[0].Err, "not of an authority that you named")

	answer, err := os.ReadFile(list[0].File)
	require.NoError(t, err)
	_, err = stamp.Read(book.Checkpoint{Number: 811, Hash: strings.Repeat("5f", 32)}, answer, roots)
	require.ErrorContains(t, err, "not of the checkpoint 811:")
	good := book.Checkpoint{Number: 812, Hash: strings.Repeat("5f", 32)}
	for at := range answer {
		changed := append([]byte(nil), answer...)
		changed[at] ^= 0x20
		if made, err := stamp.Read(good, changed, roots); err == nil {
			require.Equal(t, signed, made.At, "byte %d: what is not signed says nothing", at)
		}
	}
}
