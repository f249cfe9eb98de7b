package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// A copy and what it was taken from go on apart, whatever is written into either.
func TestTwoCopiesGoOnApart(t *testing.T) {
	for name, add := range map[string]struct {
		act  func(i int) ledger.Act
		list func(*ledger.Ledger) int
		last func(*ledger.Ledger) string
	}{
		"silver": {func(i int) ledger.Act {
			s := silver("3")
			s.Reference = string(rune('a' + i))
			return s
		}, func(l *ledger.Ledger) int { return len(l.SilverLog()) }, func(l *ledger.Ledger) string {
			all := ""
			for _, r := range l.SilverLog() {
				all += r.Reference
			}
			return all
		}},
		"uses": {func(i int) ledger.Act { return sheets(1, []string{string(rune('a' + i))}, "tray-fix") },
			func(l *ledger.Ledger) int { return len(l.Uses()) }, func(l *ledger.Ledger) string {
				all := ""
				for _, u := range l.Uses() {
					all += u.People[0]
				}
				return all
			}},
		"story": {func(i int) ledger.Act {
			return ledger.ToppedUp{Container: "tray-fix", Water: quantity.Millilitre(i + 1)}
		},
			func(l *ledger.Ledger) int { return len(l.Story("tray-fix")) }, func(l *ledger.Ledger) string {
				story := l.Story("tray-fix")
				return story[len(story)-1].Act.Sentence().String()
			}},
	} {
		b := newBook(t).room()
		b.write(at("08:00"), fixer("fix", "tray-fix", 1000))
		for i := range 3 { // room for a fourth in the same memory
			b.write(at("09:00"), add.act(i))
		}
		other := &book{t: t, l: b.l.Copy(), entries: b.entries}
		n := add.list(b.l)
		b.write(at("10:00"), add.act(7))
		mine := add.last(b.l)
		require.Equal(t, n, add.list(other.l), name)
		other.write(at("10:00"), add.act(8))
		require.Equal(t, mine, add.last(b.l), name)
		require.NotEqual(t, mine, add.last(other.l), name)
	}
}

// Powder, stock and working solution: what a session used goes back to the packet.
func TestASessionIsTracedBackThroughEveryMix(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.LotReceived{Lot: "powder", Product: "print-developer-powder", Class: ledger.PrintDeveloper, Units: 1,
		UnitVolume: 3800, Powder: true, Owner: ledger.House})
	stock := ledger.BatchMixed{Batch: "stock", Name: "Stock", Product: "print-developer-powder", Class: ledger.PrintDeveloper,
		Into: "bottle-dev", Meant: ledger.FromPowder, Lot: "powder", Water: 3800, Owner: ledger.House}
	require.Contains(t, b.refuse(b.wroteLate(at("07:00"), stock), ledger.ErrOlder), "The batch is dated 4 Mar 2025 07:00 and "+
		"powder, which it is mixed from, is dated 4 Mar 2025 08:00")
	b.write(at("09:00"), stock)
	working := developer("working", "tray-dev", 1500)
	working.Meant, working.From, working.ParentVolume, working.Water, working.Aim = ledger.FromStock, "bottle-dev", 500, 1000,
		ledger.Parts{Parent: 1, Water: 2}
	b.write(at("09:30"), working)
	b.write(at("17:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Ada"})
	b.write(at("17:10"), sheets(1, nil, "tray-dev"))
	back, err := b.l.Back("S")
	require.NoError(t, err)
	require.Equal(t, []string{"powder"}, back.Lots)
	require.Equal(t, []string{"stock", "working"}, back.Batches)
	siblings, err := b.l.Siblings("working")
	require.NoError(t, err)
	require.Equal(t, []string{"stock"}, siblings)
	b.write(at("20:00"), ledger.SessionClosed{Session: "S"})
	for _, balance := range b.l.Balances("S", ledger.Losses{}) {
		if balance.Class == ledger.PrintDeveloper {
			require.Zero(t, balance.Unexplained, "what stands in the tray when the session ends is known: %+v", balance)
		}
	}
}

func TestAPassedTestCountsForADay(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("09:00"), sheets(3, nil, "tray-fix"))
	b.write(at("10:00"), iodide("tray-fix", "clear"))
	require.Equal(t, at("10:00").AddDate(0, 0, 1), limit(t, b.l.MayPour("tray-fix", at("10:01")), "last test").Due)
}

