package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"wetside/chem/ledger"
)

// 40 CFR 261.24: the federal line D011 is reached at 5.0 mg/L itself. A strip gives
// classes; Kodak's silver field test (ECN module 3, 1209D) gives <2, 2-4, 4-6, >6 g/L.
func TestAFigureForSilverIsReadAsTheReportOrTheStripGivesIt(t *testing.T) {
	for typed, want := range map[string]struct {
		figure string
		line   ledger.SilverLine
	}{
		"4.9":         {"4.9 mg/L", ledger.UnderLine},
		"5.0 mg/L":    {"5 mg/L", ledger.ReachesLine},
		"5,1 ppm":     {"5.1 mg/L", ledger.ReachesLine},
		"0.005 g/l":   {"5 mg/L", ledger.ReachesLine},
		"< 0.2 mg/L":  {"<0.2 mg/L", ledger.UnderLine},
		"<5":          {"<5 mg/L", ledger.UnderLine},
		"<10":         {"<10 mg/L", ledger.LineUnknown},
		"<2 g/L":      {"<2000 mg/L", ledger.LineUnknown},
		"2 - 4 g/L":   {"2000-4000 mg/L", ledger.ReachesLine},
		"4.0-5.0":     {"4-5 mg/L", ledger.LineUnknown},
		">6 g/L":      {">6000 mg/L", ledger.ReachesLine},
		">1":          {">1 mg/L", ledger.LineUnknown},
		"0":           {"0 mg/L", ledger.UnderLine},
		"100 g/L":     {"100000 mg/L", ledger.ReachesLine},
		"0.1-0.3mg/L": {"0.1-0.3 mg/L", ledger.UnderLine},
	} {
		got, err := ledger.ParseSilver(typed)
		require.NoError(t, err, typed)
		require.Equal(t, want.figure, got.String(), typed)
		require.Equal(t, want.line, got.Line(), typed)
	}
	for _, typed := range []string{"", "some", "-3", "4-2", "<2-4", "<", "<>3", ">", "<0", "1e9", "5 oz", "200 g/L", "100.001 g/L", "NaN",
		"1-2-3"} {
		_, err := ledger.ParseSilver(typed)
		require.ErrorIs(t, err, ledger.ErrForm, typed)
		require.ErrorContains(t, err, "as the report or the strip does", typed)
	}
}

func FuzzParseSilver(f *testing.F) {
	for _, seed := range []string{"4.9", "<0.2 mg/L", "2-4 g/L", ">6 g/L", "5,0 ppm"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		got, err := ledger.ParseSilver(typed)
		if err != nil {
			return
		}
		require.GreaterOrEqual(t, got.Low, 0.0)
		require.LessOrEqual(t, got.Low, got.High)
		again, err := ledger.ParseSilver(got.String())
		require.NoError(t, err, got.String())
		require.Equal(t, got, again)
	})
}

// A figure that surely reaches the line is never said to be under it.
func TestASilverFigureIsNeverUnderTheLineByItsHigherEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 20).Draw(t, "low")
		f := ledger.SilverFigure{Low: low, High: low + rapid.Float64Range(0, 20).Draw(t, "wide")}
		switch f.Line() {
		case ledger.UnderLine:
			require.Less(t, f.High, 5.0)
		case ledger.ReachesLine:
			require.GreaterOrEqual(t, f.Low, 5.0)
		default:
			require.True(t, f.Low < 5.0 && f.High >= 5.0)
		}
	})
}

func silver(figure string) ledger.SilverMeasured {
	f, err := ledger.ParseSilver(figure)
	if err != nil {
		panic(err) // a slip in a test
	}
	return ledger.SilverMeasured{Container: "drum-silver", Silver: f, Method: ledger.Laboratory, Sampled: at("00:00"), Reference: "paper 7"}
}

func TestMeasuredSilverIsLoggedWithWhatItIsOf(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 5000, What: "rinse of the fixer trays"})
	for _, none := range []string{"drum-silver", "drum-plain", "nowhere"} {
		_, _, ok := b.l.SilverIn(none)
		require.False(t, ok, none)
	}
	b.write(at("09:00"), silver("5.0"))
	outflow := silver("<0.2")
	outflow.Container, outflow.Sample, outflow.Method, outflow.Sampled = "", "outflow of the recovery unit", ledger.TestStrip,
		at("00:00").AddDate(0, 0, -3)
	wrong := b.write(at("09:05"), outflow)
	log := b.l.SilverLog()
	require.Len(t, log, 2)
	require.Equal(t, []string{"drum-silver", "outflow of the recovery unit"}, []string{log[0].Of(), log[1].Of()}, "the newest sample first")
	require.Equal(t, "Ada", log[0].By)
	now, changed, ok := b.l.SilverIn("drum-silver")
	require.True(t, ok)
	require.Zero(t, changed)
	require.Equal(t, ledger.ReachesLine, now.Silver.Line())

	b.write(at("09:10"), ledger.Correction{Of: wrong, Reason: "read off the wrong strip", At: at("09:10")})
	require.Len(t, b.l.SilverLog(), 1, "what was taken back is no figure any more")
	b.write(at("13:00"), ledger.WasteCollected{Container: "drum-silver", Collector: "licensed carrier"})
	later := at("08:00").AddDate(0, 0, 4)
	b.write(later, ledger.WasteAdded{Container: "drum-silver", Volume: 100, What: "rinse"})
	_, _, ok = b.l.SilverIn("drum-silver")
	require.False(t, ok, "the figure was of what has been taken away")
}

