package audit_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// sampled writes a sample of the developer's tray every ten seconds for some minutes.
func (p *place) sampled(minutes int, grade sensors.Grade, reason sensors.Reason) {
	var b history.Batch
	for range minutes * 6 {
		b.Samples = append(b.Samples, history.Sample{Channel: "developer-tray", At: p.clock.Now().Wall, Raw: 20, Grade: grade, Reason: reason})
		p.clock.Advance(10 * time.Second)
	}
	require.NoError(p, p.store.Append(p.Context(), b))
}

// silent lets minutes pass without a sample, with a gap recorded for a cause if one is known.
func (p *place) silent(minutes int, cause string) {
	from := p.clock.Now().Wall.Add(-10 * time.Second) // the last sample
	p.clock.Advance(time.Duration(minutes) * time.Minute)
	if cause != "" {
		require.NoError(p, p.store.Append(p.Context(), history.Batch{GapsOpened: []history.Gap{{Channel: "developer-tray", From: from,
			To: p.clock.Now().Wall, Cause: cause}}}))
	}
}

func TestEveryMissingMinuteOfASessionHasItsCause(t *testing.T) {
	p := newPlace(t)
	s := session.Session{Phase: session.Open, Title: "Class", Begun: p.clock.Now().Wall}
	p.phase(s)
	p.sampled(20, sensors.Good, "")
	p.silent(2, string(sensors.LineLost))
	p.sampled(20, sensors.Good, "")
	p.silent(3, history.CauseMachineOff)
	p.sampled(20, sensors.Good, "")
	p.sampled(4, sensors.Suspect, sensors.FlatLine)
	p.sampled(5, sensors.Suspect, sensors.OutOfService)
	p.sampled(20, sensors.Good, "")
	p.silent(6, "")
	p.sampled(20, sensors.Good, "")
	s.Phase = session.Closed
	p.phase(s)
	p.clock.Advance(5 * time.Hour)
	p.record(history.Entry{Kind: rules.ReportComplaint{}.Kind()}, rules.ReportComplaint{What: "nothing"})

	d := p.gather(term(), term().AddDate(0, 0, 1))
	causes := map[string]time.Duration{}
	for _, g := range d.Gaps {
		if g.Channel == "developer-tray" {
			causes[g.Cause.String()] += g.To.Sub(g.From).Round(time.Minute)
		}
	}
	require.Equal(t, map[string]time.Duration{"port lost": 2 * time.Minute, "computer off": 3 * time.Minute,
		"probe suspect: flat line": 4 * time.Minute,
		"out of service":           5 * time.Minute, "not recorded": 6 * time.Minute}, causes)
	for _, c := range d.Coverage {
		if c.Channel == "developer-tray" {
			require.Equal(t, c.Required, c.Valid+c.Missing)
			require.InDelta(t, 9, c.Longest.Minutes(), 0.3, "a doubted line and a probe that was out are one gap")
		}
	}
	require.Contains(t, phrase.Join(" ", d.NotMeasured...).String(), "5 of the 7 hours that the record book covers lie outside any session")
}