// Of two tested baths that are poured together the fail counts, and of two passes the older.
func TestTheWorseOfTwoTestsGoesWithTheMix(t *testing.T) {
	for name, c := range map[string]struct {
		first, second ledger.Seen
		at            [2]string
		verdict       ledger.Verdict
		due           string
	}{
		"two passes":        {"clear", "clear", [2]string{"10:00", "11:00"}, ledger.Pour, "10:00"},
		"the other way":     {"clear", "clear", [2]string{"11:00", "10:00"}, ledger.Pour, "10:00"},
		"the first failed":  {"cloudy", "clear", [2]string{"10:00", "11:00"}, ledger.Discard, ""},
		"the second failed": {"clear", "cloudy", [2]string{"10:00", "11:00"}, ledger.Discard, ""},
	} {
		b := newBook(t).room()
		b.write(at("08:00"), fixer("one", "tray-fix", 1000))
		b.write(at("08:00"), fixer("two", "tray-fix-2", 1000))
		b.write(at("09:00"), sheets(2, nil, "tray-fix"))
		b.write(at("09:00"), sheets(2, nil, "tray-fix-2"))
		tests := []ledger.Act{iodide("tray-fix", c.first), iodide("tray-fix-2", c.second)}
		order := []int{0, 1}
		if c.at[0] > c.at[1] {
			order = []int{1, 0}
		}
		for _, i := range order {
			b.write(at(c.at[i]), tests[i])
		}
		b.write(at("12:00"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
		answer := b.l.MayPour("tray-fix", at("12:01"))
		require.Equal(t, c.verdict, answer.Verdict, name)
		if c.due != "" {
			require.Equal(t, at(c.due).AddDate(0, 0, 1), limit(t, answer, "last test").Due, name)
		}
	}
}

// US Navy, NAVEDTRA 14209: exhausted when the clearing time has doubled. Of two batches in one tray the faster one sets what is double.
func TestTheStrictestBaselineOfAMixCounts(t *testing.T) {
	for _, fresh := range [][2]float64{{20, 30}, {30, 20}, {20, 0}, {0, 20}} {
		for _, now := range []float64{39, 41} {
			b := newBook(t).room()
			clearing := ledger.TestDone{Test: ledger.ClearingTest, Film: "test film", Baseline: true}
			for i, tray := range []string{"tray-fix", "tray-fix-2"} {
				b.write(at("08:00"), fixer("batch-"+tray, tray, 1000))
				clearing.Container, clearing.Seconds = tray, fresh[i]
				if fresh[i] > 0 {
					b.write(at("08:10"), clearing)
				}
			}
			b.write(at("09:00"), ledger.Merged{From: "tray-fix-2", Into: "tray-fix"})
			b.write(at("10:00"), sheets(2, nil, "tray-fix"))
			clearing.Container, clearing.Seconds, clearing.Baseline = "tray-fix", now, false
			b.write(at("11:00"), clearing)
			require.Equal(t, now > 40, b.l.MayPour("tray-fix", at("11:01")).Verdict == ledger.Discard, "%v, now %v s", fresh, now)
		}
	}
}

func TestWhoseChemistryItIsIsAskedUnlessNobodyKnowsWhatItIs(t *testing.T) {
	b := newBook(t).room()
	mix := fixer("own", "tray-fix", 1000)
	mix.Owner = ledger.Owner("private: Cy")
	b.write(at("18:00"), mix)
	b.write(at("18:01"), sheets(11, nil, "tray-fix"))
	untested := b.l.MayPour("tray-fix", at("18:02"))
	require.Equal(t, ledger.TestFirst, untested.Verdict)
	require.Contains(t, untested.Do.String(), "ask its owner first")
	require.NotContains(t, b.l.MayPour("conc-fix", at("18:02")).Do.String(), "owner", "it is the house's")
}

func TestALabelNamesTheBottleItsDayIsFor(t *testing.T) {
	life := func(months float64) *ledger.Figure {
		return &ledger.Figure{Value: months, Unit: "months", Source: "test figure", Standing: ledger.Secondary}
	}
	for _, c := range []struct {
		full, part *ledger.Figure
		says       string
	}{{life(2), nil, "3 May 2025 (full bottle; secondary)"}, {life(1), life(2), "3 Apr 2025 (full bottle; secondary)"},
		{life(2), life(1), "3 Apr 2025 (part-full bottle; secondary)"}, {nil, life(1), "3 Apr 2025 (part-full bottle; secondary)"},
		{life(1), life(1), "3 Apr 2025 (part-full bottle; secondary)"}, {nil, nil, "not known"}} {
		products := printFixer(t, func(p *ledger.Product) { p.Full, p.PartFull = c.full, c.part })
		b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: products})}
		b.room()
		b.write(at("17:00"), fixer("fix", "bottle-fix", 4000))
		label, err := b.l.Label("fix", at("18:00"))
		require.NoError(t, err)
		require.Contains(t, label.DiscardBy.String(), c.says)
		passed, err := b.l.Label("fix", at("17:00").AddDate(0, 0, 30))
		require.NoError(t, err)
		tight := c.full != nil && c.full.Value == 1 || c.part != nil
		require.Equal(t, tight, len(passed.DiscardBy.String()) > len(label.DiscardBy.String()), "on the day itself it has passed")
	}
}

