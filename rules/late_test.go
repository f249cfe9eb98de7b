package rules_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/truth"
)

func TestAnActThatHoldsFromBeforeItsEntryIsLate(t *testing.T) {
	require.ElementsMatch(t, []string{"probe fitted", "probe removed", "correction set", "commissioned", "air requirement",
		"breathing limit", "unexposed time stated"}, rules.DatedKinds())
	now := noon().Wall
	for days, late := range map[int]bool{-14: true, 14: false} {
		for _, act := range []rules.Act{
			truth.FitProbe{Channel: "dev", From: now.AddDate(0, 0, days)},
			rules.CommissionAir{Measured: now.AddDate(0, 0, days)},
			rules.RequireAir{Amendment: rules.Amendment{Effective: now.AddDate(0, 0, days)}},
			rules.StateUnexposed{Effective: now.AddDate(0, 0, days)},
		} {
			content, err := json.Marshal(act)
			require.NoError(t, err)
			since, got := rules.Backdated(record.Record{Kind: act.Kind(), Content: content, At: now})
			require.Equal(t, late, got, "%s %d", act.Kind(), days)
			require.True(t, since.Equal(now.AddDate(0, 0, days)))
		}
	}
	_, got := rules.Backdated(record.Record{Kind: truth.FitProbe{}.Kind(), Content: []byte(`{}`), At: now})
	require.False(t, got, "entered as it was done")
	today, err := json.Marshal(rules.StateUnexposed{Effective: now.Truncate(24 * time.Hour)})
	require.NoError(t, err)
	_, got = rules.Backdated(record.Record{Kind: rules.StateUnexposed{}.Kind(), Content: today, At: now})
	require.False(t, got, "from this day on")
	_, got = rules.Backdated(record.Record{Kind: truth.FitProbe{}.Kind(), Content: []byte(`[7]`), At: now.Add(time.Hour)})
	require.False(t, got)
}
