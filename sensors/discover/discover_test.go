package discover_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/discover"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// wire is a line on which a probe speaks at one speed; at every other one it is noise.
type wire struct {
	speed  int
	says   string
	absent error

	mu     sync.Mutex
	opened []int
}

func (w *wire) Open(_ context.Context, s sensors.LineSettings) (sensors.Line, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.opened = append(w.opened, s.Baud)
	if w.absent != nil {
		return nil, w.absent
	}
	said := w.says
	if said != "" && s.Baud != w.speed {
		said = strings.Repeat("\x80\xf8\x1c\xe0", 20)
	}
	chunks := make(chan []byte, 1000)
	for i := 0; i < len(said); i += 7 {
		chunks <- []byte(said[i:min(len(said), i+7)])
	}
	return &cable{chunks: chunks}, nil
}

type cable struct{ chunks chan []byte }

func (c *cable) Chunks() <-chan []byte { return c.chunks }
func (*cable) Err() error              { return nil }
func (*cable) Write([]byte) error      { return errors.New("nothing may be sent to an unknown probe") }
func (*cable) Close() error            { return nil }

func listen(t *testing.T, w *wire) (discover.Heard, error) {
	return discover.Listen(t.Context(), discover.Options{Opener: w, Clock: sensors.NewSystemClock(1), Path: "/dev/serial/by-id/a",
		Each: 40 * time.Millisecond})
}

func textLines() string {
	var out strings.Builder
	for range 3 {
		out.WriteString(dialect.EncodeText([]dialect.TextValue{{Name: "DEV", Value: "20.3", Unit: "C"}, {Name: "AIR", Value: "21", Unit: "C"},
			{Name: "FAN", Value: "1"}}))
	}
	return out.String()
}

func TestACheckedLineIsUnderstoodAtItsSpeed(t *testing.T) {
	w := &wire{speed: 19200, says: textLines()}
	heard, err := listen(t, w)
	require.NoError(t, err)
	require.Equal(t, []int{9600, 115200, 19200}, w.opened)
	require.Equal(t, 19200, heard.Baud)
	require.Equal(t, "text", heard.Dialect)
	require.Len(t, heard.Channels, 3)
	require.Equal(t, "AIR", heard.Channels[0].Address)
	require.Equal(t, sensors.AirTemperature, heard.Channels[0].Kinds[0])
	require.Equal(t, sensors.BathTemperature, heard.Channels[1].Kinds[0])
	require.InDelta(t, 20.3, heard.Channels[1].Last, 1e-9)
	require.Equal(t, sensors.FanCommand, heard.Channels[2].Kinds[0])
}

func TestASentenceOfTheStandardIsUnderstood(t *testing.T) {
	sentence := "$WIXDR,C,21.4,C,AIR,H,45.2,P,HUM*"
	sum := byte(0)
	for _, c := range []byte(sentence[1 : len(sentence)-1]) {
		sum ^= c
	}
	const hex = "0123456789ABCDEF"
	sentence += string([]byte{hex[sum>>4], hex[sum&15]}) + "\r\n"
	heard, err := listen(t, &wire{speed: 9600, says: strings.Repeat(sentence, 3)})
	require.NoError(t, err)
	require.Equal(t, "xdr", heard.Dialect)
	require.Len(t, heard.Channels, 2)
	require.Equal(t, []sensors.Kind{sensors.RelativeHumidity}, heard.Channels[1].Kinds)
}

func TestWhatCannotBeUnderstoodIsSaidWithWhatToDo(t *testing.T) {
	_, err := listen(t, &wire{})
	require.ErrorIs(t, err, discover.ErrSilent)
	require.ErrorContains(t, err, "sends nothing until it is asked")

	w := &wire{speed: -1, says: "x"}
	_, err = listen(t, w)
	require.ErrorIs(t, err, discover.ErrUnknown)
	require.Equal(t, discover.Speeds(), w.opened)

	_, err = listen(t, &wire{absent: sensors.ErrForbidden})
	require.ErrorIs(t, err, sensors.ErrForbidden)

	ctx, stop := context.WithCancel(t.Context())
	stop()
	_, err = discover.Listen(ctx, discover.Options{Opener: &wire{}, Clock: sensors.NewSystemClock(1), Path: "a"})
	require.ErrorIs(t, err, context.Canceled)
}

func TestOneFrameAloneSettlesNothing(t *testing.T) {
	line := dialect.EncodeText([]dialect.TextValue{{Name: "DEV", Value: "20", Unit: "C"}})
	_, err := listen(t, &wire{speed: 9600, says: line})
	require.ErrorIs(t, err, discover.ErrUnknown)
}

func FuzzAnyNoiseIsListenedToWithoutHarm(f *testing.F) {
	f.Add("dev=20.31C fan=1;C362\r\n", 9600)
	f.Fuzz(func(t *testing.T, noise string, speed int) {
		heard, err := discover.Listen(t.Context(), discover.Options{Opener: &wire{speed: speed, says: noise[:min(len(noise), 5000)]},
			Clock: sensors.NewSystemClock(1), Path: "a", Each: time.Millisecond})
		if err == nil {
			require.NotEmpty(t, heard.Channels)
		}
	})
}
