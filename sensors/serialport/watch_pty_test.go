//go:build linux

package serialport_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/serialport"
)

// wordDecoder takes every line that is "dev=ok" as 20.1 degrees, and nothing else.
type wordDecoder struct{ half string }

func (d *wordDecoder) Reset() { d.half = "" }

func (d *wordDecoder) Poll(sensors.Instant) ([]byte, []sensors.Frame, time.Duration) {
	return nil, nil, 0
}

func (d *wordDecoder) Feed(_ sensors.Instant, data []byte) (frames []sensors.Frame) {
	d.half += string(data)
	for {
		text, rest, whole := strings.Cut(d.half, "\n")
		if !whole {
			return frames
		}
		d.half = rest
		f := sensors.Frame{Result: sensors.FrameGarbled, Text: text}
		if text == "dev=ok" {
			f.Result, f.Measurements = sensors.FrameGood, []sensors.Measurement{{Address: "dev", Value: 20.1, Unit: "C"}}
		}
		frames = append(frames, f)
	}
}

// watchCable runs a watch on a cable and gives its updates.
func watchCable(t *testing.T, c *cable) <-chan sensors.Update {
	t.Helper()
	traits, _ := sensors.BathTemperature.Traits()
	celsius, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	updates := make(chan sensors.Update)
	w, err := sensors.NewWatch(sensors.WatchOptions{
		ID: "bench", Settings: c.settings(), Opener: serialport.New(), Decoder: &wordDecoder{},
		Channels: map[string]sensors.Channel{"dev": {ID: "developer", Kind: sensors.BathTemperature, Unit: celsius, Traits: traits}},
		Clock:    sensors.NewSystemClock(1), Silence: 500 * time.Millisecond,
		Deliver: func(ctx context.Context, u sensors.Update) error {
			u.Readings = slices.Clone(u.Readings)
			select {
			case updates <- u:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		},
	})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- w.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		began := time.Now()
		require.NoError(t, <-done)
		require.Less(t, time.Since(began), 5*time.Second)
	})
	return updates
}

// until gives the first update in a state, and the readings up to it.
func until(t *testing.T, updates <-chan sensors.Update, state sensors.LineState) (s sensors.LineStatus, readings []sensors.Reading) {
	t.Helper()
	limit := time.After(10 * time.Second)
	for {
		select {
		case u := <-updates:
			readings = append(readings, u.Readings...)
			if u.Status.State == state {
				return u.Status, readings
			}
		case <-limit:
			require.FailNow(t, "the line did not become "+string(state))
		}
	}
}

func TestWatchLivesThroughAPulledPlug(t *testing.T) {
	c := newCable(t)
	updates := watchCable(t, c)
	until(t, updates, sensors.StateWaiting)
	c.say("ev=ok\r\ndev=")
	time.Sleep(2 * serialport.ReadTimeout)
	c.say("ok\n")
	live, readings := until(t, updates, sensors.StateLive)
	require.Len(t, readings, 1)
	require.Equal(t, sensors.Good, readings[0].Grade)
	require.EqualValues(t, 1, live.Frames.Count(sensors.FrameGarbled))
	until(t, updates, sensors.StateSilent)
	c.say("dev=ok\ndev")
	until(t, updates, sensors.StateLive)

	c.pull()
	gone, _ := until(t, updates, sensors.StateGone)
	require.Contains(t, gone.LastError.String(), c.link)
	time.Sleep(time.Second)
	c.plug()
	until(t, updates, sensors.StateWaiting)
	c.say("=ok\ndev=ok\n") // the tail of what the pulled line left is not joined to its head
	back, readings := until(t, updates, sensors.StateLive)
	require.Len(t, readings, 1)
	require.EqualValues(t, 2, back.Opens)
	require.EqualValues(t, 2, back.Frames.Count(sensors.FrameGarbled))
}
