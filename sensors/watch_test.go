package sensors_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

// watched is a watch that runs in a bubble of false time, with what it delivered.
type watched struct {
	t       *testing.T
	opener  *fakeOpener
	decoder *fakeDecoder
	end     func() error // ends the watch and gives what Run returned
	hold    func(sensors.Update) error

	mu       sync.Mutex
	updates  []sensors.Update
	readings []sensors.Reading
}

func startWatch(t *testing.T, prepare ...func(*watched)) *watched {
	t.Helper()
	w := &watched{t: t, opener: &fakeOpener{}, decoder: &fakeDecoder{}}
	for _, p := range prepare {
		p(w)
	}
	watch, err := sensors.NewWatch(w.options())
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- watch.Run(ctx) }()
	t.Cleanup(cancel)
	w.end = func() error { cancel(); return <-done }
	synctest.Wait()
	return w
}

func (w *watched) options() sensors.WatchOptions {
	dev := channel(w.t, "developer", sensors.BathTemperature, "C")
	dev.Flat = 30 * time.Minute
	return sensors.WatchOptions{
		ID: "bench", Settings: sensors.LineSettings{Path: "usb-probe"}, Dialect: "fake",
		Opener: w.opener, Decoder: w.decoder, Clock: sensors.NewSystemClock(1), Silence: 5 * time.Second,
		Channels: map[string]sensors.Channel{
			"dev":  dev,
			"wash": channel(w.t, "wash", sensors.WaterTemperature, "C"),
		},
		Deliver: w.take,
	}
}

func (w *watched) take(_ context.Context, u sensors.Update) error {
	w.mu.Lock()
	w.updates = append(w.updates, u)
	w.readings = append(w.readings, u.Readings...)
	w.mu.Unlock()
	if w.hold != nil {
		return w.hold(u)
	}
	return nil
}

// pass lets false time go by.
func (w *watched) pass(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

func (w *watched) status() sensors.LineStatus {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.updates[len(w.updates)-1].Status
}

func (w *watched) heard() []sensors.Reading {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.readings)
}

func (w *watched) count() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return len(w.updates)
}

// say speaks on a line and lets the watch take it in.
func (w *watched) say(l *fakeLine, text string) {
	l.say(text)
	synctest.Wait()
}

func plugged(w *watched) { w.opener.plug() }

func TestHalfALineAndAPauseAreNoReading(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		w.say(w.opener.line, "dev=2")
		w.pass(3 * time.Second)
		w.say(w.opener.line, "0.5C\n") // the tail of a line cut off is a line of its own, and a bad one
		require.Empty(t, w.heard())
		w.pass(time.Second)
		s := w.status()
		require.EqualValues(t, 1, s.Frames.Count(sensors.FrameCutOff))
		require.EqualValues(t, 1, s.Frames.Count(sensors.FrameGarbled))
		require.Equal(t, sensors.StateWaiting, s.State)
		require.False(t, s.EverGood)
		require.Equal(t, "0.5C", s.LastBadText)
		require.NoError(t, w.end())
	})
}

func TestOneChunkIsOneUpdateDatedOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		w.pass(300 * time.Millisecond)
		before := w.count()
		w.say(w.opener.line, "dev=20.5C wash=18\ndev=20.6C lost=1\nlost=2\n")
		require.Equal(t, before+1, w.count())
		require.Len(t, w.heard(), 3)
		for _, r := range w.heard() {
			require.Equal(t, 300*time.Millisecond, r.At.Mono)
			require.Equal(t, sensors.Good, r.Grade)
		}
		s := w.status()
		require.Equal(t, sensors.StateLive, s.State)
		require.EqualValues(t, 2, s.Frames.Count(sensors.FrameGood))
		require.EqualValues(t, 1, s.Frames.Count(sensors.FrameIgnored))
		require.EqualValues(t, 3, s.Readings)
		require.EqualValues(t, 2, s.Unknown)
		require.Equal(t, "lost", s.LastUnknown)
		require.Equal(t, "dev=20.6C lost=1", s.LastText)
		require.NoError(t, w.end())
		require.Equal(t, 1, w.opener.line.closings())
	})
}

func TestSilentProbeIsSilentAtOnceAndLiveAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		l := w.opener.line
		w.say(l, "dev=20.5C\n")
		w.pass(5 * time.Second)
		require.Equal(t, sensors.StateLive, w.status().State)
		w.pass(time.Millisecond)
		s := w.status()
		require.Equal(t, sensors.StateSilent, s.State)
		require.Equal(t, 5*time.Second, s.Since.Since(s.LastGood).Round(time.Millisecond))
		w.say(l, "!noise\n") // proves nothing
		require.Equal(t, sensors.StateSilent, w.status().State)
		w.say(l, "dev=20.5C\n")
		require.Equal(t, sensors.StateLive, w.status().State)
		require.NoError(t, w.end())
	})
}

func TestNeverHeardIsSilentToo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		w.pass(5*time.Second + time.Millisecond)
		require.Equal(t, sensors.StateSilent, w.status().State)
		require.NoError(t, w.end())
	})
}

