package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// The table is complete: each test says what a pass shows, what it cannot show, and where that comes from.
func TestEveryTestHasItsReach(t *testing.T) {
	for _, kind := range ledger.TestKinds() {
		r := ledger.ReachOf(kind)
		require.Equal(t, kind, r.Test)
		require.NotEmpty(t, r.Shows.String(), kind)
		require.NotEmpty(t, r.Not.String(), kind)
		require.NotEmpty(t, r.Source.String(), kind)
		require.NotEmpty(t, r.Standing, kind)
		require.Equal(t, kind == ledger.ResidualSilver || kind == ledger.ResidualFixer, r.Share == 0,
			"the test of a print says nothing about work to come: %s", kind)
		require.LessOrEqual(t, r.Share, 0.5, kind)
	}
	require.Len(t, ledger.Reaches(), len(ledger.TestKinds()))
}

func warm(c quantity.Celsius) *quantity.Celsius { return &c }

// stopBath is a litre of stop bath with so many sheets through it; the catalogue's figure, 20 sheets
// 8x10 a litre, is from memory and so unverified.
func stopBath(t *testing.T, count int) *book {
	b := newBook(t).room()
	b.write(at("12:00"), ledger.ContainerNamed{Container: "tray-stop", Vessel: ledger.Tray, Capacity: 3000, Bath: "stop"})
	b.write(at("12:00"), ledger.LotReceived{Lot: "lot-stop", Product: "stop-bath", Class: ledger.StopBath, Units: 1, UnitVolume: 1000,
		Owner: ledger.House})
	b.write(at("12:00"), ledger.LotOpened{Lot: "lot-stop", Container: "conc-stop"})
	b.write(at("12:01"), ledger.BatchMixed{Batch: "stop", Name: "Stop bath", Product: "stop-bath", Class: ledger.StopBath,
		Into: "tray-stop", Meant: ledger.FromConcentrate,
		From: "conc-stop", ParentVolume: 50, Water: 950, Aim: ledger.Parts{Parent: 1, Water: 19}, Owner: ledger.House})
	if count > 0 {
		b.write(at("13:00"), sheets(count, nil, "tray-stop"))
	}
	return b
}

func (b *book) yellow(clock string) ledger.Answer {
	b.t.Helper()
	b.write(at(clock), ledger.TestDone{Test: ledger.StopColourTest, Container: "tray-stop", Seen: "yellow", WhiteLight: true})
	return b.l.MayPour("tray-stop", at(clock))
}

func TestAYellowStopBathCountsForAStatedAmountOfWorkAndNeverPastTwiceItsFigure(t *testing.T) {
	b := stopBath(t, 25)
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-stop", at("13:01")).Verdict, "past its figure and not tested")
	passed := b.yellow("13:02")
	require.Equal(t, ledger.Pour, passed.Verdict, passed.Sentence())
	b.write(at("13:10"), sheets(4, nil, "tray-stop"))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-stop", at("13:11")).Verdict, "4 of 20 sheets: within a quarter of the capacity")
	b.write(at("13:12"), sheets(1, nil, "tray-stop"))
	again := b.l.MayPour("tray-stop", at("13:13"))
	require.Equal(t, ledger.TestFirst, again.Verdict, "5 of 20 sheets: the colour has to be looked at again")
	require.Equal(t, ledger.Pour, b.yellow("13:14").Verdict)
	b.write(at("13:20"), sheets(10, nil, "tray-stop"))
	past := b.yellow("13:21")
	require.Equal(t, ledger.Discard, past.Verdict, "40 sheets are twice the figure, yellow or not")
	require.Contains(t, past.Because.Words.String(), "no test counts any more")
	require.Contains(t, past.Because.Source.String(), "wetside's own rule")
	b.write(at("13:30"), sheets(232, nil, "tray-stop"))
	require.Equal(t, ledger.Discard, b.yellow("13:31").Verdict, "1360 % of the capacity")
}

func TestADeveloperIsNotPouredAtThreeTimesItsCapacityBecauseOneTestPassed(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), developer("dev", "tray-dev", 1000))
	emergence := ledger.TestDone{Test: ledger.EmergenceTest, Container: "tray-dev", Seconds: 10, Baseline: true, Temperature: warm(20)}
	b.write(at("12:01"), emergence)
	b.write(at("13:00"), sheets(305, nil, "tray-dev")) // 100 a litre in the catalogue, unverified
	emergence.Baseline, emergence.Seconds = false, 12
	b.write(at("13:01"), emergence)
	require.Equal(t, ledger.Discard, b.l.MayPour("tray-dev", at("13:02")).Verdict)
}

