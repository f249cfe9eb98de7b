package daemon

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/rules/truth"
	"wetside/sensors"
)

// A flat line found at minute 12 that began at minute 10: the chart shows no value from its
// beginning on, and shows all of them again once a person has dismissed the finding.
func TestAChartShowsNoValueOfASuspectedProbe(t *testing.T) {
	begun := time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)
	at := func(minute int) time.Time { return begun.Add(time.Duration(minute) * time.Minute) }
	channel := sensors.Channel{ID: "duct-velocity", Kind: sensors.DuctVelocity}
	f := truth.Finding{ID: "flat", What: truth.FlatLine, Channels: []sensors.ChannelID{channel.ID}, From: at(10), Confidence: 0.99,
		Doubts: true}
	book := truth.Open([]sensors.Channel{channel}).Offered(f)
	raw := history.Series{
		Samples: []history.Sample{{At: at(9), Raw: 4, Grade: sensors.Good}, {At: at(10), Raw: 4, Grade: sensors.Good},
			{At: at(13), Raw: 4, Grade: sensors.Suspect, Reason: sensors.LooksWrong},
			{At: at(14), Raw: 4, Grade: sensors.Good, Imported: true}},
		Columns: []history.Column{{From: at(0), To: at(10), Good: 600}, {From: at(5), To: at(15), Good: 500},
			{From: at(15), To: at(20), Good: 300, Imported: true}},
	}
	grades := func(s history.Series) (list []sensors.Grade) {
		for _, p := range s.Samples {
			list = append(list, p.Grade)
		}
		return list
	}
	seen := believed(book, channel.ID, raw)
	require.Equal(t, []sensors.Grade{sensors.Good, sensors.Suspect, sensors.Suspect, sensors.Good}, grades(seen))
	require.Equal(t, []uint32{600, 0, 300}, []uint32{seen.Columns[0].Good, seen.Columns[1].Good, seen.Columns[2].Good})
	require.Equal(t, sensors.Good, raw.Samples[1].Grade, "what is kept is not changed")

	dismissed := book.With(truth.DismissFinding{Finding: f, Why: "the damper was shut"}, truth.Stamp{Person: "Ida", At: at(20)})
	again := believed(dismissed, channel.ID, raw)
	require.Equal(t, []sensors.Grade{sensors.Good, sensors.Good, sensors.Good, sensors.Good}, grades(again))
	require.Equal(t, uint32(500), again.Columns[1].Good)
}