func TestUnplugAndReturn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		first := w.opener.line
		w.say(first, "dev=20.5C\n")
		w.opener.pull()
		w.pass(0)
		gone := w.status()
		require.Equal(t, sensors.StateGone, gone.State)
		require.Contains(t, gone.LastError.String(), "device gone")
		require.Equal(t, 1, first.closings())
		w.pass(10 * time.Minute)
		still := w.status()
		require.Equal(t, gone.Since, still.Since, "since when counts from the first failure")
		require.Contains(t, still.LastError.String(), "no such device")
		l := w.opener.plug()
		w.pass(2 * time.Second)
		require.Equal(t, sensors.StateWaiting, w.status().State, "whoever puts a plug back stands there and looks at the page")
		w.pass(36 * time.Second)
		require.Equal(t, sensors.StateSilent, w.status().State, "open again, and nothing heard")
		w.say(l, "dev=20.7C\n")
		back := w.status()
		require.Equal(t, sensors.StateLive, back.State)
		require.EqualValues(t, 2, back.Opens)
		require.Contains(t, back.LastError.String(), "no such device")
		require.NoError(t, w.end())
	})
}

func TestWaitsGrowToHalfAMinuteAndStartAnewAfterAGoodFrame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, func(w *watched) { w.opener.busy = sensors.ErrBusy })
		w.pass(10 * time.Minute)
		tries := w.opener.tries
		want := 500 * time.Millisecond
		for i := 1; i < len(tries); i++ {
			wait := tries[i].Sub(tries[i-1])
			require.InDelta(t, want*9/10, wait, float64(want)/10, "wait %d", i)
			want = min(2*want, 30*time.Second)
		}
		require.Greater(t, len(tries), 20)
		w.opener.plug()
		w.pass(30 * time.Second)
		w.say(w.opener.line, "dev=20C\n")
		before := len(w.opener.tries)
		w.opener.pull()
		w.pass(600 * time.Millisecond)
		require.Len(t, w.opener.tries, before+1)
		require.NoError(t, w.end())
	})
}

func TestHeartBeatsEverySecondInEveryState(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t)
		w.pass(time.Minute)
		w.opener.plug()
		w.pass(time.Minute)
		require.Greater(t, w.count(), 115)
		require.Less(t, w.count(), 140)
		require.NoError(t, w.end())
	})
}

func TestDecoderIsPolledInItsTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged, func(w *watched) { w.decoder.ask = "read\n" })
		l := w.opener.line
		require.Len(t, l.requests(), 1)
		w.pass(100 * time.Millisecond)
		w.say(l, "dev=20C\n")
		w.pass(time.Second)
		require.Len(t, l.requests(), 2)
		w.pass(500 * time.Millisecond)
		w.pass(time.Second)
		require.EqualValues(t, 1, w.status().Frames.Count(sensors.FrameNoAnswer))
		w.opener.jam(sensors.ErrGone)
		w.pass(time.Second)
		require.EqualValues(t, 1, l.closings())
		require.Equal(t, sensors.StateGone, w.status().State)
		require.NoError(t, w.end())
	})
}

func TestSlowReceiverHoldsTheLineAndGetsNothingStale(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		slow := true
		w := startWatch(t, plugged, func(w *watched) {
			w.hold = func(u sensors.Update) error {
				if slow && len(u.Readings) > 0 {
					slow = false
					time.Sleep(10 * time.Second)
				}
				return nil
			}
		})
		l := w.opener.line
		w.say(l, "dev=20C\n")
		for range 10 {
			w.say(l, "dev=21C\n")
		}
		w.pass(11 * time.Second)
		require.Len(t, w.heard(), 1, "what waited ten seconds can't be dated")
		require.EqualValues(t, 80, w.status().Dropped)
		w.say(l, "dev=22C\n")
		require.Len(t, w.heard(), 2)
		require.NoError(t, w.end())
	})
}

func TestFloodOfGarbageIsCountedNotDelivered(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		for range 1000 {
			w.opener.line.say("!x\n!y\n!half")
		}
		w.pass(time.Second)
		require.Empty(t, w.heard())
		require.Less(t, w.count(), 10)
		require.EqualValues(t, 2000, w.status().Frames.Count(sensors.FrameGarbled))
		require.EqualValues(t, 11000, w.status().Bytes)
		require.NoError(t, w.end())
	})
}

func TestRefusedUpdateEndsTheWatch(t *testing.T) {
	full := errors.New("loop closed")
	synctest.Test(t, func(t *testing.T) {
		var refuse atomic.Bool
		w := startWatch(t, plugged, func(w *watched) {
			w.hold = func(sensors.Update) error {
				if refuse.Load() {
					return full
				}
				return nil
			}
		})
		refuse.Store(true)
		w.pass(2 * time.Second)
		require.Equal(t, 1, w.opener.line.closings())
		require.ErrorIs(t, w.end(), full)
	})
}
