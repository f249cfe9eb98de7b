package onewire_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/onewire"
	"wetside/sensors/quantity"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const name = "28-0316a2b4c5ff"

// bus is a folder like the one in which Linux shows the devices of a 1-Wire bus.
type bus struct {
	*testing.T
	folder  string
	updates <-chan sensors.Update
}

func newBus(t *testing.T) bus {
	return bus{T: t, folder: filepath.Join(t.TempDir(), "devices")}
}

// shows has a thermometer say something; the kernel breaks what it says into two lines.
func (b bus) shows(sent, verdict, millis string) {
	b.Helper()
	text := sent + " : crc=" + sent[24:] + " " + verdict + "\n72 01 4b 46 7f ff 0e 10 57 t=" + millis + "\n"
	fresh := filepath.Join(b.folder, "fresh")
	require.NoError(b, os.MkdirAll(filepath.Join(b.folder, name), 0o700))
	require.NoError(b, os.WriteFile(fresh, []byte(text), 0o600))
	require.NoError(b, os.Rename(fresh, filepath.Join(b.folder, name, "w1_slave")))
}

func (b *bus) watch() {
	traits, _ := sensors.BathTemperature.Traits()
	celsius, err := quantity.ParseUnit("C")
	require.NoError(b, err)
	updates, ended := make(chan sensors.Update), make(chan error, 1)
	ctx, cancel := context.WithCancel(b.Context())
	w, err := sensors.NewWatch(sensors.WatchOptions{ID: "wire", Settings: sensors.LineSettings{Path: b.folder},
		Opener: onewire.Opener{Every: 10 * time.Millisecond}, Decoder: dialect.NewOneWire(),
		Channels: map[string]sensors.Channel{name: {ID: "developer", Kind: sensors.BathTemperature, Unit: celsius, Traits: traits}},
		Clock:    sensors.NewSystemClock(1), Silence: 300 * time.Millisecond,
		Deliver: func(ctx context.Context, u sensors.Update) error {
			u.Readings = slices.Clone(u.Readings)
			select {
			case updates <- u:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		}})
	require.NoError(b, err)
	go func() { ended <- w.Run(ctx) }()
	b.Cleanup(func() {
		cancel()
		require.NoError(b, <-ended)
	})
	b.updates = updates
}

// becomes waits for an update that is so.
func (b *bus) becomes(why string, so func(sensors.Update) bool) sensors.Update {
	b.Helper()
	limit := time.After(10 * time.Second)
	for {
		select {
		case u := <-b.updates:
			if so(u) {
				return u
			}
		case <-limit:
			require.Fail(b, "it did not become so in time", why)
		}
	}
}

func reads(g sensors.Grade, r sensors.Reason) func(sensors.Update) bool {
	return func(u sensors.Update) bool {
		return len(u.Readings) == 1 && u.Readings[0].Grade == g && u.Readings[0].Reason == r
	}
}

func is(s sensors.LineState) func(sensors.Update) bool {
	return func(u sensors.Update) bool { return u.Status.State == s }
}

// TestTheLifeOfAThermometerOnOneWire lets it measure, start anew, send rubbish, be unplugged
// and plugged in again; then the whole bus goes.
func TestTheLifeOfAThermometerOnOneWire(t *testing.T) {
	b := newBus(t)
	b.shows("72 01 4b 46 7f ff 0e 10 57", "YES", "23125")
	b.watch()
	u := b.becomes("the thermometer is read", reads(sensors.Good, ""))
	require.InDelta(t, 23.125, u.Readings[0].Value, 0)
	require.Equal(t, sensors.StateLive, u.Status.State)

	b.shows("50 05 4b 46 7f ff 0c 10 1c", "YES", "85000")
	b.becomes("85 °C is what it says before it has measured", reads(sensors.Suspect, sensors.PowerOn))

	b.shows("51 05 4b 46 7f ff 0c 10 1c", "NO", "23125")
	b.becomes("a wrong check is counted", func(u sensors.Update) bool { return u.Status.Frames.Count(sensors.FrameChecksum) > 0 })
	u = b.becomes("the line is silent", is(sensors.StateSilent))
	require.Empty(t, u.Readings, "a value that was kept from before is no reading")

	b.shows("72 01 4b 46 7f ff 0e 10 57", "YES", "23125")
	b.becomes("it is well again", reads(sensors.Good, ""))
	require.NoError(t, os.RemoveAll(filepath.Join(b.folder, name)))
	b.becomes("it is unplugged", is(sensors.StateSilent))
	b.shows("72 01 4b 46 7f ff 0e 10 57", "YES", "23125")
	b.becomes("it is plugged in again", reads(sensors.Good, ""))

	require.NoError(t, os.RemoveAll(b.folder))
	u = b.becomes("the bus is gone", is(sensors.StateGone))
	require.Contains(t, u.Status.LastError.String(), "device gone")
	b.shows("72 01 4b 46 7f ff 0e 10 57", "YES", "23125")
	b.becomes("the bus is back", reads(sensors.Good, ""))
}

func TestAnUnknownThermometerIsNamedSoThatItCanBeConfigured(t *testing.T) {
	b := newBus(t)
	require.NoError(t, os.MkdirAll(filepath.Join(b.folder, "28-00000badc0de"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(b.folder, "28-00000badc0de", "w1_slave"),
		[]byte("72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n"), 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(b.folder, "w1_bus_master1"), 0o700))
	b.watch()
	u := b.becomes("it is heard", func(u sensors.Update) bool { return u.Status.Unknown > 0 })
	require.Equal(t, "28-00000badc0de", u.Status.LastUnknown)
}

func TestAThermometerThatCannotBeReadIsSaidSo(t *testing.T) {
	b := newBus(t)
	require.NoError(t, os.MkdirAll(filepath.Join(b.folder, name), 0o700))
	b.watch()
	u := b.becomes("it is counted", func(u sensors.Update) bool { return u.Status.Frames.Count(sensors.FrameNoAnswer) > 0 })
	require.Equal(t, name+": "+dialect.OneWireFailed, u.Status.LastBadText)
}

func TestAComputerWithoutOneWireSaysWhatToDo(t *testing.T) {
	_, err := onewire.Opener{}.Open(t.Context(), sensors.LineSettings{Path: filepath.Join(t.TempDir(), "none")})
	require.ErrorIs(t, err, sensors.ErrAbsent)
	require.True(t, strings.Contains(err.Error(), "switch 1-Wire on"), err)
}