func TestWhatEachClassOfBathProcesses(t *testing.T) {
	for class, film := range map[ledger.Class]bool{ledger.PrintDeveloper: false, ledger.FilmDeveloper: true, ledger.Fixer: true} {
		require.Equal(t, film, class.Processes(ledger.Film), class)
	}
	for class, paper := range map[ledger.Class]bool{ledger.PrintDeveloper: true, ledger.FilmDeveloper: false, ledger.StopBath: true} {
		for _, m := range []ledger.Material{ledger.ResinCoated, ledger.FibreBased} {
			require.Equal(t, paper, class.Processes(m), class)
		}
	}
}

// A fixer whose only figure is for the first of two baths is judged as one, fresh or used; one with a figure of its own is not.
func TestAFixerWithAFigureInARowAloneStandsInARow(t *testing.T) {
	row := ledger.Capacity{Material: ledger.ResinCoated, Use: "in a row", Place: ledger.FirstOfTwo, Figure: ledger.Figure{Value: 50,
		Unit: "sheets 8x10 per litre", Source: "test figure", Standing: ledger.Secondary}}
	single := row
	single.Use, single.Place, single.Value = "single bath", "", 20
	for name, c := range map[string]struct {
		capacity []ledger.Capacity
		load     float64
		want     float64
	}{"in a row, fresh": {[]ledger.Capacity{row}, 0, 50}, "alone": {[]ledger.Capacity{row, single}, 0, 20},
		"alone, used": {[]ledger.Capacity{row, single}, 1, 20}, "nothing": {nil, 0, 0}} {
		p := ledger.Product{Class: ledger.Fixer, Capacity: c.capacity}
		held := ledger.Contents{Class: ledger.Fixer}
		if name == "nothing" {
			require.Equal(t, ledger.OnlyBath, p.Wear(held).Place, "nothing says that it stands in a row")
		}
		if c.load > 0 {
			held.Load.ResinCoated = quantity.SquareMetre(c.load)
		}
		least, ok := p.CapacityFor(held, ledger.ResinCoated)
		require.Equal(t, c.want > 0, ok, name)
		require.InDelta(t, c.want, least.Value, 1e-9, name)
	}
}

func TestASessionThatWasNeverOpenedTakesNothing(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), fixer("fix", "tray-fix", 1000))
	for _, act := range []ledger.Act{
		ledger.Discarded{Container: "tray-fix", Volume: 100, Route: "the sink", Reason: "spilt"},
		ledger.Discarded{Container: "tray-fix", Volume: 100, To: "drum-silver", Reason: "spent"},
		ledger.PortionPoured{From: "tray-fix", To: "tray-fix-2", Volume: 100},
		fixer("another", "tray-fix-2", 1000), sheets(1, nil, "tray-fix"), iodide("tray-fix", "clear"),
		ledger.ToppedUp{Container: "tray-fix", Water: 1}, with(found("F", true), func(a *ledger.BathFound) { a.Container = "tray-fix-2" }),
	} {
		e := b.entry(at("09:00"), act)
		e.Session = "none"
		require.Error(t, b.l.Check(e), "%T", act)
		e.Session = ""
		require.NoError(t, b.l.Check(e), "%T", act)
	}
}

func TestAVolumeIsWithinALitreOfAThousand(t *testing.T) {
	b := newBook(t).room()
	for volume, can := range map[quantity.Millilitre]bool{0: false, 0.5: true, 20000: true, 1e6 + 1: false} {
		err := b.l.Check(b.entry(at("09:00"), ledger.WasteAdded{Container: "drum-silver", Volume: volume, What: "rinse"}))
		require.Equal(t, can, err == nil, "%v: %v", volume, err)
		if volume > 1e6 {
			require.ErrorContains(t, err, "more than 0 and at most 1000 L")
		}
	}
	for c, can := range map[quantity.Celsius]bool{-0.1: false, 0: true, 100: true, 100.1: false} {
		mix := fixer("fix", "tray-fix", 1000)
		mix.WaterTemperature = &c
		require.Equal(t, can, b.l.Check(b.entry(at("09:00"), mix)) == nil, "%v °C", c)
	}
}

