package daemon_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/dashboard/cards"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// bench is a daemon whose shelf a story is told to.
type bench struct {
	testing.TB
	d    *daemon.Daemon
	room string
}

// does enters what a person did, now.
func (b bench) does(who string, a ledger.Act) cards.ShelfReceipt {
	b.Helper()
	r, err := b.tries(who, a)
	require.NoError(b, err)
	return r
}

func (b bench) tries(who string, a ledger.Act) (cards.ShelfReceipt, error) {
	return b.d.Shelf().Enter(b.Context(), cards.ShelfEntry{Room: b.room, Person: who, Act: a})
}

// look gives what the book says.
func look[T any](d *daemon.Daemon, ask func(*cards.ShelfBook) T) T { return ask(d.Shelf().Book()) }

func (b bench) mayPour(container string) ledger.Answer {
	return look(b.d, func(s *cards.ShelfBook) ledger.Answer { return s.MayPour(container, s.At) })
}

// bath is what the board shows of a bath.
func (b bench) bath(i int) rules.BathView { return b.d.Now().Rooms[0].Baths[i] }

// opened receives and opens a bottle of concentrate.
func (b bench) opened(product, bottle string, class ledger.Class) {
	b.does("Ada", ledger.LotReceived{Lot: bottle + " lot", Product: product, Class: class, Units: 1, UnitVolume: 1000, Owner: ledger.House})
	b.does("Ada", ledger.LotOpened{Lot: bottle + " lot", Container: bottle})
}

func aBench(t *testing.T) bench {
	b := bench{t, running(t, options(t)), "darkroom"}
	b.opened("print-developer", "PD bottle", ledger.PrintDeveloper)
	b.opened("rapid-fixer", "FX bottle", ledger.Fixer)
	return b
}

const (
	developerTray = "Developer tray"
	fixerTray     = "Fixer tray"
)

func nine(batch, into string, concentrate, water quantity.Millilitre) ledger.BatchMixed {
	return ledger.BatchMixed{Batch: batch, Name: "Print developer", Product: "print-developer", Class: ledger.PrintDeveloper, Into: into,
		Meant: ledger.FromConcentrate, From: "PD bottle", ParentVolume: concentrate, Water: water, Aim: ledger.Parts{Parent: 1, Water: 9},
		Owner: ledger.House}
}

