package dialect_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// The two reports of an older meter and what they mean are printed in the tests of
// maizy/ambient7 (MessageDecoderSpec.scala): 22.9125 °C and 665 ppm, by the key of zeros.
func TestPublishedReportsOfACO2Meter(t *testing.T) {
	for name, c := range map[string]struct {
		report []byte
		want   string
	}{
		"temperature, mixed":    {[]byte{0xbd, 0xa4, 0x32, 0xb6, 0xce, 0x9a, 0x9c, 0x58}, "temperature=22.9125C"},
		"carbon dioxide, mixed": {[]byte{0x7e, 0xa4, 0xa2, 0xb6, 0x4f, 0x9a, 0x9c, 0x08}, "co2=665ppm"},
		"temperature":           {[]byte{0x42, 0x12, 0x81, 0xd5, 0x0d, 0, 0, 0}, "temperature=22.9125C"},
		"carbon dioxide":        {[]byte{0x50, 0x02, 0x99, 0xeb, 0x0d, 0, 0, 0}, "co2=665ppm"},
	} {
		frames := dialect.NewCO2Meter().Feed(at(time.Second), c.report)
		require.Equal(t, []sensors.FrameResult{sensors.FrameGood}, results(frames), name)
		require.Equal(t, []string{c.want}, values(frames), name)
	}
}

func TestReportsThatAreNoReadings(t *testing.T) {
	for name, c := range map[string]struct {
		report []byte
		want   sensors.FrameResult
	}{
		"another value":   {[]byte{0x6d, 0x0a, 0x0b, 0x82, 0x0d, 0, 0, 0}, sensors.FrameIgnored},
		"a wrong sum":     {[]byte{0x50, 0x02, 0x99, 0xec, 0x0d, 0, 0, 0}, sensors.FrameChecksum},
		"no end":          {[]byte{0x50, 0x02, 0x99, 0xeb, 0, 0, 0, 0}, sensors.FrameChecksum},
		"half a report":   {[]byte{0x50, 0x02, 0x99, 0xeb}, sensors.FrameGarbled},
		"two reports":     {make([]byte, 16), sensors.FrameGarbled},
		"nothing but 255": {[]byte{255, 255, 255, 255, 255, 255, 255, 255}, sensors.FrameChecksum},
	} {
		frames := dialect.NewCO2Meter().Feed(at(time.Second), c.report)
		require.Equal(t, []sensors.FrameResult{c.want}, results(frames), name)
		require.Empty(t, values(frames), name)
	}
}

// A mixed report may look like a plain one by chance: whoever has sent mixed ones is not believed.
func TestAReportInTheOtherFormIsNoReading(t *testing.T) {
	m := dialect.NewCO2Meter()
	for range 3 {
		require.Equal(t, []string{"co2=665ppm"}, values(m.Feed(at(time.Second), []byte{0x7e, 0xa4, 0xa2, 0xb6, 0x4f, 0x9a, 0x9c, 0x08})))
	}
	plain := []byte{0x50, 0x10, 0x00, 0x60, 0x0d, 0x11, 0x22, 0x33}
	require.Equal(t, []sensors.FrameResult{sensors.FrameChecksum}, results(m.Feed(at(time.Second), plain)))
	m.Reset()
	require.Equal(t, []string{"co2=4096ppm"}, values(m.Feed(at(time.Second), plain)), "another meter may have been plugged in")
}

// TestOneWrongBitOfAReportIsFound turns a bit of what the sum is of, or of the sum or the end.
func TestOneWrongBitOfAReportIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		good := []byte{0x50, 0x02, 0x99, 0xeb, 0x0d, 0, 0, 0}
		m := dialect.NewCO2Meter()
		m.Feed(at(time.Second), good)
		bad := slices.Clone(good)
		bad[rapid.IntRange(0, 4).Draw(t, "byte")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		require.Equal(t, []sensors.FrameResult{sensors.FrameChecksum}, results(m.Feed(at(time.Second), bad)))
	})
}

func FuzzCO2Meter(f *testing.F) {
	f.Add([]byte{0x7e, 0xa4, 0xa2, 0xb6, 0x4f, 0x9a, 0x9c, 0x08})
	f.Fuzz(func(t *testing.T, data []byte) {
		frames := dialect.NewCO2Meter().Feed(at(time.Second), data)
		require.Len(t, frames, 1)
		require.Equal(t, frames[0].Result == sensors.FrameGood, len(frames[0].Measurements) == 1)
	})
}
