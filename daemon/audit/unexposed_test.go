package audit_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
	"wetside/rules"
)

// Two hours of 2 ppm. 29 CFR 1910.1000(d)(1)(i) divides by 8 h: 4/8 ppm where the rest of
// the day is stated to be without exposure.
func TestAnAverageOverEightHoursRestsOnAStatementAndTheReportSaysSo(t *testing.T) {
	p := newPlace(t)
	p.evening()
	overEight := func() report.Average {
		d := p.gather(term(), term().AddDate(0, 0, 1))
		at := slices.IndexFunc(d.Averages, func(a report.Average) bool {
			return a.Minutes == 480 && a.Unit == "ppm" && a.Channel == "room-acetic-acid"
		})
		require.GreaterOrEqual(t, at, 0)
		return d.Averages[at]
	}
	without := overEight()
	require.Equal(t, "can't tell", without.Verdict.String())
	require.Zero(t, without.Unexposed)
	require.Contains(t, everything(report.Compose(p.gather(term(), term().AddDate(0, 0, 1)))),
		"Nobody stated that there was no exposure outside the class")

	stated := p.acts(rules.StateUnexposed{Effective: term(), Why: "no other work with acid"})
	with := overEight()
	require.Equal(t, "within the limit", with.Verdict.String())
	require.InDelta(t, 2.0*2/8, *with.Low, 0.001)
	require.Less(t, *with.High, 0.52, "the last reading says nothing of the seconds after it")
	require.InDelta(t, 6, with.Unexposed.Hours(), 0.01)
	require.Equal(t, stated.Number, with.Statement)
	d := p.gather(term(), term().AddDate(0, 0, 1))
	text := everything(report.Compose(d))
	require.Contains(t, text, "counts as zero by a statement, not by a measurement")
	require.Contains(t, text, "no other work with acid")
	require.Equal(t, "Ida", tableRows(t, d, "statements.csv")[0]["person"])
	for _, change := range tableRows(t, d, "settings-changed.csv") { // who changed a setting is asked first
		require.Equal(t, []string{"Ida", "no other work with acid"}, []string{change["person"], change["why"]})
	}
	require.Contains(t, text, "Ida, no other work with acid")

	p.acts(rules.StateUnexposed{Effective: term(), Off: true, Why: "two work in a print shop"})
	require.Equal(t, "can't tell", overEight().Verdict.String())
}
