package dialect_test

import (
	"fmt"
	"time"

	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// at is a moment of monotonic time.
func at(d time.Duration) sensors.Instant { return sensors.Instant{Mono: d} }

// listen feeds bytes that all arrive at once to a decoder that has seen the
// end of a line, so that the first line counts as whole.
func listen(d sensors.Decoder, text string) []sensors.Frame {
	d.Feed(at(0), []byte("\n"))
	return d.Feed(at(0), []byte(text))
}

// inPieces feeds the bytes split as the draw has it and copies the frames.
func inPieces(t *rapid.T, d sensors.Decoder, data []byte) []sensors.Frame {
	var frames []sensors.Frame
	for len(data) > 0 {
		n := rapid.IntRange(1, len(data)).Draw(t, "piece")
		frames = append(frames, d.Feed(at(0), data[:n])...)
		data = data[n:]
	}
	return frames
}

// results lists what became of frames.
func results(frames []sensors.Frame) []sensors.FrameResult {
	list := []sensors.FrameResult{}
	for _, f := range frames {
		list = append(list, f.Result)
	}
	return list
}

// values writes the measurements of frames in short: "dev=20.31C fix=?".
func values(frames []sensors.Frame) []string {
	list := []string{}
	for _, f := range frames {
		for _, m := range f.Measurements {
			text := fmt.Sprint(m.Address, "=", m.Value, m.Unit)
			if m.Fault {
				text = m.Address + "=?"
			}
			list = append(list, text)
		}
	}
	return list
}

// drawTextValues draws the channels of a text line that fits.
func drawTextValues(t *rapid.T) []dialect.TextValue {
	names := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-zA-Z0-9_.-]{1,8}`), 1, 6, rapid.ID[string]).Draw(t, "names")
	list := make([]dialect.TextValue, len(names))
	for i, name := range names {
		list[i] = dialect.TextValue{
			Name:  name,
			Value: rapid.StringMatching(`|-?[0-9]{1,4}(\.[0-9]{1,3})?`).Draw(t, "value"),
			Unit:  rapid.SampledFrom([]string{"", "C", "%", "m3/h", "ppm", "m/s", "Pa"}).Draw(t, "unit"),
		}
	}
	return list
}
