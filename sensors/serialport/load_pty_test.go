//go:build linux

package serialport_test

import (
	"bytes"
	"os"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/serialport"
)

func TestWriteToADeafPeerTimesOut(t *testing.T) {
	c := newCable(t)
	o := serialport.New()
	l := c.openWith(o)
	var err error
	began := time.Now()
	for sent := 0; err == nil && sent < 1<<20; sent += 1024 {
		err = l.Write(bytes.Repeat([]byte("x"), 1024))
	}
	require.ErrorIs(t, err, sensors.ErrGone)
	require.ErrorContains(t, err, "accepted no bytes")
	require.Less(t, time.Since(began), 10*time.Second)

	closing := time.Now()
	require.ErrorContains(t, l.Close(), "left behind")
	require.EqualValues(t, 1, o.StuckWrites())
	require.Less(t, time.Since(closing), 5*time.Second)
	again := c.openWith(o)
	require.NoError(t, again.Close())
	require.NoError(t, c.peer.Close())
	require.Eventually(t, func() bool { return o.StuckWrites() == 0 }, 5*time.Second, 10*time.Millisecond,
		"the end of the device frees the write")
}

func TestFloodDoesNotGrowMemory(t *testing.T) {
	c := newCable(t)
	l := c.open()
	flooded := make(chan int)
	go func() {
		total := 0
		block := bytes.Repeat([]byte("garbage "), 512)
		for {
			n, err := c.peer.Write(block)
			if total += n; err != nil {
				flooded <- total
				return
			}
		}
	}()
	heard := 0
	for heard < 1<<20 {
		heard += len(<-l.Chunks())
	}
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	time.Sleep(500 * time.Millisecond) // nobody takes: the reader must hold still
	runtime.GC()
	runtime.ReadMemStats(&after)
	require.NoError(t, l.Close())
	require.NoError(t, c.peer.Close())
	t.Logf("heard %d of %d bytes, heap %d -> %d", heard, <-flooded, before.HeapAlloc, after.HeapAlloc)
	require.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(1<<20))
}

func TestTwoHundredOpeningsLeaveNothingBehind(t *testing.T) {
	const cables, times = 20, 10
	o := serialport.New()
	var plugged []*cable
	for range cables {
		plugged = append(plugged, newCable(t))
	}
	descriptors, goroutines := openDescriptors(t), runtime.NumGoroutine()
	failures := make(chan error, cables*times)
	var users sync.WaitGroup
	for _, c := range plugged {
		users.Go(func() {
			for range times {
				l, err := o.Open(t.Context(), c.settings())
				if err == nil {
					time.Sleep(5 * time.Millisecond) // so that the reader is blocked
					err = l.Close()
				}
				failures <- err
			}
		})
	}
	users.Wait()
	for range cables * times {
		require.NoError(t, <-failures)
	}
	require.Equal(t, descriptors, openDescriptors(t))
	// The last goroutine to say that it is done may still be on its way out.
	for until := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > goroutines && time.Now().Before(until); {
		time.Sleep(time.Millisecond)
	}
	require.LessOrEqual(t, runtime.NumGoroutine(), goroutines)
	require.Zero(t, o.StuckWrites())
}

func openDescriptors(t *testing.T) int {
	t.Helper()
	entries, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	return len(entries)
}

func TestManyLinesCloseTogether(t *testing.T) {
	const lines = 64
	var open []sensors.Line
	for range lines {
		open = append(open, newCable(t).open())
	}
	began := time.Now()
	failures := make(chan error, lines)
	for _, l := range open {
		go func() { failures <- l.Close() }()
	}
	for range lines {
		require.NoError(t, <-failures)
	}
	t.Logf("%d lines closed in %v", lines, time.Since(began))
	require.Less(t, time.Since(began), 5*time.Second)
}

func TestCloseFromManySides(t *testing.T) {
	l := newCable(t).open()
	var closers sync.WaitGroup
	for range 8 {
		closers.Go(func() { _ = l.Close() })
	}
	closers.Wait()
	require.NoError(t, l.Close())
}