func TestAFigureForSilverThatMakesNoSense(t *testing.T) {
	b := newBook(t).room()
	nothing, both, future, undated, unknown, guess := silver("3"), silver("3"), silver("3"), silver("3"), silver("3"), silver("3")
	nothing.Container = ""
	both.Sample = "the drum"
	future.Sampled = at("00:00").AddDate(0, 0, 1)
	undated.Sampled = ledger.SilverMeasured{}.Sampled
	unknown.Container = "nowhere"
	guess.Method = "guess"
	require.Contains(t, b.refuse(b.entry(at("10:00"), nothing), ledger.ErrForm), "what was sampled")
	require.Contains(t, b.refuse(b.entry(at("10:00"), both), ledger.ErrForm), "not both")
	require.Contains(t, b.refuse(b.entry(at("10:00"), future), ledger.ErrTime), "lies in the future")
	require.Contains(t, b.refuse(b.entry(at("10:00"), undated), ledger.ErrTime), "Write the date")
	require.Contains(t, b.refuse(b.entry(at("10:00"), unknown), ledger.ErrUnknown), "nowhere")
	require.Contains(t, b.refuse(b.entry(at("10:00"), guess), ledger.ErrForm), "guess")
}

// 20 sheets of 0.051613 m² in 2 L at 0.538 g/m² x 0.5 and 1.615 g/m² x 0.8, by hand:
// 139 to 667 mg/L; in a drum with 3 L of rinse beside it two fifths of that.
func TestSilverIsEstimatedAsAConcentrationAndGoesWithTheLiquid(t *testing.T) {
	b := class(t)
	held, _ := b.l.Contents("tray-fix", at("21:00"))
	got, ok := inputs().Silver(held)
	require.True(t, ok)
	require.InDelta(t, 138.8, got.Low, 0.1)
	require.InDelta(t, 666.8, got.High, 0.1)
	require.Equal(t, ledger.ReachesLine, got.Line())
	b.write(at("21:00"), fixer("unused", "tray-fix-2", 500))
	unused, _ := b.l.Contents("tray-fix-2", at("21:00"))
	_, ok = inputs().Silver(unused)
	require.False(t, ok, "nothing was fixed in it")
	for _, wrong := range []func(*ledger.TakeDownInputs){func(in *ledger.TakeDownInputs) { in.SilverLow.Dissolved = 2 },
		func(in *ledger.TakeDownInputs) { in.SilverHigh.Dissolved = 2 }} {
		_, ok = with(inputs(), wrong).Silver(held)
		require.False(t, ok, "no more can be dissolved than there is")
	}
	dev, _ := b.l.Contents("tray-dev", at("21:00"))
	_, ok = inputs().Silver(dev)
	require.False(t, ok, "a developer dissolves no silver")
	b.write(at("21:01"), ledger.Discarded{Container: "tray-fix", Volume: 2000, Emptied: true, To: "drum-silver", Reason: "end"})
	b.write(at("21:02"), ledger.WasteAdded{Container: "drum-silver", Volume: 3000, What: "rinse"})
	drum, _ := b.l.Contents("drum-silver", at("21:03"))
	got, ok = inputs().Silver(drum)
	require.True(t, ok)
	require.InDelta(t, 138.8*2/5, got.Low, 0.1)
	require.InDelta(t, 666.8*2/5, got.High, 0.1)
}

// Of sheets that went through two fixing baths the second has what they carried over: after
// 10 sheets 8x10 (0.516 m²) of 1.6 g/m², all dissolved, 1 L of first bath holds 0.826 g/L; with
// 388 mL a m² (silvergrain.com, replenishing system; secondary) at most 0.516 x 388 = 200 mL of it
// are in the second: 0.165 g in 1 L.
func TestTheSecondFixingBathHasTheSilverThatIsCarriedOver(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), fixer("first", "tray-fix", 1000))
	b.write(at("08:05"), fixer("second", "tray-fix-2", 1000))
	b.write(at("09:00"), sheets(10, nil, "tray-fix", "tray-fix-2"))
	each := ledger.SilverInputs{Coating: 1.6, Dissolved: 1}
	in := ledger.TakeDownInputs{Losses: ledger.Losses{CarryOver: 388}, SilverLow: each, SilverHigh: each}
	silver := func(id string) float64 {
		c, ok := b.l.Contents(id, at("10:00"))
		require.True(t, ok)
		f, _ := in.Silver(c)
		return f.High
	}
	first := 10 * float64(ledger.EightByTen) * 1.6 * 1000
	require.InDelta(t, 825.8, first, 0.1)
	require.InDelta(t, first, silver("tray-fix"), 1e-6)
	require.InDelta(t, 165.3, silver("tray-fix-2"), 0.1)

	unstated := in
	unstated.Losses.CarryOver = 0
	second, _ := b.l.Contents("tray-fix-2", at("10:00"))
	all, _ := unstated.Silver(second)
	require.InDelta(t, first, all.High, 1e-6, "while nobody has stated what is carried over, all of it counts")

	// The second moves up, and is from then on the bath that sheets come to first.
	b.write(at("09:10"), ledger.Discarded{Container: "tray-fix", Volume: 1000, To: "drum-silver", Reason: "used up"})
	require.InDelta(t, first, silver("drum-silver"), 1e-6)
	b.write(at("09:11"), ledger.Promoted{From: "tray-fix-2", To: "tray-fix"})
	b.write(at("09:20"), sheets(10, nil, "tray-fix"))
	require.InDelta(t, 165.3+first, silver("tray-fix"), 0.1)
	b.write(at("09:30"), ledger.Discarded{Container: "tray-fix", Volume: 500, To: "drum-silver", Reason: "half of it"})
	require.InDelta(t, (first+(165.3+first)/2)/1.5, silver("drum-silver"), 0.1, "the silver goes with the liquid")
}

