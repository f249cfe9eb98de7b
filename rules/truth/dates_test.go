package truth_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/access"
	"wetside/rules/truth"
)

// A date of its own lets an act change what readings of the past are worth.
func TestAnActOnAProbeWithADateIsForTheManagerAndWithinAPlacesYears(t *testing.T) {
	require.Equal(t, access.Volunteer, truth.FitProbe{}.Least())
	require.Equal(t, access.Volunteer, truth.RemoveProbe{}.Least())
	require.Equal(t, access.Manager, truth.FitProbe{From: start()}.Least())
	require.Equal(t, access.Manager, truth.RemoveProbe{From: start()}.Least())

	book, now := truth.Open(room(t)), truth.Stamp{Person: "Ada", Record: 7, At: start()}
	slip := start().AddDate(-20, 0, 0)
	for name, act := range map[string]truth.Act{
		"fitted":    truth.FitProbe{Channel: "DEV", Probe: "P-1", From: slip},
		"removed":   truth.RemoveProbe{Channel: "DEV", Why: "broken", From: slip},
		"corrected": truth.SetCorrection{Channel: "DEV", Slope: 1, Why: "read against ice", From: slip},
	} {
		require.ErrorContains(t, book.Check(act, now), "check the year", name)
	}

	fitted := truth.FitProbe{Channel: "DEV", Probe: "P-1", From: start().AddDate(0, 0, -14)}
	require.NoError(t, book.Check(fitted, now))
	life, _ := book.With(fitted, now).Life("DEV")
	require.True(t, life.Fittings[0].Late())
	require.Equal(t, start(), life.Fittings[0].Entered)
	life, _ = book.With(truth.FitProbe{Channel: "DEV", Probe: "P-1"}, now).Life("DEV")
	require.False(t, life.Fittings[0].Late())
}

func TestWhatIsEnteredWithinAMinuteIsNotLate(t *testing.T) {
	for after, late := range map[time.Duration]bool{time.Minute: false, time.Minute + 1: true} {
		require.Equal(t, late, truth.Fitting{From: start(), Entered: start().Add(after)}.Late(), after)
	}
	require.False(t, truth.Fitting{Entered: start()}.Late(), "what was there before anybody entered it")
}

func TestSinceIsTheDateThatAnActNames(t *testing.T) {
	from := start().Add(-time.Hour)
	for _, act := range []interface {
		Since() (time.Time, time.Duration)
	}{truth.FitProbe{From: from}, truth.RemoveProbe{From: from}, truth.SetCorrection{From: from}} {
		at, within := act.Since()
		require.Equal(t, from, at)
		require.Equal(t, time.Minute, within)
	}
}
