package truth_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

// minute is a stretch of good readings from one minute to another.
func minutes(from, to int) truth.Stretch {
	at := func(m int) time.Time { return start().Add(time.Duration(m) * time.Minute) }
	return truth.Stretch{From: at(from), To: at(to), Grade: sensors.Good}
}

func TestReadingsAreDoubtedFromWhenTheFaultBeganAndGoodAgainOnceItIsDismissed(t *testing.T) {
	channels := room(t)
	f := truth.Finding{ID: "a", What: truth.FlatLine, Channels: []sensors.ChannelID{"VEL"}, From: start().Add(10 * time.Minute),
		Confidence: 0.99, Doubts: true}
	book := truth.Open(channels).Offered(f)
	doubted := func(from, to int) truth.Stretch {
		s := minutes(from, to)
		s.Grade, s.Reason = sensors.Suspect, sensors.LooksWrong
		return s
	}
	parts := func(s truth.Stretch) []truth.Stretch { return slices.Collect(book.Trust("VEL").Believed(s)) }
	require.Equal(t, []truth.Stretch{minutes(0, 10), doubted(10, 20)}, parts(minutes(0, 20)), "found at minute 12, and begun at 10")
	at := func(m int) time.Time { return start().Add(time.Duration(m) * time.Minute) }
	require.True(t, book.Trust("VEL").Counts(at(9), sensors.Good, ""))
	require.False(t, book.Trust("VEL").Counts(at(10), sensors.Good, ""))
	require.True(t, book.Trust("CO2").Counts(at(10), sensors.Good, ""))
	require.True(t, book.Trust("CO2").Always())
	require.False(t, book.Trust("VEL").Always())
	require.False(t, book.Trust("VEL").Counts(at(9), sensors.Suspect, sensors.Silent))
	require.Equal(t, []truth.Stretch{minutes(0, 20)}, slices.Collect(book.Trust("CO2").Believed(minutes(0, 20))))
	silent := truth.Stretch{From: start(), To: start().Add(time.Hour), Reason: sensors.Silent}
	require.Equal(t, []truth.Stretch{silent}, parts(silent), "what another reason has taken away stays so")

	judged := truth.Stamp{Person: "Ida", At: start().Add(15 * time.Minute)}
	dismissed, confirmed := book.With(truth.DismissFinding{Finding: f, Why: "still air"}, judged),
		book.With(truth.ConfirmFinding{Finding: f, Why: "replaced the cable"}, judged)
	require.True(t, dismissed.Trust("VEL").Counts(at(12), sensors.Suspect, sensors.LooksWrong))
	book = dismissed
	require.Equal(t, []truth.Stretch{minutes(12, 20)}, parts(doubted(12, 20)), "raw values were kept, and count again")
	book = confirmed
	require.Equal(t, []truth.Stretch{doubted(12, 15), minutes(15, 20)}, parts(minutes(12, 20)))
	require.Equal(t, []truth.Stretch{doubted(12, 12)}, parts(minutes(12, 12)))
}

func TestEveryProbeThatNobodyCheckedIsNamed(t *testing.T) {
	book := truth.Open(room(t))
	require.Len(t, book.Unchecked(start().Add(time.Hour)), len(room(t)))
	checked := func(c truth.CheckProbe) {
		require.NoError(t, book.Check(c, truth.Stamp{At: start()}))
		book = book.With(c, truth.Stamp{Record: 1, At: start()})
	}
	checked(truth.CheckProbe{Channel: "VEL", Method: truth.ZeroPoint, AsFound: 0.02})
	checked(truth.CheckProbe{Channel: "CO2", Method: truth.Reference, Reference: 420, AsFound: 431, Instrument: "hand analyser"})
	var names []string
	for _, c := range book.Unchecked(start().Add(time.Hour)) {
		names = append(names, string(c.ID))
	}
	require.Equal(t, []string{"AIR", "WSH", "HUM", "VPR", "SO2", "DEV", "STP", "FX1", "FX2"}, names)
}

func TestACheckFitsItsKindOfProbe(t *testing.T) {
	book := truth.Open(append(room(t), channel(t, "FAN", sensors.FanCommand)))
	refused := func(c truth.CheckProbe) string {
		err := book.Check(c, truth.Stamp{At: start()})
		require.Error(t, err)
		return err.Error()
	}
	require.Contains(t, refused(truth.CheckProbe{Channel: "VEL", Method: truth.IcePoint}), "choose zero point or reference comparison")
	require.Contains(t, refused(truth.CheckProbe{Channel: "DEV", Method: truth.ZeroPoint}), "choose ice point or reference comparison")
	require.Contains(t, refused(truth.CheckProbe{Channel: "FAN", Method: truth.Reference, Instrument: "lamp"}), "choose switching")
	require.Contains(t, refused(truth.CheckProbe{Channel: "VPR", Method: truth.ZeroPoint, Reference: 3}), "zero point is 0")
	require.NoError(t, book.Check(truth.CheckProbe{Channel: "FAN", Method: truth.Switching, Reference: 1, AsFound: 1},
		truth.Stamp{At: start()}))
}

// A device that was taken out measures something, but not its place; what was missing or doubted before keeps its reason.
func TestAReadingOfADeviceThatWasTakenOutIsDoubted(t *testing.T) {
	book := truth.Open(room(t)).With(truth.RemoveProbe{Channel: "DEV", Why: "broken"}, truth.Stamp{Record: 1, At: start()})
	good, silent := sensors.Reading{Channel: "DEV", Value: 20, Grade: sensors.Good},
		sensors.Reading{Channel: "DEV", Grade: sensors.Missing, Reason: sensors.Silent}
	placed := book.Placed(good)
	require.Equal(t, sensors.Suspect, placed.Grade)
	require.Equal(t, sensors.OutOfService, placed.Reason)
	require.Equal(t, silent, book.Placed(silent))
	elsewhere := good
	elsewhere.Channel = "STP"
	require.Equal(t, elsewhere, book.Placed(elsewhere), "another place has its device still")
}
