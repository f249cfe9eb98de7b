package serialport

import (
	"errors"
	"io"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

// answer is what a fakeDevice does at one Read.
type answer struct {
	after time.Duration
	data  string
	err   error
}

// fakeDevice answers reads from a list, then times out for ever as Windows
// does: nothing, without an error.
type fakeDevice struct {
	mu      sync.Mutex
	answers []answer
	closed  atomic.Bool
	hang    chan struct{} // when set, Read takes one value to say that it blocks, then waits for the close
	refuse  error         // of Write
}

func (d *fakeDevice) Read(p []byte) (int, error) {
	if d.hang != nil {
		d.hang <- struct{}{}
		<-d.hang
	}
	d.mu.Lock()
	next := answer{after: ReadTimeout}
	if len(d.answers) > 0 {
		next, d.answers = d.answers[0], d.answers[1:]
	}
	d.mu.Unlock()
	time.Sleep(next.after)
	return copy(p, next.data), next.err
}

func (d *fakeDevice) Write(p []byte) (int, error) { return len(p), d.refuse }
func (d *fakeDevice) Flush() error                { return nil }
func (d *fakeDevice) Close() error                { d.closed.Store(true); return nil }

type fakeGuard struct{ released atomic.Bool }

func (g *fakeGuard) wait(<-chan struct{}, time.Duration) bool { return true }

func (g *fakeGuard) check() error   { return nil }
func (g *fakeGuard) interrupt()     {}
func (g *fakeGuard) release() error { g.released.Store(true); return nil }

func startFake(d *fakeDevice) (*line, *fakeGuard) {
	g := &fakeGuard{}
	return startLine(lineParts{path: "COM9", device: d, guard: g, stuck: new(atomic.Int64)}), g
}

// ending collects what a line brings until it ends, at most n chunks.
func ending(l *line, n int) (heard string, ended bool) {
	for range n {
		select {
		case chunk, open := <-l.Chunks():
			if !open {
				return heard, true
			}
			heard += string(chunk)
		case <-time.After(3 * ReadTimeout):
			return heard, false
		}
	}
	return heard, false
}

func TestReadsAreUnderstood(t *testing.T) {
	now, slow := time.Duration(0), ReadTimeout
	broken := errors.New("broken")
	for name, c := range map[string]struct {
		answers []answer
		heard   string
		gone    bool
	}{
		"timeouts as ends of file": {[]answer{{slow, "", io.EOF}, {slow, "", io.EOF}, {now, "a", nil}}, "a", false},
		"timeouts without error":   {[]answer{{slow, "", nil}, {now, "a", nil}}, "a", false},
		"two hiccups":              {[]answer{{now, "", io.EOF}, {now, "", io.EOF}, {now, "a", nil}, {now, "", nil}}, "a", false},
		"fast ends":                {[]answer{{now, "a", nil}, {now, "", io.EOF}, {now, "", io.EOF}, {now, "", io.EOF}}, "a", true},
		"fast silence":             {[]answer{{now, "", nil}, {now, "", nil}, {now, "", nil}}, "", true},
		"error":                    {[]answer{{now, "a", nil}, {now, "", broken}}, "a", true},
		"data with an error":       {[]answer{{now, "a", broken}, {now, "b", nil}}, "ab", false},
	} {
		t.Run(name, func(t *testing.T) {
			l, guard := startFake(&fakeDevice{answers: c.answers})
			heard, ended := ending(l, len(c.answers))
			require.Equal(t, c.heard, heard)
			require.Equal(t, c.gone, ended)
			if c.gone {
				require.ErrorIs(t, l.Err(), sensors.ErrGone)
				require.ErrorContains(t, l.Err(), "COM9")
			} else {
				require.NoError(t, l.Err())
			}
			require.NoError(t, l.Close())
			require.True(t, guard.released.Load())
		})
	}
}

func TestCloseDoesNotWaitForAHangingDriver(t *testing.T) {
	d := &fakeDevice{hang: make(chan struct{})}
	l, guard := startFake(d)
	<-d.hang // it blocks now
	require.ErrorContains(t, l.Close(), "left behind", "it returns although the driver never will")
	require.False(t, d.closed.Load())
	close(d.hang)
	<-l.ended
	require.True(t, d.closed.Load(), "closed once the driver returns")
	require.True(t, guard.released.Load())
}

func TestCloseWhileNobodyTakes(t *testing.T) {
	d := &fakeDevice{}
	for range 3 * queueLength {
		d.answers = append(d.answers, answer{data: "T1=20.1\n"})
	}
	l, _ := startFake(d)
	require.Eventually(t, func() bool { return len(l.chunks) == queueLength }, time.Second, time.Millisecond)
	began := time.Now()
	require.NoError(t, l.Close())
	require.Less(t, time.Since(began), 5*time.Second)
}

func TestRefusedWriteEndsTheLine(t *testing.T) {
	l, _ := startFake(&fakeDevice{refuse: io.ErrClosedPipe})
	err := l.Write([]byte("x"))
	require.ErrorIs(t, err, sensors.ErrGone)
	require.ErrorIs(t, err, io.ErrClosedPipe)
	_, ended := ending(l, 1)
	require.True(t, ended)
	require.ErrorIs(t, l.Err(), io.ErrClosedPipe)
	require.NoError(t, l.Close())
}
