//go:build linux

package serialport_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/serialport"
)

// stalledPort names the port of the copy of this test that is made to stand still.
const stalledPort = "WETSIDE_TEST_STALLED_PORT"

// tellReadings watches a port and prints each reading: when, in milliseconds, and how good.
func tellReadings(t *testing.T, path string) {
	traits, _ := sensors.BathTemperature.Traits()
	celsius, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	traits.Flat = 0
	w, err := sensors.NewWatch(sensors.WatchOptions{
		ID: "bench", Settings: sensors.LineSettings{Path: path, Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1},
		Opener: serialport.New(), Decoder: &wordDecoder{}, Clock: sensors.NewSystemClock(1), Silence: time.Minute,
		Channels: map[string]sensors.Channel{"dev": {ID: "developer", Kind: sensors.BathTemperature, Unit: celsius, Traits: traits}},
		Deliver: func(_ context.Context, u sensors.Update) error {
			if u.Status.State == sensors.StateWaiting {
				fmt.Println("ready 0 -")
			}
			for _, r := range u.Readings {
				fmt.Printf("%s %d %q\n", r.Grade, r.At.Wall.UnixMilli(), r.Reason)
			}
			return nil
		},
	})
	require.NoError(t, err)
	require.NoError(t, w.Run(t.Context())) // until it is killed
}

// told is a line that the copy printed.
type told struct {
	grade string
	at    int64
}

func TestWhatCameWhileTheProcessStoodStillIsNotTakenForNew(t *testing.T) {
	if path := os.Getenv(stalledPort); path != "" {
		tellReadings(t, path)
	}
	c := newCable(t)
	child := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$")
	child.Env = append(os.Environ(), stalledPort+"="+c.link)
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := make(chan told, 1000)
	go func() {
		defer close(lines)
		for in := bufio.NewScanner(out); in.Scan(); {
			var l told
			if n, _ := fmt.Sscan(in.Text(), &l.grade, &l.at); n == 2 {
				lines <- l
			}
		}
	}()
	require.Equal(t, "ready", (<-lines).grade)
	var sent []int64 // when each frame was written
	speak := func(d time.Duration) {
		for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
			sent = append(sent, time.Now().UnixMilli())
			c.say("dev=ok\n")
		}
	}
	speak(time.Second)
	require.NoError(t, child.Process.Signal(syscall.SIGSTOP))
	speak(6 * time.Second)
	require.NoError(t, child.Process.Signal(syscall.SIGCONT))
	speak(3 * time.Second)
	require.NoError(t, child.Process.Kill())
	_ = child.Wait() // killed
	suspect, n := 0, 0
	for l := range lines {
		if l.grade != "good" && l.grade != "suspect" {
			continue
		}
		if l.grade == "suspect" {
			suspect++
			require.LessOrEqual(t, l.at, sent[n]+50, "frame %d is dated later than it was written", n)
		} else {
			require.Less(t, l.at-sent[n], int64(3500), "frame %d was taken for new", n)
		}
		n++
	}
	require.GreaterOrEqual(t, suspect, 50, "what waited is suspect")
}