// Whatever was tested, or mixed fresh: a used bath past twice an unverified figure is never poured, and one past its
// figure only within the reach of a test that can show it.
func TestNoBathIsPouredBeyondTheReachOfItsTests(t *testing.T) {
	figures := catalogue(t)
	rapid.Check(t, func(t *rapid.T) {
		l, now := ledger.New(ledger.Settings{Catalogue: figures}), at("13:00")
		var n, since int
		take := func(act ledger.Act) {
			n++
			require.NoError(t, l.Apply(ledger.Entry{Number: uint64(n), At: now, Entered: now, By: "Ada", Act: act}))
		}
		take(ledger.ContainerNamed{Container: "tray-stop", Vessel: ledger.Tray, Capacity: 3000})
		take(ledger.LotReceived{Lot: "lot-stop", Product: "stop-bath", Class: ledger.StopBath, Units: 1, UnitVolume: 1000, Owner: ledger.House})
		take(ledger.LotOpened{Lot: "lot-stop", Container: "conc-stop"})
		take(ledger.BatchMixed{Batch: "stop", Name: "Stop bath", Product: "stop-bath", Class: ledger.StopBath, Into: "tray-stop",
			Meant: ledger.FromConcentrate,
			From:  "conc-stop", ParentVolume: 50, Water: 950, Aim: ledger.Parts{Parent: 1, Water: 19}, Owner: ledger.House})
		total := 0
		for range rapid.IntRange(1, 20).Draw(t, "steps") {
			now = now.Add(time.Minute)
			if rapid.Bool().Draw(t, "test") && total > 0 {
				take(ledger.TestDone{Test: ledger.StopColourTest, Container: "tray-stop", Seen: "yellow", WhiteLight: true})
				since = 0
			} else {
				count := rapid.IntRange(1, 9).Draw(t, "sheets")
				total, since = total+count, since+count
				take(ledger.SheetsUsed{Containers: []string{"tray-stop"}, Material: ledger.FibreBased, Count: count, SheetArea: ledger.EightByTen})
			}
			if l.MayPour("tray-stop", now).Verdict == ledger.Pour && total > 0 {
				require.Less(t, since, 5, "a quarter of 20 sheets a litre")
				require.Less(t, total, 40, "twice 20 sheets a litre")
			}
		}
	})
}

// Dividing and topping up a tested bath makes no work of before or after the test undone.
func TestWorkAfterATestIsCountedThroughTopUps(t *testing.T) {
	b := stopBath(t, 4)
	b.yellow("13:01")
	b.write(at("13:01"), ledger.ContainerNamed{Container: "tray-stop-2", Vessel: ledger.Tray, Capacity: 3000})
	b.write(at("13:02"), ledger.BatchMixed{Batch: "more", Name: "Stop bath", Product: "stop-bath", Class: ledger.StopBath,
		Into: "tray-stop-2", Meant: ledger.FromConcentrate,
		From: "conc-stop", ParentVolume: 50, Water: 950, Aim: ledger.Parts{Parent: 1, Water: 19}, Owner: ledger.House})
	b.write(at("13:03"), ledger.ToppedUp{Container: "tray-stop", From: "tray-stop-2", Volume: quantity.Millilitre(1000)})
	b.write(at("13:04"), sheets(9, nil, "tray-stop"))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-stop", at("13:05")).Verdict, "9 of 40 sheets for two litres")
	b.write(at("13:06"), sheets(1, nil, "tray-stop"))
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-stop", at("13:07")).Verdict, "10 of 40 are a quarter")
}

// Of a tested bath that is divided each part has its part of the work, of before the test and of after it.
func TestWorkAfterATestIsCountedInAPartOfTheBath(t *testing.T) {
	b := stopBath(t, 8)
	b.yellow("13:01")
	b.write(at("13:02"), ledger.Discarded{Container: "tray-stop", Volume: 500, Route: "as the place allows", Reason: "too full"})
	b.write(at("13:03"), sheets(2, nil, "tray-stop"))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-stop", at("13:04")).Verdict, "2 of 10 sheets for half a litre")
	b.write(at("13:05"), sheets(1, nil, "tray-stop"))
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-stop", at("13:06")).Verdict, "3 of 10")
}

