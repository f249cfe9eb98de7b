package truth

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

func foundAt(what FindingKind, minute int, channels ...sensors.ChannelID) Finding {
	from := time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC).Add(time.Duration(minute) * time.Minute)
	return Finding{What: what, From: from, Channels: channels}
}

// What moved a channel at once, or a probe that no longer lives, is one thing however it is called.
func TestOneThingIsOfferedOnce(t *testing.T) {
	for _, c := range []struct {
		first, next FindingKind
		minutes     int
		new         bool
	}{
		{FlatLine, FlatLine, 719, false}, {FlatLine, FlatLine, 720, true}, {FlatLine, FlatLine, -719, false}, {FlatLine, FlatLine, -720, true},
		{FlatLine, LostNoise, 719, false}, {LostNoise, EndStop, 719, false}, {EndStop, FlatLine, 719, false},
		{FlatLine, Jump, 59, false}, {FlatLine, Jump, 60, true}, {LostNoise, OutOfBath, 59, false}, {EndStop, Exchanged, 1, true},
		{Jump, FlatLine, 1, true}, {Jump, OutOfBath, 59, false}, {Jump, OutOfBath, -60, true}, {Jump, Exchanged, 1, true},
		{Exchanged, Jump, 59, false}, {Exchanged, Exchanged, 719, false}, {OutOfBath, Jump, 59, false}, {OutOfBath, Jump, 60, true},
		{Drift, Drift, 719, false}, {Drift, Jump, 1, true}, {Jump, Drift, 1, true}, {FlatLine, Drift, 1, true}, {Drift, FlatLine, 1, true},
	} {
		book := Open(nil).Offered(foundAt(c.first, 1000, "DEV", "STP").named())
		got := book.fresh([]Finding{foundAt(c.next, 1000+c.minutes, "STP")})
		require.Equal(t, c.new, len(got) == 1, "%+v", c)
		require.Len(t, book.fresh([]Finding{foundAt(c.next, 1000+c.minutes, "FX1")}), 1, "%+v: another channel", c)
		both := Open(nil).fresh([]Finding{foundAt(c.first, 1000, "DEV", "STP"), foundAt(c.next, 1000+c.minutes, "STP")})
		require.Equal(t, c.new, len(both) == 2, "%+v: at once", c)
	}
}

func TestTheSameIsOfferedAgainOnceItWasPutRight(t *testing.T) {
	f := foundAt(FlatLine, 0, "VEL").named()
	judged := Stamp{At: f.From.Add(10 * time.Minute)}
	for name, c := range map[string]struct {
		act    Act
		minute int
		again  bool
	}{
		"put right":         {ConfirmFinding{Finding: f, Why: "cable"}, 11, true},
		"at that moment":    {ConfirmFinding{Finding: f, Why: "cable"}, 10, false},
		"before":            {ConfirmFinding{Finding: f, Why: "cable"}, 9, false},
		"still wrong":       {ConfirmFinding{Finding: f, Why: "cable", Still: true}, 11, false},
		"it means nothing":  {DismissFinding{Finding: f, Why: "still air"}, 11, false},
		"put right, a jump": {ConfirmFinding{Finding: f, Why: "cable"}, 30, true},
	} {
		again := Open(nil).Offered(f).With(c.act, judged).fresh([]Finding{foundAt(FlatLine, c.minute, "VEL")})
		require.Equal(t, c.again, len(again) == 1, name)
	}
}

// Only a confidence of nine in ten takes a channel out of use, and a drift never does.
func TestAFindingIsNamedAndDoubtsFromNineInTen(t *testing.T) {
	f := foundAt(Exchanged, 0, "DEV", "STP")
	f.From = f.From.Add(900 * time.Millisecond).In(time.FixedZone("", 7200))
	for confidence, doubts := range map[float64]bool{0.90: true, 0.899: false} {
		f.Confidence = confidence
		n := f.named()
		require.Equal(t, doubts, n.Doubts, confidence)
		require.Equal(t, "two-probes-exchanged:DEV+STP:20261014T170000Z", n.ID)
		require.Equal(t, time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC), n.From)
	}
	drift := foundAt(Drift, 0, "DEV")
	drift.Confidence = 0.99
	require.False(t, drift.named().Doubts)
}

func TestAFindingIsJudgedOnce(t *testing.T) {
	f := foundAt(FlatLine, 0, "VEL").named()
	first, later := Stamp{Person: "Ada", At: f.From.Add(time.Hour)}, Stamp{Person: "Ida", At: f.From.Add(2 * time.Hour)}
	offered := Open(nil).Offered(f)
	require.Equal(t, offered, offered.With(ConfirmFinding{Finding: Finding{ID: "unknown"}}, first), "of another nothing is known")
	dismissed := offered.With(DismissFinding{Finding: f, Why: "still air"}, first)
	require.Equal(t, dismissed, dismissed.With(ConfirmFinding{Finding: f, Why: "cable"}, later))
	require.Empty(t, dismissed.Waiting())
	still := offered.With(ConfirmFinding{Finding: f, Why: "cable", Still: true}, first).With(ConfirmFinding{Finding: f, Why: "mended"}, later)
	o, _ := still.Offer(f.ID)
	require.Equal(t, "Ida", o.By, "what was still wrong may be put right later")
}

// A decision is kept with the finding as it was offered, whatever a form sent beside its name.
func TestADecisionIsFilledWithWhatWasOffered(t *testing.T) {
	f := foundAt(FlatLine, 0, "VEL").named()
	book, sent := Open(nil).Offered(f), Finding{ID: f.ID}
	require.Equal(t, ConfirmFinding{Finding: f, Why: "seen"}, book.Filled(ConfirmFinding{Finding: sent, Why: "seen"}))
	require.Equal(t, DismissFinding{Finding: f, Why: "seen"}, book.Filled(DismissFinding{Finding: sent, Why: "seen"}))
}
