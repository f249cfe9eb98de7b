package main

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"wetside/configs"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors"
	"wetside/sensors/serialport"
)

// manager is what the service manager is to a program: a socket that is told how it goes.
type manager struct {
	*net.UnixConn
	t *testing.T
}

func newManager(t *testing.T) *manager {
	dir, err := os.MkdirTemp("", "told") // a socket's path must be short
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	c, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: filepath.Join(dir, "s"), Net: "unixgram"})
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close() })
	return &manager{c, t}
}

// hears waits for a word; false when it does not come in time.
func (m *manager) hears(word string, within time.Duration) bool {
	require.NoError(m.t, m.SetReadDeadline(time.Now().Add(within)))
	for buffer := make([]byte, 4096); ; {
		n, err := m.Read(buffer)
		if err != nil {
			return false
		}
		if strings.Contains(string(buffer[:n]), word) {
			return true
		}
	}
}

// hangingClock hangs the loop of a room, and nobody else, while it is told to.
type hangingClock struct {
	sensors.Clock
	hang    atomic.Bool
	release chan struct{}
}

func (c *hangingClock) Now() sensors.Instant {
	if c.hang.Load() {
		stack := make([]byte, 16<<10)
		if strings.Contains(string(stack[:runtime.Stack(stack, false)]), "(*room).turn(") {
			<-c.release
		}
	}
	return c.Clock.Now()
}

func TestTheWatchdogIsNotToldThatAllIsWellWhileALoopHangs(t *testing.T) {
	m := newManager(t)
	t.Setenv("NOTIFY_SOCKET", m.LocalAddr().String())
	t.Setenv("WATCHDOG_USEC", "200000")
	t.Setenv("WATCHDOG_PID", strconv.Itoa(os.Getpid()))
	site, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	site.Listen, site.Data = "127.0.0.1:0", t.TempDir()
	const speed = 5 // a loop counts as hung after a second
	clock := &hangingClock{Clock: sensors.NewSystemClock(speed), release: make(chan struct{})}
	ctx, cancel := context.WithCancel(t.Context())
	core, logged := observer.New(zap.InfoLevel)
	d, err := daemon.New(ctx, daemon.Options{Config: site, Version: "test", Clock: clock, Opener: serialport.New(), Log: zap.New(core),
		Registry: prometheus.NewRegistry()})
	require.NoError(t, err)
	ended := make(chan error, 1)
	go func() { ended <- attend(ctx, d, rereading{}) }()
	require.True(t, m.hears("READY=1", 5*time.Second))
	require.True(t, m.hears("WATCHDOG=1", 5*time.Second))

	clock.hang.Store(true)
	require.Eventually(t, func() bool { return d.Turning() != nil }, 10*time.Second, 10*time.Millisecond)
	require.ErrorContains(t, d.Turning(), "restart wetside")
	for m.hears("WATCHDOG=1", 300*time.Millisecond) { // what was said before
	}
	require.False(t, m.hears("WATCHDOG=1", 500*time.Millisecond), "the service manager restarts it after this silence")

	clock.hang.Store(false)
	close(clock.release)
	require.True(t, m.hears("WATCHDOG=1", 5*time.Second))
	cancel()
	require.True(t, m.hears("STOPPING=1", 5*time.Second))
	require.NoError(t, <-ended)
	require.Len(t, logged.FilterMessage("wetside was told to stop").All(), 1, "a log that ends without it tells of a cut of the power")
}

func TestTheUnitHasAHungDaemonRestarted(t *testing.T) {
	unit, err := os.ReadFile(filepath.Join("..", "..", "configs", "wetside.service"))
	require.NoError(t, err)
	require.Regexp(t, `(?m)^WatchdogSec=\d+`, string(unit))
	require.Regexp(t, `(?m)^Restart=(always|on-failure)$`, string(unit))
	require.Regexp(t, `(?m)^Type=notify(-reload)?$`, string(unit))
}
