package sensors_test

import (
	"context"
	"testing"
	"time"

	"wetside/sensors"
)

// oneFrame is a decoder that costs nothing, so that the watch itself is measured.
type oneFrame struct{ frames []sensors.Frame }

func (d *oneFrame) Feed(sensors.Instant, []byte) []sensors.Frame { return d.frames }
func (d *oneFrame) Reset()                                       {}
func (d *oneFrame) Poll(sensors.Instant) ([]byte, []sensors.Frame, time.Duration) {
	return nil, nil, 0
}

// BenchmarkWatchFrame takes a frame of two values from the line to the receiver.
// Two cores at rest: 2.4 to 2.9 us, no allocation.
func BenchmarkWatchFrame(b *testing.B) {
	delivered := make(chan struct{})
	opener := &fakeOpener{}
	line := opener.plug()
	watch, err := sensors.NewWatch(sensors.WatchOptions{
		ID: "bench", Settings: sensors.LineSettings{Path: "usb-probe"}, Opener: opener, Clock: sensors.NewSystemClock(1),
		Decoder: &oneFrame{frames: []sensors.Frame{{Result: sensors.FrameGood, Text: "dev=20.1C wash=18.0C",
			Measurements: []sensors.Measurement{{Address: "dev", Value: 20.1, Unit: "C"}, {Address: "wash", Value: 18, Unit: "C"}}}}},
		Silence: time.Minute,
		Channels: map[string]sensors.Channel{"dev": channel(b, "developer", sensors.BathTemperature, "C"),
			"wash": channel(b, "wash", sensors.WaterTemperature, "C")},
		Deliver: func(ctx context.Context, u sensors.Update) error {
			if len(u.Readings) > 0 {
				delivered <- struct{}{}
			}
			return nil
		},
	})
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(b.Context())
	done := make(chan error, 1)
	go func() { done <- watch.Run(ctx) }()
	chunk := []byte("any bytes")
	b.ReportAllocs()
	for b.Loop() {
		line.chunks <- chunk
		<-delivered
	}
	cancel()
	if err := <-done; err != nil {
		b.Fatal(err)
	}
}