func TestAFigureForSilverHoldsForTheContentItWasTakenFrom(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 5000, What: "rinse of the fixer trays"})
	b.write(at("09:00"), silver("<2"))
	b.write(at("10:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("10:10"), sheets(10, nil, "tray-fix"))
	_, changed, ok := b.l.SilverIn("drum-silver")
	require.True(t, ok)
	require.Zero(t, changed)
	b.write(at("11:00"), ledger.Discarded{Container: "tray-fix", Volume: 2000, Emptied: true, To: "drum-silver", Reason: "used"})
	_, changed, ok = b.l.SilverIn("drum-silver")
	require.True(t, ok)
	require.Equal(t, at("11:00"), changed, "used fixer came in after the sample")
	again := silver("900")
	again.Sampled = at("00:00").AddDate(0, 0, 1)
	b.write(at("09:00").AddDate(0, 0, 1), again)
	now, changed, _ := b.l.SilverIn("drum-silver")
	require.Zero(t, changed)
	require.Equal(t, "900 mg/L", now.Silver.String())
	// A laboratory's figure that comes days later cannot tell what came in on the day of the sample.
	b.write(at("10:00").AddDate(0, 0, 1), ledger.WasteAdded{Container: "drum-silver", Volume: 100, What: "rinse"})
	late := silver("800")
	late.Sampled, late.Reference = again.Sampled, "paper 8"
	b.write(at("09:00").AddDate(0, 0, 9), late)
	_, changed, _ = b.l.SilverIn("drum-silver")
	require.NotZero(t, changed)
}

func TestUsedWashAidCarriesSilverAndFreshWashAidDoesNot(t *testing.T) {
	b := newBook(t).room()
	b.write(at("09:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("09:00"), ledger.ContainerNamed{Container: "tray-aid", Vessel: ledger.Tray, Capacity: 3000})
	b.write(at("09:01"), ledger.BatchMixed{Batch: "aid", Name: "Wash aid", Product: "wash-aid", Class: ledger.WashAid, Into: "tray-aid",
		Meant: ledger.FromUnknown, Water: 2000, Owner: ledger.House})
	fresh, _ := b.l.Contents("tray-aid", at("09:02"))
	require.False(t, fresh.SilverBearing)
	one := newBook(t).room()
	require.NoError(t, one.l.Replay(b.entries[len(one.entries):]))
	one.write(at("09:30"), sheets(1, nil, "tray-fix", "tray-aid"))
	first, _ := one.l.Contents("tray-aid", at("09:31"))
	require.True(t, first.SilverBearing, "from the first sheet on")
	b.write(at("10:00"), sheets(20, nil, "tray-fix", "tray-aid"))
	used, _ := b.l.Contents("tray-aid", at("10:01"))
	require.True(t, used.SilverBearing)
	require.Positive(t, float64(used.Silver.After), "what the sheets brought from the fixer")
	plain := ledger.Discarded{Container: "tray-aid", Volume: 2000, Emptied: true, To: "drum-plain", Reason: "used"}
	require.Contains(t, b.refuse(b.entry(at("11:00"), plain), ledger.ErrMismatch), "Keep the wastes apart")
	old := newBook(t).room()
	require.NoError(t, old.l.Replay(b.entries[len(old.entries):]))
	require.NoError(t, old.l.Apply(old.entry(at("11:00"), plain)), "a book from before is still read")
	b.write(at("10:30"), ledger.WasteAdded{Container: "drum-plain", Volume: 10, What: "rinse"})
	for _, act := range []ledger.Act{ledger.PortionPoured{From: "tray-aid", To: "drum-plain", Volume: 2000},
		ledger.Merged{From: "tray-aid", Into: "drum-plain"}} {
		b.refuse(b.entry(at("11:00"), act), ledger.ErrMismatch)
	}
	plain.To = "drum-silver"
	b.write(at("11:00"), plain)
}