func fixer(batch, into string) ledger.BatchMixed {
	return ledger.BatchMixed{Batch: batch, Name: "Fixer", Product: "rapid-fixer", Class: ledger.Fixer, Into: into,
		Meant: ledger.FromConcentrate,
		From:  "FX bottle", ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
}

func TestAStudentWhoPoursTenPartsOfWaterForNineIsToldAndTheBoardKnowsIt(t *testing.T) {
	b := aBench(t)
	require.Nil(t, b.bath(0).Portion)
	seen := look(b.d, func(s *cards.ShelfBook) uint64 { return s.Version() })
	got, err := b.d.Shelf().Enter(t.Context(), cards.ShelfEntry{Room: "darkroom", Person: "Sam", Seen: seen,
		Act: nine("PD-1", developerTray, 100, 1000)})
	require.NoError(t, err, "the naming of the tray comes between, and is no conflict")
	require.Contains(t, fmt.Sprint(got.Warnings), "Developer tray: 9.1 % too weak: add 11.1 mL of concentrate, and enter it as a top-up",
		"with the receipt, before a sheet goes in")
	answer := b.mayPour(developerTray)
	require.Contains(t, fmt.Sprint(answer.Limits), "The strength is 91 % of what was intended")
	p := b.bath(0).Portion
	require.NotNil(t, p, "one entry fills the tray on the board as well")
	require.Equal(t, "Sam", p.By)
	require.Equal(t, "PD-1", p.Batch)
	require.InDelta(t, 100.0/1100, float64(p.Known.Made), 1e-9)
	require.InDelta(t, 0.1, float64(p.Known.Aim), 1e-9)

	b.does("Sam", ledger.ToppedUp{Container: developerTray, From: "PD bottle", Volume: 11.1111})
	require.InDelta(t, 0.1, float64(b.bath(0).Portion.Known.Made), 1e-4, "1100 mL at 1/11 lack 11.1 mL of concentrate")
	require.Equal(t, p.Record, b.bath(0).Portion.Record, "a top-up is no new filling")
	b.does("Sam", ledger.TraysCovered{Containers: []string{developerTray}})
	require.True(t, b.bath(0).Portion.Covered)
	b.does("Sam", ledger.Discarded{Container: developerTray, Volume: 1000, Emptied: true, Route: "foul drain, permitted",
		Reason: "end of the session"})
	require.Nil(t, b.bath(0).Portion)
}

func TestStockThatIsTakenForConcentrateIsRefusedUntilItIsConfirmed(t *testing.T) {
	b := aBench(t)
	b.does("Ada", ledger.ContainerNamed{Container: "jug", Vessel: ledger.Bottle, Capacity: 5000})
	b.does("Ada", nine("PD-stock", "jug", 100, 900))
	mix := nine("PD-2", developerTray, 100, 900)
	mix.From = "jug"
	_, err := b.tries("Sam", mix)
	require.ErrorIs(t, err, ledger.ErrMismatch)
	require.ErrorContains(t, err, "jug holds stock, not concentrate: the mix would be 10.0 times weaker than meant")
	require.Nil(t, b.bath(0).Portion)
	mix.Confirmed = true
	b.does("Sam", mix)
	require.InDelta(t, 0.01, float64(b.bath(0).Portion.Known.Made), 1e-9)
	require.Equal(t, ledger.Discard, b.mayPour(developerTray).Verdict)
}

func TestAFixerThatFailsAtCloseNamesEverybodySinceItPassedAtOpening(t *testing.T) {
	b := aBench(t)
	b.does("Ada", fixer("FX-1", fixerTray))
	rc := ledger.SheetsUsed{Containers: []string{fixerTray}, Material: ledger.ResinCoated, Count: 10, SheetArea: ledger.EightByTen,
		People: []string{"Early"}}
	b.does("Ada", ledger.SessionOpened{Session: "first", Title: "afternoon", Lead: "Ada", People: []string{"Early"}})
	b.does("Ada", rc)
	b.does("Ada", ledger.SessionClosed{Session: "first"})
	b.does("Ada", ledger.SessionOpened{Session: "second", Title: "evening", Lead: "Bo"})
	b.does("Bo", ledger.TestDone{Test: ledger.IodideTest, Container: fixerTray, Seen: "clear"})
	rc.People = []string{"Cleo", "Dan"}
	b.does("Bo", rc)
	failed := b.does("Bo", ledger.TestDone{Test: ledger.IodideTest, Container: fixerTray, Seen: "cloudy"})
	affected := look(b.d, func(s *cards.ShelfBook) ledger.Affected {
		a, err := s.Affected(failed.Number)
		require.NoError(t, err)
		return a
	})
	require.Equal(t, []string{"Cleo", "Dan"}, affected.Tell, "who fixed before the pass is not named")
	require.Equal(t, "second", affected.Sessions[0].ID)
	require.Equal(t, ledger.Discard, b.mayPour(fixerTray).Verdict)
}

func TestAPromotedBathTakesItsHistoryToItsNewPlace(t *testing.T) {
	o := options(t)
	second := o.Config.Rooms[0].Baths[2]
	second.ID, second.Name, second.Channel = "fixer-2", "Second fixer", ""
	o.Config.Rooms[0].Baths = append(o.Config.Rooms[0].Baths, second)
	o.Config.Rooms[0].Pouring = append(o.Config.Rooms[0].Pouring, "fixer-2")
	b := bench{t, running(t, o), "darkroom"}
	b.opened("rapid-fixer", "FX bottle", ledger.Fixer)
	b.does("Ada", fixer("FX-1", fixerTray))
	b.does("Ada", fixer("FX-2", "Second fixer tray"))
	b.does("Ada", ledger.SheetsUsed{Containers: []string{fixerTray, "Second fixer tray"}, Material: ledger.FibreBased, Count: 12,
		SheetArea: ledger.EightByTen})
	_, err := b.tries("Ada", ledger.Promoted{From: "Second fixer tray", To: fixerTray})
	require.ErrorContains(t, err, "still holds 2000 mL of the first bath")
	b.does("Ada", ledger.Discarded{Container: fixerTray, Volume: 1950, Emptied: true, Route: "silver-bearing drum", Reason: "used up"})
	b.does("Ada", ledger.Promoted{From: "Second fixer tray", To: fixerTray})
	require.Equal(t, "FX-2", b.bath(2).Portion.Batch)
	require.Nil(t, b.bath(len(o.Config.Rooms[0].Baths)-1).Portion)
	load := look(b.d, func(s *cards.ShelfBook) quantity.SquareMetre {
		c, ok := s.Contents(fixerTray, s.At)
		require.True(t, ok)
		return c.Load.Of(ledger.FibreBased)
	})
	require.InDelta(t, 12*0.05161, float64(load), 1e-3, "12 sheets 8x10 moved with the liquid")
}

func TestThreeBatchesAreLoggedTheNextMorningAsLate(t *testing.T) {
	b := aBench(t)
	yesterday := time.Now().Add(-15 * time.Hour)
	for i, e := range []cards.ShelfEntry{
		{Act: ledger.BatchMixed{Batch: "PD-y", Name: "Print developer", Class: ledger.PrintDeveloper, Into: developerTray,
			Meant: ledger.FromUnknown, Water: 2000, Owner: ledger.House}},
		{Act: ledger.BatchMixed{Batch: "SB-y", Name: "Stop bath", Class: ledger.StopBath, Into: "Stop bath tray", Meant: ledger.FromUnknown,
			Water: 2000, Owner: ledger.House}},
		{Act: ledger.BatchMixed{Batch: "FX-y", Name: "Fixer", Class: ledger.Fixer, Into: fixerTray, Meant: ledger.FromUnknown, Water: 2000,
			Owner: ledger.House}},
	} {
		e.Room, e.Person, e.Happened = "darkroom", "Bo", yesterday.Add(time.Duration(i)*time.Minute)
		_, err := b.d.Shelf().Enter(t.Context(), e)
		require.ErrorContains(t, err, "a late entry needs a reason")
		e.Reason = "the tablet was flat"
		r, err := b.d.Shelf().Enter(t.Context(), e)
		require.NoError(t, err)
		require.True(t, r.Late)
	}
	for i := range 3 {
		require.WithinDuration(t, yesterday, b.bath(i).Portion.Filled, 3*time.Minute, "the time is when it happened")
	}
	_, err := b.d.Shelf().Enter(t.Context(), cards.ShelfEntry{Room: "darkroom", Person: "Bo", Happened: time.Now().Add(time.Hour),
		Act: fixer("FX-z", "PD bottle")})
	require.ErrorIs(t, err, ledger.ErrTime)
	mix := nine("PD-old", "PD bottle", 10, 90)
	_, err = b.d.Shelf().Enter(t.Context(), cards.ShelfEntry{Person: "Bo", Happened: yesterday.Add(-time.Hour), Reason: "forgotten", Act: mix})
	require.Error(t, err, "its concentrate had not come yet")
}

func TestAnUnknownBottleIsANormalEntry(t *testing.T) {
	b := aBench(t)
	b.does("Ada", ledger.BottleFound{Container: "brown jug", Volume: 700, Capacity: 1000, Where: "under the sink",
		Looks: "clear, smells of vinegar"})
	answer := b.mayPour("brown jug")
	require.Equal(t, ledger.TestFirst, answer.Verdict)
	_, err := b.tries("Ada", ledger.BottleFound{Container: "brown jug", Volume: 700, Capacity: 1000, Where: "under the sink"})
	require.ErrorIs(t, err, ledger.ErrTaken)
}

func TestWhoHasLeftCannotWriteAndTwoAtOnceAreTold(t *testing.T) {
	o := options(t)
	o.Config.People = []ledger.Person{{Name: "Ada"}, {Name: "Bo"}, {Name: "Left", Left: time.Now().Add(-48 * time.Hour)}}
	b := bench{t, running(t, o), "darkroom"}
	b.opened("rapid-fixer", "FX bottle", ledger.Fixer)
	b.does("Ada", fixer("FX-1", fixerTray))
	_, err := b.tries("Left", ledger.TraysCovered{Containers: []string{fixerTray}})
	require.ErrorIs(t, err, ledger.ErrPerson)
	seen := look(b.d, func(s *cards.ShelfBook) uint64 { return s.Version() })
	b.does("Ada", ledger.ToppedUp{Container: fixerTray, Water: 100})
	_, err = b.d.Shelf().Enter(t.Context(), cards.ShelfEntry{Person: "Bo", Seen: seen, Act: ledger.ToppedUp{Container: fixerTray, Water: 50}})
	require.ErrorIs(t, err, ledger.ErrStale)
	require.ErrorContains(t, err, "what you typed is kept")
}

func TestOneTrayIsFilledOnceBetweenEntries(t *testing.T) {
	b := aBench(t)
	found(t, b.d, "darkroom", "developer")
	_, err := b.tries("Bo", nine("PD-1", developerTray, 100, 900))
	require.ErrorIs(t, err, ledger.ErrTaken)
	p := b.bath(0).Portion
	require.Equal(t, "invented bath", p.What)
	require.Zero(t, p.Known.Made, "nobody knows how strong it is")
	require.InDelta(t, 0.1, float64(p.Known.Aim), 1e-9)
}

func TestACorrectionIsANewRecordAndTheBoardFollowsIt(t *testing.T) {
	b := aBench(t)
	r := b.does("Ada", nine("PD-1", developerTray, 100, 1000))
	b.does("Ada", ledger.Correction{Of: r.Number, Reason: "900 was poured", Instead: nine("PD-1", developerTray, 100, 900)})
	require.InDelta(t, 0.1, float64(b.bath(0).Portion.Known.Made), 1e-9)
	b.does("Ada", ledger.Correction{Of: r.Number, Reason: "it was the day before"})
	require.Nil(t, b.bath(0).Portion)
}

// two is a room with two developers of invented times and a probe in each.
const two = `[[room]]
id = "darkroom"
volume = "30 m3"
[[room.line]]
id = "line"
port = "wire"
dialect = "text"
[[room.line.channel]]
id = "cold"
quantity = "bath-temperature"
address = "C0"
unit = "C"
[[room.line.channel]]
id = "warm"
quantity = "bath-temperature"
address = "C1"
unit = "C"
[[room.bath]]
id = "neutral"
role = "developer"
channel = "cold"
[room.bath.times]
source = "invented"
points = ["18C=2:10", "22C=1:25"]
slowing = 0.2
[[room.bath]]
id = "slow"
role = "developer"
channel = "warm"
[room.bath.times]
source = "invented"
points = ["18C=4:00", "22C=3:00"]
`

func TestTwoDevelopersHaveTwoTimesAndAnEmergenceTimeReachesItsOwn(t *testing.T) {
	site, err := config.Parse("two.toml", []byte(two))
	require.NoError(t, err)
	o := options(t)
	site.Data, site.Listen = o.Config.Data, o.Config.Listen
	w := &wires{lines: map[string]*wire{}}
	o.Config, o.Opener = site, w
	b := bench{t, running(t, o), "darkroom"}
	require.Eventually(t, func() bool { return w.line("wire") != nil }, 5*time.Second, time.Millisecond)
	w.line("wire").chunks <- []byte("\r\n")
	speak := func() { w.line("wire").chunks <- sentence(8, 20) }
	b.opened("print-developer", "PD bottle", ledger.PrintDeveloper)
	b.does("Ada", nine("PD-1", "neutral tray", 100, 900))
	b.does("Ada", nine("PD-2", "slow tray", 200, 1800))
	seconds := func(i int) float64 {
		at, ok := b.bath(i).Recommendation.Time()
		if !ok {
			return 0
		}
		return at.Seconds()
	}
	require.Eventually(t, func() bool { speak(); return seconds(0) > 0 && seconds(1) > 0 }, 5*time.Second, 50*time.Millisecond)
	fresh := [2]float64{seconds(0), seconds(1)}
	require.InDelta(t, 105, fresh[0], 2, "between 2:10 and 1:25 at 20 °C")
	require.InDelta(t, 208, fresh[1], 2, "between 4:00 and 3:00 at 20 °C")

	b.does("Ada", ledger.SheetsUsed{Containers: []string{"neutral tray"}, Material: ledger.ResinCoated, Count: 50,
		SheetArea: ledger.EightByTen})
	speak()
	require.Eventually(t, func() bool { return seconds(0) > fresh[0]+5 }, 5*time.Second, 20*time.Millisecond,
		"50 of 100 sheets to the litre: 10 %")
	require.InDelta(t, fresh[1], seconds(1), 0.5, "the other bath has done nothing")

	twenty := quantity.Celsius(20)
	require.Eventually(t, func() bool {
		speak()
		r, err := b.tries("Ada", ledger.TestDone{Test: ledger.EmergenceTest, Container: "slow tray", Seconds: 20, Baseline: true,
			Temperature: &twenty})
		return err == nil && r.Number > 0
	}, 5*time.Second, 50*time.Millisecond)
	b.does("Ada", ledger.TestDone{Test: ledger.EmergenceTest, Container: "slow tray", Seconds: 27, Temperature: &twenty})
	require.Equal(t, 20*time.Second, b.bath(1).Portion.Known.Emergence.Fresh)
	require.InDelta(t, 20, float64(b.bath(1).Portion.Known.Emergence.FreshAt), 1e-9, "as it was entered")
	require.Greater(t, seconds(1), fresh[1]*1.1)
	b.does("Ada", ledger.TestDone{Test: ledger.EmergenceTest, Container: "slow tray", Seconds: 31, Temperature: &twenty})
	_, ok := b.bath(1).Recommendation.Time()
	require.False(t, ok, "a developer that its test condemns gets no time")
	require.Contains(t, b.bath(1).Recommendation.Sentence().String(), "The emergence time test failed")
}
