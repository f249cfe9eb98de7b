package simroom_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

func TestAPipeIsALineLikeAnyOther(t *testing.T) {
	e := newEvening(t, "")
	settings := sensors.LineSettings{Path: e.room.Path("trays")}
	open := func() (sensors.Line, error) { return e.room.Opener().Open(t.Context(), settings) }

	_, err := open()
	require.ErrorIs(t, err, sensors.ErrBusy, "one listener at a time")
	line := e.ears["trays"].line
	require.NoError(t, line.Err())
	require.NoError(t, line.Write([]byte("a line that only speaks takes what it is sent\n")))

	require.NoError(t, line.Close())
	require.NoError(t, line.Close())
	require.NoError(t, line.Err(), "closed by us is no error")
	_, isOpen := <-line.Chunks()
	require.False(t, isOpen)
	require.ErrorIs(t, line.Write([]byte("?")), sensors.ErrGone)

	line, err = open()
	require.NoError(t, err)
	e.room.Stop()
	_, isOpen = <-line.Chunks()
	require.False(t, isOpen)
	require.ErrorIs(t, line.Err(), sensors.ErrGone)
	require.NoError(t, line.Close())
	_, err = open()
	require.ErrorIs(t, err, sensors.ErrAbsent)
}

func TestOpeningAPipeFailsAsOpeningAPortDoes(t *testing.T) {
	e := newEvening(t, "")
	_, err := e.room.Opener().Open(t.Context(), sensors.LineSettings{Path: "elsewhere"})
	require.ErrorIs(t, err, sensors.ErrAbsent)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = e.room.Opener().Open(ctx, sensors.LineSettings{Path: e.room.Path("air")})
	require.ErrorIs(t, err, context.Canceled)
}

func TestWhatASlowListenerLeavesIsBounded(t *testing.T) {
	e := newEvening(t, "")
	e.do("flood trays 10m")
	for range 60 {
		e.clock.Advance(time.Second)
		e.settle()
	}
	chunks := 0
	for ; len(e.ears["trays"].line.Chunks()) > 0; chunks++ {
		<-e.ears["trays"].line.Chunks()
	}
	require.Equal(t, 16, chunks)
	require.NoError(t, e.ears["trays"].line.Err())
}

func TestChunksBelongToTheReceiver(t *testing.T) {
	e := newEvening(t, "")
	line := e.ears["air"].line
	var kept []string
	var chunks [][]byte
	for range 5 {
		e.clock.Advance(time.Second)
		e.settle()
		chunk := <-line.Chunks()
		kept, chunks = append(kept, string(chunk)), append(chunks, chunk)
	}
	for i := range chunks {
		require.Equal(t, kept[i], string(chunks[i]))
	}
	request := []byte{0x01, 0x04, 0x00, 0x00, 0x00, 0x01, 0x31, 0xCA}
	duct := e.ears["duct"].line
	require.NoError(t, duct.Write(request))
	clear(request)
	e.settle()
	require.Len(t, <-duct.Chunks(), 7, "the sender may use its slice again at once")
}
