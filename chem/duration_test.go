package chem_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
)

func TestParseTime(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"9:30": 570 * time.Second, "0:45": 45 * time.Second, "75:00": 75 * time.Minute,
		"9.3min": 558 * time.Second, "9,3 min": 558 * time.Second, "580s": 580 * time.Second,
		"1.5 min": 90 * time.Second, "2min 10s": 130 * time.Second, "2m10s": 130 * time.Second, "90 sec": 90 * time.Second,
	} {
		got, err := chem.ParseTime(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "9", "9:3", "9:60", "9:300", "-9:30", "0:00", "0s", "25000min", "9h", "min", ":30", "1:2:3", "NaNs",
		"infs", "9'30"} {
		_, err := chem.ParseTime(text)
		require.Error(t, err, text)
	}
}

func TestAPointedTimeIsNeverGuessed(t *testing.T) {
	// A published transcription prints "9.30" for 9 min 30 s (secondary source:
	// a personal transcription of a maker's table), elsewhere it is 9.3 minutes.
	for text, want := range map[string][]time.Duration{
		"9.30": {570 * time.Second, 558 * time.Second},
		"9,30": {570 * time.Second, 558 * time.Second},
		"9.5":  {570 * time.Second},
		"9.75": {585 * time.Second},
		"9.00": {540 * time.Second},
	} {
		_, err := chem.ParseTime(text)
		var ask *chem.AmbiguousTimeError
		require.ErrorAs(t, err, &ask, text)
		require.Equal(t, want, ask.Readings, text)
		require.NotEmpty(t, ask.Error())
	}
}

func TestMinutesSeconds(t *testing.T) {
	require.Equal(t, "2:10", chem.MinutesSeconds(130*time.Second))
	require.Equal(t, "6:00", chem.MinutesSeconds(359600*time.Millisecond))
	require.Equal(t, "-0:12", chem.MinutesSeconds(-12*time.Second))
	require.Equal(t, "-0:01", chem.MinutesSeconds(-time.Second))
	for _, d := range []time.Duration{0, -400 * time.Millisecond, 400 * time.Millisecond} {
		require.Equal(t, "0:00", chem.MinutesSeconds(d), "nothing has no sign")
	}
}

func FuzzParseTime(f *testing.F) {
	for _, s := range []string{"9:30", "9.30", "580s", "2m10s", "9,3min", "99999999999999999999s", "::", "0.0000000001s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, err := chem.ParseTime(text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.Positive(t, d)
		require.LessOrEqual(t, d, 24*time.Hour)
		again, err := chem.ParseTime(chem.MinutesSeconds(d))
		if d >= time.Second {
			require.NoError(t, err)
			require.InDelta(t, d.Seconds(), again.Seconds(), 0.5)
		}
	})
}
