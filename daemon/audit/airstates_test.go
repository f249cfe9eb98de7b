package audit_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/rules/truth"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// A class of two hours: in its first half hour a stuck probe is contradicted by the fan
// switch, and from the hour and a half on the probe is found to stand still.
func TestNoMinuteOfAContradictedOrSuspectedProbeIsInAReport(t *testing.T) {
	p := newPlace(t)
	begun := p.clock.Now().Wall
	change := func(from, to ventilation.State, cause string) {
		p.record(history.Entry{Kind: rules.AirState}, rules.Event{Subject: "practice", From: string(from), To: string(to), Cause: cause})
	}
	const why = "Airflow not proven, the readings disagree: Exhaust duct reads 271 m³/h, but Fan switch is off."
	change("", ventilation.Disputed, why)
	p.during = func(minute int) {
		if minute == 30 {
			change(ventilation.Disputed, ventilation.Moving, "Air is moving.")
		}
	}
	p.evening()
	found := truth.Finding{ID: "flat", What: truth.FlatLine, Channels: []sensors.ChannelID{"duct-velocity"},
		From: begun.Add(90 * time.Minute), Confidence: 0.99,
		Text: phrase.Say("It stands still."), Basis: phrase.Say("a live one moves"), Doubts: true}
	p.record(history.Entry{Kind: rules.FindingOffered}, rules.FoundEvent(found))

	d := p.gather(term(), term().AddDate(0, 0, 1))
	counted := map[bool]int{}
	for _, m := range d.Minutes {
		after := m.At.Sub(begun)
		between := after >= 30*time.Minute && after < 90*time.Minute
		counted[between] += m.Readings
		require.True(t, between || m.Readings == 0, "%v", after)
	}
	require.Equal(t, 50*6, counted[true], "an hour but for the ten minutes in which the line was gone")
	require.Len(t, d.AirStates, 2)
	require.Equal(t, why, d.AirStates[0].Cause)
	require.Equal(t, 1, d.AirStates[0].Session)
	require.Equal(t, begun.Add(30*time.Minute).UTC(), d.AirStates[0].To.UTC())
	require.Contains(t, everything(report.Compose(d)), why)
}

// The class still runs, and the records are ahead of the clock of whoever asks.
func TestAStateThatLastsBelongsToTheSessionUnderWay(t *testing.T) {
	p := newPlace(t)
	asked := p.clock.Now().Wall
	s := session.Session{Phase: session.Open, Begun: asked}
	p.phase(s)
	p.clock.Advance(30 * time.Minute)
	p.record(history.Entry{Kind: rules.AirState}, rules.Event{Subject: "practice", From: string(ventilation.Moving),
		To: string(ventilation.Disputed), Cause: "but Fan switch is off."})
	s.Tally.To = p.clock.Now().Wall.Add(time.Minute)
	p.clock.Advance(time.Minute)
	p.record(history.Entry{Kind: rules.SessionCounts}, rules.Event{Subject: "practice", To: string(s.Phase), Session: &s})
	d, err := audit.Gather(t.Context(), &p.store.Reader, audit.Question{From: term(), To: term().AddDate(0, 0, 1), Zone: time.UTC,
		Now: asked, Version: "test"})
	require.NoError(t, err)
	require.Len(t, d.AirStates, 1)
	require.Equal(t, 1, d.AirStates[0].Session)
	require.Contains(t, everything(report.Compose(d)), "but Fan switch is off.")
}

// everything is all cells and texts of a document.
func everything(doc report.Document) string {
	var all []phrase.Sentence
	for _, s := range doc.Sections {
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case report.Text:
				all = append(all, phrase.Plain(string(b)))
			case report.Grid:
				for _, row := range b.Rows {
					for _, cell := range row {
						all = append(all, phrase.Plain(cell))
					}
				}
			}
		}
	}
	return phrase.Join("\n", all...).String()
}

func TestAReportNamesTheLastCheckOfEveryChannelAndTheNextTraverse(t *testing.T) {
	p := newPlace(t)
	p.acts(truth.CheckProbe{Channel: "duct-velocity", Method: truth.Reference, Reference: 4, Uncertainty: 0.1, AsFound: 4.05,
		Instrument: "vane anemometer 7", Certificate: "K-77"})
	p.site.Rooms[0].Commissioned.Date, p.site.Rooms[0].Commissioned.Next = term(), term().AddDate(0, 0, 20)
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	p.clock.Advance(19 * 24 * time.Hour)
	traverse := func() report.Duty {
		duties := p.gather(term(), term().AddDate(0, 0, 30)).Duties
		at := slices.IndexFunc(duties, func(d report.Duty) bool { return strings.HasPrefix(d.Name, "Traverse of the duct: ") })
		require.GreaterOrEqual(t, at, 0)
		return duties[at]
	}
	require.Equal(t, term().AddDate(0, 0, 20), traverse().Due.UTC())
	require.False(t, traverse().Overdue)
	p.clock.Advance(3 * 24 * time.Hour)
	require.True(t, traverse().Overdue)
	d := p.gather(term(), term().AddDate(0, 0, 30))
	require.Len(t, d.LastChecks, len(p.site.Rooms[0].Channels), "temperatures, duct, pressure, hood and gases alike")
	for _, c := range d.LastChecks {
		if c.Channel == "duct-velocity" {
			require.Equal(t, []string{"K-77", "vane anemometer 7"}, []string{c.Certificate, c.Instrument})
			continue
		}
		require.Equal(t, "not checked by then", c.Verdict.String(), c.Channel)
	}
	require.Contains(t, everything(report.Compose(d)), "K-77")
}
