package dialect_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

const thermometer = "28-0316a2b4c5ff: "

// slave is what Linux shows of a thermometer that sent some bytes.
func slave(sent, crc, verdict, kept, millis string) string {
	return sent + " : crc=" + crc + " " + verdict + " " + kept + " t=" + millis
}

// The temperatures and their first two bytes are those of the table in the data sheet of the
// DS18B20 (from memory); the check of each was worked out apart from the program, by division
// of polynomials, and 57 is what tutorials print behind the first. 85 °C is judged by the gate
// of the channel, since that is what a thermometer says that has not measured yet.
func TestAThermometerOnOneWireIsReadByItsFile(t *testing.T) {
	for sent, millis := range map[string]string{
		"72 01 4b 46 7f ff 0e 10 57": "23125",
		"d0 07 4b 46 7f ff 0c 10 f4": "125000",
		"50 05 4b 46 7f ff 0c 10 1c": "85000",
		"91 01 4b 46 7f ff 0c 10 70": "25062",
		"08 00 4b 46 7f ff 0c 10 e2": "500",
		"00 00 4b 46 7f ff 0c 10 c8": "0",
		"f8 ff 4b 46 7f ff 0c 10 c3": "-500",
		"90 fc 4b 46 7f ff 0c 10 4f": "-55000",
	} {
		d := dialect.NewOneWire()
		frames := d.Feed(at(time.Second), []byte(thermometer+slave(sent, sent[24:], "YES", sent, millis)+"\n"))
		require.Equal(t, []sensors.FrameResult{sensors.FrameGood}, results(frames), sent)
		m := frames[0].Measurements[0]
		require.Equal(t, "28-0316a2b4c5ff", m.Address)
		require.Equal(t, millis, strconv.FormatFloat(m.Value*1000, 'f', 0, 64), sent)
	}
}

func TestFaultsOnOneWireAreNoReadings(t *testing.T) {
	const good = "72 01 4b 46 7f ff 0e 10 57"
	for name, c := range map[string]struct {
		line string
		want sensors.FrameResult
	}{
		"a wrong check, and the value kept from before": {slave("72 01 4b 46 7f ff 0e 10 58", "57", "NO", good, "23125"), sensors.FrameChecksum},
		"a wrong check that is called right":            {slave("73 01 4b 46 7f ff 0e 10 57", "57", "YES", good, "23125"), sensors.FrameChecksum},
		"unplugged: all ones":                           {slave("ff ff ff ff ff ff ff ff ff", "c9", "NO", good, "23125"), sensors.FrameChecksum},
		"no answer":                                     {dialect.OneWireFailed, sensors.FrameNoAnswer},
		"half a file":                                   {"72 01 4b 46 7f ff 0e 10 57 : crc=57 YES", sensors.FrameGarbled},
		"no temperature":                                {slave(good, "57", "YES", good, ""), sensors.FrameGarbled},
		"letters":                                       {slave("zz 01 4b 46 7f ff 0e 10 57", "57", "YES", good, "23125"), sensors.FrameGarbled},
	} {
		t.Run(name, func(t *testing.T) {
			d := dialect.NewOneWire()
			d.Feed(at(time.Second), []byte("\n")) // from here on whole lines
			frames := d.Feed(at(time.Second), []byte(thermometer+c.line+"\n"))
			require.Equal(t, []sensors.FrameResult{c.want}, results(frames))
			require.Empty(t, values(frames))
		})
	}
}

// A bus that is shorted sends zeros, and the check of zeros is zero.
func TestAShortedBusIsAFaultAndNotZeroDegrees(t *testing.T) {
	const zeros = "00 00 00 00 00 00 00 00 00"
	frames := dialect.NewOneWire().Feed(at(time.Second), []byte(thermometer+slave(zeros, "00", "YES", zeros, "0")+"\n"))
	require.Equal(t, []string{"28-0316a2b4c5ff=?"}, values(frames))
}

// TestOneWrongBitOnOneWireIsFound turns any bit of what a thermometer sent.
func TestOneWrongBitOnOneWireIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sent := []byte("72 01 4b 46 7f ff 0e 10 57")
		at9, bit := rapid.IntRange(0, 8).Draw(t, "byte"), rapid.IntRange(0, 7).Draw(t, "bit")
		const digits = "0123456789abcdef"
		place := 3*at9 + 1 - bit/4
		sent[place] = digits[strings.IndexByte(digits, sent[place])^1<<(bit%4)]
		d := dialect.NewOneWire()
		frames := d.Feed(at(time.Second), []byte("\n"+thermometer+slave(string(sent), "57", "YES", string(sent), "23125")+"\n"))
		require.Equal(t, []sensors.FrameResult{sensors.FrameChecksum}, results(frames))
	})
}

func FuzzOneWire(f *testing.F) {
	f.Add(thermometer + slave("72 01 4b 46 7f ff 0e 10 57", "57", "YES", "72 01 4b 46 7f ff 0e 10 57", "23125") + "\n")
	f.Add(thermometer + dialect.OneWireFailed + "\n")
	f.Fuzz(func(t *testing.T, text string) {
		for _, frame := range dialect.NewOneWire().Feed(at(time.Second), []byte(text)) {
			require.Equal(t, frame.Result == sensors.FrameGood, len(frame.Measurements) == 1)
		}
	})
}
