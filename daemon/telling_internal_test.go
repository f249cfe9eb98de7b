package daemon

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/notify"
	"wetside/rules"
	"wetside/rules/duty"
	"wetside/sensors/quantity/phrase"
)

// TestWhatNeedsSomebodyOutside gathers alarms, duties and backups of a place.
func TestWhatNeedsSomebodyOutside(t *testing.T) {
	b, clock := newCopying(t, config.Backup{Folder: t.TempDir(), Every: time.Hour, Keep: 2})
	s := b.site
	s.started, s.keeping, s.reports = clock.Now(), keeping{site: s, backups: b, faults: newFaults()}, newReports(s)
	raised := clock.Now().Wall.Add(-time.Hour)
	alarm := func(id string, change func(*rules.AlarmView)) rules.AlarmView {
		a := rules.AlarmView{ID: id, Text: phrase.Say("No air moves"), Act: phrase.Say("Turn the fan on."), Since: raised}
		change(&a)
		return a
	}
	asIs := func(*rules.AlarmView) {}
	r := &room{}
	r.shown.Store(&rules.Snapshot{Room: "wet", Name: "Darkroom", Alarms: []rules.AlarmView{
		alarm("air", asIs), alarm("breathing:acid", asIs), alarm("line:trays", asIs), alarm("book", func(a *rules.AlarmView) { a.Urgent = true }),
		alarm("air-low", func(a *rules.AlarmView) { a.Acknowledged = true }),
		alarm("hood", func(a *rules.AlarmView) { a.Over = phrase.Say("The hood drew too little.") }),
	}})
	c := s.settings()
	c.Zone = time.UTC
	c.Duties = []duty.Duty{{ID: "eyewash", Name: "Eyewash", Owner: "Technician", Every: duty.Interval{Days: 7}},
		{ID: "strip", Name: "Silver strip", Owner: "Ida", Every: duty.Interval{Months: 1}}}
	s.swap(c, []*room{r})
	content, err := json.Marshal(duty.Note{Duty: "strip", Evidence: "clear"})
	require.NoError(t, err)
	_, err = s.store.Record(t.Context(), history.Entry{Kind: duty.Kind, Person: "Ida", Content: content})
	require.NoError(t, err)

	keys := func() (list []string) {
		all, err := s.matters(t.Context())
		require.NoError(t, err)
		for _, m := range all {
			require.NotEmpty(t, m.Do, m.Key)
			require.NotContains(t, m.Text, "Ida", "who did something is nobody's business outside")
			list = append(list, string(m.Kind)+": "+m.Text)
		}
		return list
	}
	const unanswered = "alarms: Darkroom: No air moves. Nobody has acknowledged this alarm."
	never := "duties: Eyewash was never recorded as done. Owner: Technician."
	require.Equal(t, []string{unanswered, unanswered, unanswered, never}, keys(),
		"air, gas and record book; neither the line, nor what is acknowledged or over")

	clock.Advance(3 * time.Hour)
	require.Equal(t, "backups: No backup of the darkroom's record was made since then.", keys()[4])
	require.NoError(t, b.make(t.Context(), "Ida"))
	require.Len(t, keys(), 4)
	require.Equal(t, s.store.Checkpoint().String(), s.facts().Checkpoint)

	before, err := s.matters(t.Context())
	require.NoError(t, err)
	clock.Advance(time.Minute)
	after, err := s.matters(t.Context())
	require.NoError(t, err)
	require.Equal(t, before, after, "the same matter keeps its key")
	require.Equal(t, notify.Alarms, after[0].Kind)
}