// Two people at two screens: what one has not seen of a vessel stops the other, and nothing else does.
func TestOnlyWhatSomebodyElseDidToTheSameIsStale(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), fixer("fix", "tray-fix", 1000))
	first := b.write(at("08:10"), sheets(1, nil, "tray-fix"))
	other := b.write(at("08:20"), sheets(2, nil, "tray-fix"))
	seen := b.l.Version()
	correct := func(of uint64) ledger.Entry {
		e := b.entry(at("09:00"), ledger.Correction{Of: of, Reason: "miscounted", At: at("08:15"), Instead: sheets(3, nil, "tray-fix")})
		e.By, e.Seen = "Bo", seen
		return e
	}
	b.take(correct(first))
	require.ErrorIs(t, b.l.Check(correct(first)), ledger.ErrStale)
	require.NotErrorIs(t, b.l.Check(correct(other)), ledger.ErrStale, "another entry was corrected")
	later := correct(first)
	later.Seen = b.l.Version()
	require.NotErrorIs(t, b.l.Check(later), ledger.ErrStale)

	mix := b.entry(at("10:00"), fixer("more", "tray-fix-2", 500))
	mix.By, mix.Seen = "Bo", b.l.Version()
	b.write(at("09:50"), ledger.PortionPoured{From: "tray-fix", To: "bottle-fix", Volume: 100})
	mix.Number = b.l.Version() + 1
	require.NoError(t, b.l.Check(mix), "neither the tray nor the concentrate was touched")
	b.write(at("09:55"), fixer("between", "bottle-fix-2", 500))
	mix.Number = b.l.Version() + 1
	require.ErrorIs(t, b.l.Check(mix), ledger.ErrStale, "the concentrate was")
}

func TestTheNoteCallsForTheCollectionOfAFullContainer(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Ada"})
	b.write(at("09:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 15000, What: "used fixer"})
	b.write(at("09:00"), ledger.WasteAdded{Container: "drum-plain", Volume: 14000, What: "used developer"})
	down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
	require.NoError(t, err)
	require.Contains(t, down.Note[3].String(), "drum-silver 75 % full, 0 days since the first drop, call for collection")
	require.Contains(t, down.Note[3].String(), "drum-plain 70 % full, 0 days since the first drop;")
}

func TestASessionThatEndsInACopyGoesOnInTheOther(t *testing.T) {
	b := newBook(t).room()
	for _, id := range []string{"a", "b", "c"} {
		b.write(at("18:00"), ledger.SessionOpened{Session: id, Title: "Class", Lead: "Bo"})
	}
	other := &book{t: t, l: b.l.Copy()}
	other.write(at("18:01"), ledger.SessionClosed{Session: "a"})
	b.write(at("18:02"), ledger.SessionClosed{Session: "b"})
	b.write(at("18:03"), ledger.SessionClosed{Session: "c"})
	b.write(at("18:04"), sheets(1, nil, "tray-fix"))
	require.Equal(t, "a", b.l.Uses()[0].Session)
	require.Contains(t, other.refuse(other.entry(at("18:04"), sheets(1, nil, "tray-fix")), ledger.ErrSession), "2 sessions are open")
}

// What went through a bath in one copy is not what went through it in the other.
func TestThePrintsOfABathAreThoseOfItsOwnCopy(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	for _, name := range []string{"Bo", "Cy", "Dee"} { // room for a fourth in the same memory
		b.write(at("12:10"), sheets(1, []string{name}, "tray-fix"))
	}
	other := &book{t: t, l: b.l.Copy()}
	b.write(at("12:20"), sheets(1, []string{"Eli"}, "tray-fix"))
	other.write(at("12:20"), sheets(1, []string{"Gus"}, "tray-fix-2"))
	other.write(at("12:30"), sheets(1, []string{"Flo"}, "tray-fix"))
	for each, last := range map[*book]string{b: "Eli", other: "Flo"} {
		a, err := each.l.Affected(each.write(at("12:40"), iodide("tray-fix", "cloudy")))
		require.NoError(t, err)
		require.Equal(t, []string{"Bo", "Cy", "Dee", last}, a.Tell)
	}
}
