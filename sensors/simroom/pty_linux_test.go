package simroom_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/dialect"
	"wetside/sensors/serialport"
	"wetside/sensors/simroom"
)

// ptyRoom is a room on real pseudo-terminals, opened by the real serial room.
type ptyRoom struct {
	t     *testing.T
	clock *clocktest.Manual
	room  *simroom.Room
}

func newPtyRoom(t *testing.T) *ptyRoom {
	clock := clocktest.New(at18())
	room, err := simroom.Start(t.Context(), simroom.Options{Clock: clock, Dir: t.TempDir(), Seed: 1})
	require.NoError(t, err)
	t.Cleanup(room.Stop)
	require.Equal(t, "pseudo-terminals", room.Kind())
	require.Nil(t, room.Opener())
	return &ptyRoom{t, clock, room}
}

func (r *ptyRoom) open(name string) sensors.Line {
	r.t.Helper()
	line, err := serialport.New().Open(r.t.Context(), sensors.LineSettings{
		Path: r.room.Path(name), Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1})
	require.NoError(r.t, err)
	r.t.Cleanup(func() { _ = line.Close() })
	return line
}

func (r *ptyRoom) pass(d time.Duration) {
	r.t.Helper()
	for range int(d / time.Second) {
		r.clock.Advance(time.Second)
		require.NoError(r.t, r.room.Await(r.t.Context(), r.clock.Now().Mono))
	}
}

func (r *ptyRoom) do(trouble string) {
	r.t.Helper()
	parsed, err := simroom.ParseTrouble(trouble)
	require.NoError(r.t, err)
	require.NoError(r.t, r.room.Do(parsed))
}

// until reads from a line until what came ends as it should, and gives all of it.
func until(t *testing.T, line sensors.Line, end string) string {
	t.Helper()
	var got []byte
	limit := time.After(10 * time.Second)
	for !strings.HasSuffix(string(got), end) {
		select {
		case chunk, open := <-line.Chunks():
			require.True(t, open, "the line went: %v", line.Err())
			got = append(got, chunk...)
		case <-limit:
			require.Fail(t, "no end of a frame", "%q", got)
		}
	}
	return string(got)
}

func TestPseudoTerminalsCarryFramesAsTheyAre(t *testing.T) {
	r := newPtyRoom(t)
	line := r.open("trays")
	require.NoError(t, line.Write([]byte("\x03\x04\x11\r\nhello\n")))
	decoder := dialect.NewText()
	for range 20 {
		r.pass(time.Second)
		got := until(t, line, "\r\n")
		require.NotContains(t, got, "hello", "no echo")
		frames := decoder.Feed(r.clock.Now(), []byte(got))
		require.Len(t, frames, 1)
		require.Equal(t, sensors.FrameGood, frames[0].Result)
	}
}

func TestHalfAnHourOverPseudoTerminals(t *testing.T) {
	r := newPtyRoom(t)
	trays, air := r.open("trays"), r.open("air")
	for range 1800 {
		r.pass(time.Second)
		require.Regexp(t, `^DEV=.*;[0-9A-F]{4}\r\n$`, until(t, trays, "\r\n"))
		require.Regexp(t, `^\$WIXDR,.*\*[0-9A-F]{2}\r\n$`, until(t, air, "\r\n"))
	}
}

func TestWhatIsSaidToNobodyDoesNotWaitForALateListener(t *testing.T) {
	r := newPtyRoom(t)
	r.pass(time.Minute)
	first := r.open("air")
	require.NoError(t, first.Close())
	r.pass(time.Minute)
	line := r.open("air")
	r.pass(time.Second)
	require.Equal(t, 1, strings.Count(until(t, line, "\r\n"), "\n"))
}

func TestAPulledPseudoTerminalReturnsUnderItsName(t *testing.T) {
	r := newPtyRoom(t)
	for _, name := range []string{"trays", "duct"} {
		line, path := r.open(name), r.room.Path(name)
		require.Equal(t, "sim-"+name, filepath.Base(path))
		r.do("pull " + name + " 30s")
		for open := true; open; {
			_, open = <-line.Chunks()
		}
		require.ErrorIs(t, line.Err(), sensors.ErrGone)
		_, err := os.Lstat(path)
		require.ErrorIs(t, err, fs.ErrNotExist)
		_, err = serialport.New().Open(t.Context(), sensors.LineSettings{Path: path, Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1})
		require.ErrorIs(t, err, sensors.ErrAbsent)
		r.pass(30 * time.Second)
		require.NoError(t, r.open(name).Close())
	}
}

func TestTheDuctAnswersOverAPseudoTerminal(t *testing.T) {
	r := newPtyRoom(t)
	line := r.open("duct")
	// Unit 1, function 04, from register 0, one register, with its CRC.
	request := []byte{0x01, 0x04, 0x00, 0x00, 0x00, 0x01, 0x31, 0xCA}
	require.NoError(t, line.Write(request))
	var got []byte
	for len(got) < 7 {
		got = append(got, <-line.Chunks()...)
	}
	require.Equal(t, []byte{0x01, 0x04, 0x02}, got[:3])
	require.Zero(t, dialect.CRC16(got), "over a frame with its CRC the remainder is none")
	require.InDelta(t, 472, int(got[3])<<8|int(got[4]), 15)
}

func TestAFloodThatNobodyReadsDoesNotHoldUpTheRoom(t *testing.T) {
	r := newPtyRoom(t)
	held, err := os.OpenFile(r.room.Path("trays"), os.O_RDWR, 0)
	require.NoError(t, err)
	defer func() { require.NoError(t, held.Close()) }()
	r.do("flood trays 1m")
	r.do("flood duct 1m")
	r.pass(2 * time.Minute)
	line := r.open("air")
	r.pass(time.Second)
	require.NotEmpty(t, until(t, line, "\r\n"))
}

func TestStopTakesTheNamesAway(t *testing.T) {
	r := newPtyRoom(t)
	names, err := filepath.Glob(filepath.Join(filepath.Dir(r.room.Path("air")), "*"))
	require.NoError(t, err)
	require.Len(t, names, 3)
	r.room.Stop()
	names, err = filepath.Glob(filepath.Join(filepath.Dir(r.room.Path("air")), "*"))
	require.NoError(t, err)
	require.Empty(t, names)
}

func TestAFolderThatCannotBeMadeIsSaid(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := simroom.Start(t.Context(), simroom.Options{Clock: clocktest.New(at18()), Dir: file})
	require.ErrorContains(t, err, `name for the line "trays"`)
}
