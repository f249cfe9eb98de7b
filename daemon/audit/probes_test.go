package audit_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// acts records an act of a person.
func (p *place) acts(act rules.Act) history.Record {
	return p.record(history.Entry{Kind: act.Kind(), Person: "Ida"}, act)
}

func TestThePackListsChecksAsFoundAndAsLeftAndCountsByTheCorrections(t *testing.T) {
	p := newPlace(t)
	before := p.gather(term(), term().AddDate(0, 0, 1))
	unchecked := make([]string, 0, len(p.site.Rooms[0].Channels))
	for _, c := range p.site.Rooms[0].Channels { // duct, pressure, hood, gases and fan stand beside the thermometers
		unchecked = append(unchecked, c.Name)
	}
	require.Contains(t, phrase.Join(" ", before.NotMeasured...).String(),
		"No check of the probes of "+strings.Join(unchecked, "; ")+" is recorded")
	p.acts(truth.FitProbe{Channel: "developer-tray", Probe: "P-1", Accuracy: 0.5})
	check := p.acts(truth.CheckProbe{Channel: "developer-tray", Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.7, Correct: true,
		Certificate: "K-1", Next: term().AddDate(0, 6, 0)})
	p.evening()
	raw := 20.4
	p.acts(truth.HandReading{Channel: "developer-tray", Value: 20, With: "glass thermometer", Uncertainty: 0.2, Raw: &raw})
	// The duct probe is found to have read double all the time, only after the class.
	set := p.acts(truth.SetCorrection{Channel: "duct-velocity", From: term(), Slope: 0.5, Why: "read against the anemometer"})
	f := truth.Finding{ID: "x", What: truth.Jump, Channels: []sensors.ChannelID{"developer-tray"}, From: term().Add(18 * time.Hour),
		Confidence: 0.99, Text: phrase.Say("It moved."), Basis: phrase.Say("a bath does not")}
	p.record(history.Entry{Kind: rules.FindingOffered}, rules.FoundEvent(f))
	p.acts(truth.DismissFinding{Finding: f, Why: "poured anew"})

	d := p.gather(term(), term().AddDate(0, 0, 1))
	require.Len(t, d.Checks, 1)
	c := d.Checks[0]
	require.Equal(t, "P-1", c.Probe)
	require.InDelta(t, 0.7, c.Found, 0)
	require.InDelta(t, 0, c.Left, 0)
	require.True(t, c.Calculated)
	require.Equal(t, "beyond what is allowed", c.Verdict.String())
	require.Equal(t, check.Number, c.Record)
	require.InDelta(t, 19.7, *d.Hands[0].Probe, 1e-9, "by the correction in force then")
	require.Len(t, d.Corrections, 2)
	require.Equal(t, set.Number, d.Corrections[1].Record)
	require.True(t, d.Corrections[1].Known.After(d.Corrections[1].From), "what was known when is told")
	require.Len(t, d.Late, 1, "a correction that was entered after the readings that it changes")
	require.Equal(t, set.Number, d.Late[0].Record)
	require.Equal(t, term(), d.Late[0].Happened.UTC())
	require.Equal(t, "dismissed", d.Found[0].Judgement.String())
	require.Equal(t, "P-1", d.Devices[0].Probe)
	without := p.uncorrected()
	require.InDelta(t, without/2, *d.Sessions[0].Lowest, 1e-9, "the air is counted by what is true")

	sections := map[string]bool{}
	for _, s := range report.Compose(d).Sections {
		sections[s.Heading] = true
	}
	require.True(t, sections["Probes and their checks"])
	for _, file := range []string{"probe-checks.csv", "hand-readings.csv", "findings.csv", "devices.csv"} {
		require.Len(t, tableRows(t, d, file), 1, file)
	}
}

// uncorrected is the lowest flow of a like evening in a place that never corrected it.
func (p *place) uncorrected() float64 {
	other := newPlace(p.TB)
	other.evening()
	d := other.gather(term(), term().AddDate(0, 0, 1))
	require.NotNil(p, d.Sessions[0].Lowest)
	return *d.Sessions[0].Lowest
}

// A check after a period says nothing of how it stood at its end: the sentence and the table of the report agree.
func TestAReportKnowsNoLaterCheckOfAProbe(t *testing.T) {
	p := newPlace(t)
	p.evening()
	early := p.clock.Now().Wall
	p.clock.Advance(24 * time.Hour)
	p.acts(truth.CheckProbe{Channel: "developer-tray", Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.1})
	said := func(to time.Time) string {
		return phrase.Join("\n", p.gather(term(), to).NotMeasured...).String()
	}
	require.Contains(t, said(early), "No check of the probes of Developer tray")
	require.NotContains(t, said(p.clock.Now().Wall.Add(time.Hour)), "Developer tray")
}
