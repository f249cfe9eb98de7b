//go:build linux

package serialport_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/serialport"
)

func TestBytesArriveWhateverTheSplitAndThePause(t *testing.T) {
	c := newCable(t)
	l := c.open()
	const pause = 2*serialport.ReadTimeout + serialport.ReadTimeout/2
	for _, part := range []string{"T1=", "20.", "31\r\nha", "lf"} {
		c.say(part)
		require.Equal(t, part, hear(t, l, len(part)))
	}
	time.Sleep(pause)
	require.NoError(t, l.Err(), "a timeout is not an end")
	c.say("line\r\n")
	require.Equal(t, "line\r\n", hear(t, l, 6))
	require.NoError(t, l.Close())
	require.NoError(t, l.Err())
	_, open := <-l.Chunks()
	require.False(t, open)
}

func TestBytesFromBeforeTheOpeningAreNotHeard(t *testing.T) {
	c := newCable(t)
	first := c.open() // makes the terminal raw, so that it queues bytes at all
	require.NoError(t, first.Close())
	c.say("stale\r\n")
	time.Sleep(50 * time.Millisecond)
	l := c.open()
	c.say("fresh\r\n")
	require.Equal(t, "fresh\r\n", hear(t, l, 7))
	require.NoError(t, l.Close())
}

func TestWriteReachesThePeer(t *testing.T) {
	c := newCable(t)
	l := c.open()
	request := []byte{1, 4, 0, 0, 0, 2, 0x71, 0xcb}
	require.NoError(t, l.Write(request))
	got := make([]byte, 64)
	n, err := c.peer.Read(got)
	require.NoError(t, err)
	require.Equal(t, request, got[:n])
	require.NoError(t, l.Close())
	require.ErrorContains(t, l.Write(request), "closed")
}

func TestPulledPlugEndsTheLine(t *testing.T) {
	c := newCable(t)
	l := c.open()
	began := time.Now()
	c.pull()
	waitGone(t, l)
	require.ErrorIs(t, l.Err(), sensors.ErrGone)
	require.ErrorContains(t, l.Err(), c.link)
	require.Less(t, time.Since(began), 5*time.Second)
	require.ErrorIs(t, l.Write([]byte("x")), sensors.ErrGone)
	require.NoError(t, l.Close())
	require.ErrorIs(t, l.Err(), sensors.ErrGone, "the cause stands after Close")
}

func TestDeviceReturnsUnderItsName(t *testing.T) {
	c := newCable(t)
	o := serialport.New()
	l := c.openWith(o)
	c.pull()
	waitGone(t, l)
	require.NoError(t, l.Close())
	_, err := o.Open(t.Context(), c.settings())
	require.ErrorIs(t, err, sensors.ErrAbsent)
	c.plug()
	again := c.openWith(o)
	c.say("back\n")
	require.Equal(t, "back\n", hear(t, again, 5))
	require.NoError(t, again.Close())
}

// Not every driver ends a blocked read when its device is removed, so the name
// is watched as well: here the old device stays open and well.
func TestNameThatLeadsElsewhereEndsTheLine(t *testing.T) {
	for name, change := range map[string]func(c *cable){
		"no name":      func(c *cable) { require.NoError(c.t, os.Remove(c.link)) },
		"other device": func(c *cable) { c.plug() },
	} {
		t.Run(name, func(t *testing.T) {
			c := newCable(t)
			old := c.peer
			defer old.Close()
			l := c.open()
			change(c)
			waitGone(t, l)
			require.ErrorIs(t, l.Err(), sensors.ErrGone)
			require.NoError(t, l.Close())
		})
	}
}

func TestNameIsCheckedWhileBytesKeepComing(t *testing.T) {
	c := newCable(t)
	l := c.open()
	require.NoError(t, os.Remove(c.link))
	stop := make(chan struct{})
	talked := make(chan struct{})
	go func() {
		defer close(talked)
		for {
			select {
			case <-stop:
				return
			case <-time.After(serialport.ReadTimeout / 10):
				_, _ = c.peer.WriteString("T1=20.1\n") // may fail once the line is closed
			}
		}
	}()
	waitGone(t, l)
	close(stop)
	<-talked
	require.ErrorIs(t, l.Err(), sensors.ErrGone)
	require.NoError(t, l.Close())
}

func TestSecondOpenerIsRefused(t *testing.T) {
	c := newCable(t)
	l := c.open()
	_, err := serialport.New().Open(t.Context(), c.settings())
	require.ErrorIs(t, err, sensors.ErrBusy)
	require.ErrorContains(t, err, "end the other program")
	c.say("whole\n")
	require.Equal(t, "whole\n", hear(t, l, 6), "the first loses nothing")
	require.NoError(t, l.Close())
	again := c.open()
	require.NoError(t, again.Close())
}

func TestEveryListedSpeedCanBeSet(t *testing.T) {
	c := newCable(t)
	for _, baud := range serialport.Bauds() {
		require.True(t, serialport.ValidBaud(baud))
		settings := c.settings()
		settings.Baud = baud
		l, err := serialport.New().Open(t.Context(), settings)
		require.NoError(t, err, "speed %d", baud)
		require.NoError(t, l.Close())
	}
	require.False(t, serialport.ValidBaud(250000))
}