// A quarter of the 100 sheets 8x10 a litre of the catalogue may follow a test of a developer (common practice).
func TestADeveloperIsTestedAgainAfterAQuarterOfItsWork(t *testing.T) {
	emergence := ledger.TestDone{Test: ledger.EmergenceTest, Container: "tray-dev", Seconds: 10, Temperature: warm(20)}
	strip := ledger.TestDone{Test: ledger.BlackStripTest, Container: "tray-dev", Seen: "as black as the first strip"}
	for _, test := range []ledger.TestDone{emergence, strip} {
		b := newBook(t).room()
		b.write(at("12:00"), developer("dev", "tray-dev", 1000))
		b.write(at("12:01"), with(test, func(a *ledger.TestDone) { a.Baseline = true }))
		b.write(at("13:00"), sheets(10, nil, "tray-dev"))
		b.write(at("13:01"), test)
		b.write(at("13:02"), sheets(24, nil, "tray-dev"))
		require.Equal(t, ledger.Pour, b.l.MayPour("tray-dev", at("13:03")).Verdict, test.Test)
		b.write(at("13:04"), sheets(1, nil, "tray-dev"))
		require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-dev", at("13:05")).Verdict, test.Test)
		held, _ := b.l.Contents("tray-dev", at("13:05"))
		require.Zero(t, held.Tests[test.Test].Seconds, "only a clearing time is compared by pages")
	}
}

func TestAClearingTimeStandsBesideThatOfTheFreshBath(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	clearing := ledger.TestDone{Test: ledger.ClearingTest, Container: "tray-fix", Film: "film", Seconds: 30, Baseline: true}
	b.write(at("12:01"), clearing)
	for _, now := range []float64{30, 45} {
		held, _ := b.l.Contents("tray-fix", at("12:02"))
		got := held.Tests[ledger.ClearingTest]
		require.Equal(t, []float64{now, 30}, []float64{got.Seconds, got.FreshSeconds})
		clearing.Seconds, clearing.Baseline = 45, false
		b.write(at("12:02"), clearing)
	}
}

// Nobody tests a bath after its first print: one that was mixed fresh as it was meant does half of its work before its
// first test as a fixer (21 of 42 sheets in 2 L), and as much as after a passed one in every case. It does so in its
// tray, on its day, with a known strength and capacity.
func TestABathThatWasMixedFreshIsFirstTestedAsLateAsATestedOne(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("12:10"), sheets(21, nil, "tray-fix"))
	fresh := b.l.MayPour("tray-fix", at("12:11"))
	require.Equal(t, ledger.Pour, fresh.Verdict)
	require.Equal(t, "Mixed fresh: its first test is due once 50 % of the capacity went through", limit(t, fresh, "last test").Words.String())
	require.Equal(t, at("12:00").Add(ledger.TestCounts), limit(t, fresh, "last test").Due, "or a day after it was mixed")
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", at("12:00").Add(ledger.TestCounts)).Verdict, "the next day")
	b.write(at("12:20"), sheets(1, nil, "tray-fix"))
	half := b.l.MayPour("tray-fix", at("12:21"))
	require.Equal(t, ledger.TestFirst, half.Verdict)
	require.Equal(t, "Used and never tested", half.Because.Words.String())

	b.write(at("12:00"), developer("dev", "tray-dev", 1000))
	b.write(at("12:10"), sheets(24, nil, "tray-dev"))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-dev", at("12:11")).Verdict)
	b.write(at("12:20"), ledger.Returned{From: "tray-dev", To: "bottle-dev", Volume: 1000})
	require.Equal(t, ledger.TestFirst, b.l.MayPour("bottle-dev", at("12:21")).Verdict, "what went back into a bottle is tested first")
}

// What is to be done names each test that can settle it.
func TestADoubtNamesTheTestsThatSettleIt(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("12:01"), sheets(11, nil, "tray-fix"))
	require.Contains(t, b.l.MayPour("tray-fix", at("12:02")).Do.String(), "iodide precipitate or clearing time")
	b.write(at("12:00"), developer("dev", "tray-dev", 1000))
	b.write(at("12:01"), sheets(25, nil, "tray-dev"))
	require.Contains(t, b.l.MayPour("tray-dev", at("12:02")).Do.String(), "emergence time or standard black strip")
}

// Past twice a figure from memory the words say so with the name of the limit and beside it.
func TestPastTwiceTheFigureIsSaidBesideTheName(t *testing.T) {
	a := used(t, printFixer(t, func(p *ledger.Product) {
		p.OpenTray = &ledger.Figure{Value: 0.5, Unit: "hours", Source: "test figure", Standing: ledger.Unverified}
	}), 1000, 5)
	require.Equal(t, ledger.Discard, a.Verdict)
	life := limit(t, a, "life in an open tray")
	const says = "60 min old, limit 0.5 hours. Past 2 times the figure no test counts any more"
	require.Equal(t, says, life.BesideName().String())
	require.Equal(t, "life in an open tray: "+says, life.Words.String())
	worn := used(t, printFixer(t, func(p *ledger.Product) { p.Capacity[0].Standing = ledger.Unverified }), 1000, 110)
	area := limit(t, worn, "area processed")
	require.Contains(t, area.BesideName().String(), "no test counts any more")
	require.Equal(t, area.Words, area.BesideName())
}
