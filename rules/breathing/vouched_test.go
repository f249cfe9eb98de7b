package breathing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/breathing"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func vouchedBy(name string) breathing.Vouched {
	at := time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC)
	return breathing.Vouched{By: name, On: at, Record: 12, Effective: at, Why: "no other work with acid"}
}

// A class of three hours against a limit of 10 ppm over 8 h. 29 CFR 1910.1000(d)(1)(i): the
// sum of concentration times time is divided by 8 h, whatever the time of exposure.
func TestAClassCanBeJudgedOverEightHoursByAStatement(t *testing.T) {
	ppm, err := quantity.ParseUnit("ppm")
	require.NoError(t, err)
	limit := breathing.Limit{Agent: "acetic acid", Jurisdiction: "invented place", Edition: "2026", Kind: breathing.LongTerm,
		Window: 8 * time.Hour, Value: 10, Unit: ppm,
		Standing: breathing.Verified, Source: "invented"}
	judged := func(v breathing.Vouched, tape breathing.Tape) breathing.Finding {
		f, err := breathing.Gas{Agent: breathing.Agent{Name: "acetic acid"}, Tape: tape, Unit: ppm, Sensor: breathing.Sensor{FullScale: 20},
			Vouched: v}.Judge(limit)
		require.NoError(t, err)
		return f
	}
	half := tapeOf(t, block{90 * time.Minute, 12})
	require.NoError(t, half.Unsampled(90*time.Minute, phrase.Say("port lost")))
	for name, c := range map[string]struct {
		by      string
		tape    breathing.Tape
		low     float64
		verdict breathing.Verdict
	}{
		"3 h of 12 ppm without a statement": {"", tapeOf(t, block{3 * time.Hour, 12}), 36.0 / 8, breathing.CantTell},
		"3 h of 12 ppm":                     {"A. Example", tapeOf(t, block{3 * time.Hour, 12}), 36.0 / 8, breathing.Within},
		"3 h of 30 ppm":                     {"A. Example", tapeOf(t, block{3 * time.Hour, 30}), 90.0 / 8, breathing.Over},
		"half of the class was not read":    {"A. Example", half, 18.0 / 8, breathing.CantTell},
		"9 h of 8 ppm":                      {"A. Example", tapeOf(t, block{9 * time.Hour, 8}), 8, breathing.Within},
	} {
		f := judged(vouchedBy(c.by), c.tape)
		require.InDelta(t, c.low, f.Average.Low, 1e-9, name)
		require.Equal(t, c.verdict, f.Verdict, name)
		if c.by != "" && f.Average.Unexposed > 0 {
			require.Contains(t, f.Sentence.String(), "count as zero by the statement of A. Example on 2026-09-01 that nobody was "+
				"exposed outside the class")
		}
	}
	require.Zero(t, judged(vouchedBy("A. Example"), tapeOf(t, block{9 * time.Hour, 8})).Average.Unexposed,
		"a class that fills the window rests on no statement")
}

func TestTheStatementThatCoversAClassIsTheNewestInForceWhenItBegan(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 9, n, 0, 0, 0, 0, time.UTC) }
	list := []breathing.Vouched{
		{By: "Ada", Effective: day(5), Record: 1},
		{By: "Ben", Effective: day(20), Record: 2, Off: true},
		{By: "Cleo", Effective: day(10), Record: 3},
	}
	require.False(t, breathing.VouchedAt(list, day(4)).Holds())
	require.Equal(t, "Ada", breathing.VouchedAt(list, day(5)).By)
	require.Equal(t, "Cleo", breathing.VouchedAt(list, day(12)).By)
	require.False(t, breathing.VouchedAt(list[:2], day(21)).Holds(), "withdrawn")
	require.True(t, breathing.VouchedAt(list, day(21)).Holds(), "and stated again later")
}
