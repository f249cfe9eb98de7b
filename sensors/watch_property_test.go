package sensors_test

import (
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
)

// follows lists the states that may come right after each state.
func follows(s sensors.LineState) []sensors.LineState {
	switch s {
	case sensors.StateOpening, sensors.StateGone:
		return []sensors.LineState{sensors.StateWaiting, sensors.StateGone}
	case sensors.StateWaiting, sensors.StateSilent:
		return []sensors.LineState{sensors.StateLive, sensors.StateSilent, sensors.StateGone}
	default:
		return []sensors.LineState{sensors.StateSilent, sensors.StateGone}
	}
}

// act does one thing to a line in a watched room.
func act(w *watched, action string) {
	l := w.opener.line
	switch action {
	case "plug":
		if l == nil {
			w.opener.plug()
		}
	case "pull":
		w.opener.pull()
	case "second":
		w.pass(time.Second)
	case "minute":
		w.pass(time.Minute)
	default:
		// A line that nobody has opened yet takes no more than a queue of bytes.
		if l != nil && len(l.chunks) < cap(l.chunks) {
			w.say(l, action)
		}
	}
	synctest.Wait()
}

func TestStatesFollowEachOtherAsTheyMay(t *testing.T) {
	actions := []string{"plug", "pull", "second", "minute", "dev=20C\n", "dev=85C wash=400C\n", "!x\n", "dev=2", "lost=1\n"}
	rapid.Check(t, func(rt *rapid.T) {
		script := rapid.SliceOfN(rapid.SampledFrom(actions), 1, 60).Draw(rt, "script")
		var updates []sensors.Update
		synctest.Test(t, func(t *testing.T) {
			w := startWatch(t)
			for _, action := range script {
				act(w, action)
			}
			require.NoError(t, w.end())
			updates = w.updates
		})
		requireLawful(rt, updates)
	})
}

func requireLawful(rt *rapid.T, updates []sensors.Update) {
	last := updates[0].Status
	require.Equal(rt, sensors.StateOpening, last.State)
	for _, u := range updates[1:] {
		s := u.Status
		if s.State != last.State {
			require.True(rt, slices.Contains(follows(last.State), s.State), "%s -> %s", last.State, s.State)
			require.GreaterOrEqual(rt, s.Since.Mono, last.Since.Mono)
		} else {
			require.Equal(rt, last.Since, s.Since)
		}
		if len(u.Readings) > 0 {
			require.Equal(rt, sensors.StateLive, s.State)
		}
		require.GreaterOrEqual(rt, s.Readings, last.Readings)
		require.GreaterOrEqual(rt, s.Opens, last.Opens)
		for _, r := range u.Readings {
			require.True(rt, r.Grade != sensors.Good || (r.Value >= 0 && r.Value <= 60), "%v", r)
		}
		last = s
	}
}

func TestFrozenProbeTurnsSuspectOnTheLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := startWatch(t, plugged)
		for range 32 * 60 {
			w.say(w.opener.line, "dev=20.06C\n")
			w.pass(time.Second)
		}
		require.Equal(t, sensors.Good, w.heard()[29*60].Grade)
		last := w.heard()[32*60-1]
		require.Equal(t, sensors.FlatLine, last.Reason)
		require.Equal(t, sensors.StateLive, w.status().State, "the line itself is well")
		require.InDelta(t, 60, w.status().RatePerMinute, 1.5)
		require.NoError(t, w.end())
	})
}

func TestEveryResultOfAFrameIsCounted(t *testing.T) {
	require.Len(t, sensors.FrameCounts{}, len(sensors.FrameResults()))
	counts := sensors.FrameCounts{1, 2, 3, 4, 5, 6, 7, 8}
	for i, r := range sensors.FrameResults() {
		require.EqualValues(t, i+1, counts.Count(r))
	}
	require.Zero(t, counts.Count("no such result"))
}

func TestOptionsThatCannotWork(t *testing.T) {
	for words, spoil := range map[string]func(o *sensors.WatchOptions){
		"name and a device path": func(o *sensors.WatchOptions) { o.ID = "" },
		"device path":            func(o *sensors.WatchOptions) { o.Settings.Path = "" },
		"decoder":                func(o *sensors.WatchOptions) { o.Decoder = nil },
		"receiver":               func(o *sensors.WatchOptions) { o.Deliver = nil },
		"silence":                func(o *sensors.WatchOptions) { o.Silence = 0 },
		"unit of temperature": func(o *sensors.WatchOptions) {
			c := o.Channels["dev"]
			c.Unit = channel(t, "x", sensors.RelativeHumidity, "%").Unit
			o.Channels["dev"] = c
		},
	} {
		o := (&watched{t: t, opener: &fakeOpener{}, decoder: &fakeDecoder{}}).options()
		spoil(&o)
		_, err := sensors.NewWatch(o)
		require.ErrorContains(t, err, words)
	}
}
