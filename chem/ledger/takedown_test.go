package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// class is an evening with two baths, 40 sheets, a top-up, and a return.
func class(t *testing.T) *book {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix", "bottle-fix", 4000))
	b.write(at("18:00"), ledger.SessionOpened{Session: "class", Title: "Class", Lead: "Bo", People: []string{"Cy"}})
	b.write(at("18:05"), developer("dev", "tray-dev", 2000))
	b.write(at("18:06"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	b.write(at("19:00"), sheets(20, nil, "tray-dev", "tray-fix"))
	b.write(at("19:30"), ledger.ToppedUp{Container: "tray-dev", Water: 100})
	b.write(at("20:50"), iodide("tray-fix", "clear"))
	return b
}

func inputs() ledger.TakeDownInputs {
	return ledger.TakeDownInputs{
		// 20 mL for 80 square inches: silvergrain.com, replenishing system (secondary).
		Losses:    ledger.Losses{CarryOver: 20 / quantity.Millilitre(ledger.EightByTen), Evaporation: 50},
		SilverLow: ledger.SilverInputs{Coating: 0.538, Dissolved: 0.5}, SilverHigh: ledger.SilverInputs{Coating: 1.615, Dissolved: 0.8},
	}
}

func TestTakeDownSaysWhatGoesWhere(t *testing.T) {
	b := class(t)
	down, err := b.l.TakeDown("class", at("21:00"), inputs())
	require.NoError(t, err)
	require.Len(t, down.Items, 2)
	dev, fix := down.Items[0], down.Items[1]
	require.Equal(t, "tray-dev", dev.Contents.Container)
	require.Equal(t, ledger.DiscardIt, dev.Action)
	require.Equal(t, "drum-plain", dev.To)
	require.Equal(t, ledger.ReturnIt, fix.Action, fix.Because)
	require.Equal(t, "bottle-fix", fix.To, "back where it came from")
	require.Contains(t, dev.How[0].String(), "Follow local rules")
	require.Contains(t, fix.How[0].String(), "pour it through a funnel into its own bottle")
	require.Contains(t, fix.How[1].String(), "silver-bearing waste", "if it comes to that")
	require.Contains(t, fix.Cautions[0].String(), "safety data sheet")
	require.Len(t, down.Note, 5)
	require.Equal(t, "State: tray-dev holds 2100 mL of print developer: discard; tray-fix holds 2000 mL of fixer: return.",
		down.Note[0].String())
	require.Contains(t, down.Note[2].String(), "2 vessels are still to be emptied or put away")
	require.Contains(t, down.Note[3].String(), "drum-silver empty")
	// 20 sheets of 0.051613 m² at 0.538 g/m² x 0.5 and 1.615 g/m² x 0.8, by hand.
	require.InDelta(t, 0.2777, down.SilverLow, 0.0005)
	require.InDelta(t, 1.3337, down.SilverHigh, 0.0005)
	require.Equal(t, []ledger.StockUse{{Product: "print-developer", Volume: 200}}, down.Stock, "the fixer was mixed before the session")
	_, err = b.l.TakeDown("nowhere", at("21:00"), inputs())
	require.ErrorIs(t, err, ledger.ErrUnknown)
}

// A sheet that goes through two fixing baths gives off its silver once.
func TestSilverOfTwoBathsIsCountedOnce(t *testing.T) {
	b := class(t)
	b.write(at("20:00"), fixer("second", "tray-fix-2", 2000))
	b.write(at("20:05"), sheets(10, nil, "tray-dev", "tray-fix", "tray-fix-2"))
	require.InDelta(t, 30*float64(ledger.EightByTen), float64(b.l.Processed("class", ledger.Fixer)), 1e-9)
	require.InDelta(t, 30*float64(ledger.EightByTen), float64(b.l.Processed("class", ledger.PrintDeveloper)), 1e-9)
	down, err := b.l.TakeDown("class", at("21:00"), inputs())
	require.NoError(t, err)
	require.InDelta(t, 0.2777*1.5, down.SilverLow, 0.001)
	// 20 mL a sheet cling to it out of each bath: 30 sheets left the developer, 30 the first fixing bath and 10 the second.
	require.InDelta(t, 30*20, float64(down.Balances[0].CarryOver), 1e-6)
	require.InDelta(t, 40*20, float64(down.Balances[1].CarryOver), 1e-6)
}

// mixed + brought = returned + discarded + left + carry-over + evaporation + unexplained
func TestBalanceCloses(t *testing.T) {
	b := class(t)
	for _, bal := range b.l.Balances("class", inputs().Losses) {
		require.InDelta(t, float64(bal.Mixed+bal.Brought), sum(bal), 1e-9)
	}
	b.write(at("21:00"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 1450, Emptied: true})
	b.write(at("21:01"), ledger.Discarded{Container: "tray-dev", Volume: 1300, Emptied: true, To: "drum-plain", Reason: "end of session"})
	b.write(at("21:10"), ledger.SessionClosed{Session: "class"})
	got := b.l.Balances("class", inputs().Losses)
	require.Len(t, got, 2)
	dev, fix := got[0], got[1]
	// By hand: 2000 mixed + 100 of water - 1300 - 20 x 20 - 50 = 350; 2000 - 1450 - 400 - 50 = 100.
	require.InDelta(t, 2100, float64(dev.Mixed), 1e-9)
	require.InDelta(t, 350, float64(dev.Unexplained), 1e-6)
	require.InDelta(t, 350.0/2100, dev.UnexplainedShare(), 1e-9)
	require.InDelta(t, 2000, float64(fix.Brought), 1e-9)
	require.Equal(t, []quantity.Millilitre{0, 1300, 0}, []quantity.Millilitre{dev.Returned, dev.Discarded, dev.Left})
	require.Equal(t, []quantity.Millilitre{1450, 0, 0}, []quantity.Millilitre{fix.Returned, fix.Discarded, fix.Left})
	require.InDelta(t, 100, float64(fix.Unexplained), 1e-6)
	for _, bal := range got {
		require.InDelta(t, float64(bal.Mixed+bal.Brought), sum(bal), 1e-9)
	}
	down, err := b.l.TakeDown("class", at("21:11"), inputs())
	require.NoError(t, err)
	require.Equal(t, "State: all trays and tanks are empty.", down.Note[0].String())
	require.Contains(t, down.Note[1].String(), "350 mL of print developer are unexplained (17 %)")
	require.Contains(t, down.Note[2].String(), "nothing is waiting")
	require.Contains(t, down.Note[3].String(), "drum-plain 6 % full")
	require.Contains(t, down.Note[4].String(), "200 mL of Print developer, liquid concentrate taken")
}

// A class and one person's evening at the same time: what stands in the trays when one of them begins or ends is its own,
// and each mix belongs to the session that it names.
func TestTwoSessionsAtOnceHaveTheirOwnBalances(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("18:00"), ledger.SessionOpened{Session: "class", Title: "Class", Lead: "Bo"})
	b.write(at("18:30"), ledger.SessionOpened{Session: "late", Title: "Film line", Lead: "Cy"})
	in := func(session string, when time.Time, act ledger.Act) {
		e := b.entry(when, act)
		e.Session = session
		b.take(e)
	}
	in("late", at("18:40"), fixer("more", "tray-fix-2", 500))
	in("late", at("18:50"), ledger.Discarded{Container: "tray-fix-2", Volume: 200, To: "drum-silver", Reason: "spilt"})
	in("late", at("18:51"), ledger.Discarded{Container: "tray-fix-2", Volume: 300, Route: "as the place allows", Reason: "spilt"})
	b.write(at("20:00"), ledger.SessionClosed{Session: "class"})
	b.write(at("21:00"), ledger.SessionClosed{Session: "late"})
	for session, want := range map[string]ledger.Balance{
		"class": {Class: ledger.Fixer, Brought: 1000, Left: 1000},
		"late":  {Class: ledger.Fixer, Brought: 1000, Mixed: 500, Discarded: 500, Left: 1000},
	} {
		require.Equal(t, []ledger.Balance{want}, b.l.Balances(session, ledger.Losses{}), session)
	}
}

// Stock that stands in a tank is drawn for a batch in a tray: it has left the tank, and nothing is missing.
func TestWhatIsDrawnFromATankForAMixIsAccountedFor(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), ledger.ContainerNamed{Container: "tank", Vessel: ledger.Tank, Capacity: 5000})
	b.write(at("17:01"), developer("stock", "tank", 2000))
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
	b.write(at("18:01"), with(developer("dev", "tray-dev", 1000), func(a *ledger.BatchMixed) {
		a.Meant, a.From, a.ParentVolume, a.Water, a.Aim = ledger.FromStock, "tank", 500, 500, ledger.Parts{Parent: 1, Water: 1}
	}))
	require.Equal(t, []ledger.Balance{{Class: ledger.PrintDeveloper, Brought: 2000, Mixed: 1000, Returned: 500, Left: 2500}},
		b.l.Balances("S", ledger.Losses{}))
	batch, _ := b.l.Batch("dev")
	require.InDelta(t, 0.05, batch.AimStrength, 1e-12, "half of 1+9")
	off, known := batch.StrengthError()
	require.True(t, known)
	require.Zero(t, off)
	require.Empty(t, b.l.StockUsed("S"), "stock was taken, no concentrate")
}

// A whole packet is stock used, by what it makes.
func TestAPacketOfPowderIsStockUsed(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), ledger.LotReceived{Lot: "powder", Product: "print-developer-powder", Class: ledger.PrintDeveloper, Units: 2,
		UnitVolume: 3800, Powder: true, Owner: ledger.House})
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
	b.write(at("18:01"), ledger.BatchMixed{Batch: "stock", Name: "Stock", Product: "print-developer-powder", Class: ledger.PrintDeveloper,
		Into: "bottle-dev", Meant: ledger.FromPowder, Lot: "powder", Water: 3800, Owner: ledger.House})
	for _, product := range []string{"print-developer-powder", "print-developer"} {
		_, known := b.l.PerSquareMetre(product)
		require.False(t, known, "nothing went through %s", product)
	}
	b.write(at("18:02"), with(developer("found", "tray-dev", 1000), func(a *ledger.BatchMixed) {
		a.Meant, a.From, a.ParentVolume = ledger.FromUnknown, "", 0
	}))
	b.write(at("18:03"), sheets(1, nil, "tray-dev"))
	_, known := b.l.PerSquareMetre("print-developer")
	require.False(t, known, "of what nobody saw taken it is not known how much a sheet takes")
	require.Zero(t, ledger.Balance{}.UnexplainedShare())
	require.Equal(t, []ledger.StockUse{{Product: "print-developer-powder", Volume: 3800}}, b.l.StockUsed("S"))
	require.Empty(t, b.l.StockUsed("another"))
	require.InDelta(t, 3800, float64(b.l.OnHand("print-developer-powder")), 1e-9, "the other packet")
}

func sum(b ledger.Balance) float64 {
	return float64(b.Returned + b.Discarded + b.Left + b.CarryOver + b.Evaporation + b.Unexplained)
}

func TestTakeDownOfTheDoubtful(t *testing.T) {
	b := class(t)
	b.write(at("20:55"), iodide("tray-fix", "cloudy"))
	b.write(at("20:56"), ledger.BottleFound{Container: "found", Volume: 100, Capacity: 500, Where: "shelf"})
	own := fixer("own", "tray-fix-2", 1000)
	own.Owner = ledger.Owner("private: Cy")
	b.write(at("20:57"), own)
	down, err := b.l.TakeDown("class", at("21:00"), inputs())
	require.NoError(t, err)
	require.Equal(t, ledger.DiscardIt, down.Items[1].Action)
	require.Equal(t, "drum-silver", down.Items[1].To)
	require.Equal(t, ledger.OwnerTakes, down.Items[2].Action)
	require.Contains(t, down.Note[1].String(), "the iodide precipitate test failed")
	require.Contains(t, down.Note[2].String(), "found: test first (identity)")
}

// Call for collection at three quarters (Missouri State University).
func TestWasteLevel(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 5000, What: "rinse of the fixer trays"})
	level := waste(b, at("08:00").AddDate(0, 0, 10))
	require.InDelta(t, 0.25, level.Fraction, 1e-12)
	require.InDelta(t, 10, level.Days, 1e-9)
	require.WithinDuration(t, at("08:00").AddDate(0, 0, 30), level.ThreeQuart, time.Second, "a quarter in ten days")
	require.True(t, waste(b, at("09:00")).ThreeQuart.IsZero(), "one hour says nothing about the pace")
	require.True(t, waste(b, at("07:59").AddDate(0, 0, 1)).ThreeQuart.IsZero())
	require.Equal(t, at("08:00").AddDate(0, 0, 3), waste(b, at("08:00").AddDate(0, 0, 1)).ThreeQuart, "a quarter in one day")
	b.write(at("10:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 10000, What: "more"})
	require.True(t, waste(b, at("11:00")).CallNow)
	b.refuse(b.entry(at("12:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 6000, What: "too much"}), ledger.ErrVolume)
	b.write(at("13:00"), ledger.WasteCollected{Container: "drum-silver", Collector: "licensed carrier", Reference: "paper 1"})
	require.Zero(t, waste(b, at("14:00")).Volume)
	b.refuse(b.entry(at("15:00"), ledger.WasteCollected{Container: "drum-silver", Collector: "licensed carrier"}), ledger.ErrNotEnough)
}

func waste(b *book, when time.Time) ledger.WasteLevel {
	b.t.Helper()
	for _, w := range b.l.Waste(when) {
		if w.Container == "drum-silver" {
			return w
		}
	}
	b.t.Fatal("no silver drum")
	return ledger.WasteLevel{}
}

func TestStockAndReorder(t *testing.T) {
	b := class(t)
	require.InDelta(t, 2800, float64(b.l.OnHand("print-developer")), 1e-6, "two sealed and 800 mL open")
	per, ok := b.l.PerSquareMetre("print-developer")
	require.True(t, ok)
	require.InDelta(t, 200/(20*float64(ledger.EightByTen)), per, 1e-6)
	_, ok = b.l.PerSquareMetre("toner")
	require.False(t, ok)

	plan := ledger.ReorderPlan{OnHand: 2800, PerSquareMetre: per, Lead: 14 * 24 * time.Hour}
	for week := range 20 {
		plan.Bookings = append(plan.Bookings, ledger.Booking{At: evening().AddDate(0, 0, 7*week), Area: 40 * ledger.EightByTen})
	}
	runsOut, orderBy, ok := plan.Reorder()
	require.True(t, ok)
	require.Equal(t, evening().AddDate(0, 0, 49), runsOut, "400 mL a class: seven classes, short at the eighth")
	require.Equal(t, evening().AddDate(0, 0, 35), orderBy)
	plan.Bookings = plan.Bookings[:7]
	_, _, ok = plan.Reorder()
	require.False(t, ok)
}

// What is usual at the end of an evening, by the class of the bath (common practice).
func TestWhatIsUsualWithABathAtTheEnd(t *testing.T) {
	for class, want := range map[ledger.Class]struct {
		action ledger.Action
		to     string
	}{
		ledger.PrintDeveloper: {ledger.DiscardIt, "drum-plain"}, ledger.FilmDeveloper: {ledger.DiscardIt, "drum-plain"},
		ledger.WashAid: {ledger.DiscardIt, "drum-plain"}, ledger.Toner: {ledger.DiscardIt, ""}, ledger.UnknownClass: {ledger.DiscardIt,
			"drum-silver"},
		ledger.StopBath: {ledger.TestIt, "tray"}, ledger.Fixer: {ledger.TestIt, "tray"},
	} {
		b := newBook(t).room()
		b.write(at("17:00"), ledger.ContainerNamed{Container: "tray", Vessel: ledger.Tray, Capacity: 3000})
		b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
		b.write(at("18:01"), ledger.BathFound{Container: "tray", Batch: "x", Name: "bath", Class: class, Volume: 1000, Fresh: true})
		down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
		require.NoError(t, err)
		require.Equal(t, want.action, down.Items[0].Action, class)
		if want.action == ledger.DiscardIt {
			require.Equal(t, want.to, down.Items[0].To, class)
		}
	}
}

// A drum takes what fits to the last millilitre, else the next one of its kind is named, else none.
func TestTheWasteGoesIntoADrumWithRoomForIt(t *testing.T) {
	for filled, to := range map[quantity.Millilitre]string{18000: "drum-silver", 18001: "second"} {
		b := class(t)
		b.write(at("20:55"), iodide("tray-fix", "cloudy"))
		b.write(at("20:56"), ledger.ContainerNamed{Container: "second", Vessel: ledger.WasteContainer, Capacity: 5000,
			Stream: ledger.SilverStream})
		b.write(at("20:57"), ledger.WasteAdded{Container: "drum-silver", Volume: filled, What: "used fixer"})
		down, err := b.l.TakeDown("class", at("21:00"), inputs())
		require.NoError(t, err)
		require.Equal(t, to, down.Items[1].To)
	}
}

// A tenth of a class that is not accounted for, more or less of it, is worth a word (common practice).
func TestTheNoteSpeaksOfATenthThatIsMissingOrTooMuch(t *testing.T) {
	for returned, says := range map[quantity.Millilitre]bool{900: true, 901: false, 1000: false} {
		b := newBook(t).room()
		b.write(at("17:00"), fixer("fix", "bottle-fix", 2000))
		b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
		b.write(at("18:01"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 1000})
		b.write(at("20:00"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: returned, Emptied: true})
		down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
		require.NoError(t, err)
		require.Equal(t, says, down.Note[1].String() != "Wrong: nothing is known to be wrong.", "%v of 1000 mL: %s", returned, down.Note[1])
		more, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{Losses: ledger.Losses{Evaporation: 1100 - returned}})
		require.NoError(t, err)
		require.Contains(t, more.Note[1].String(), "-100 mL of fixer are unexplained (-10 %)", "more was found than the estimates allow")
	}
}

// A bath goes back into the bottle that it came from, also when it moved up from one tray to another in between.
func TestABathGoesBackToItsBottleFromWhicheverTray(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("fix", "bottle-fix", 2000))
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
	b.write(at("18:01"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix-2", Volume: 1000})
	b.write(at("19:00"), ledger.Promoted{From: "tray-fix-2", To: "tray-fix"})
	down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
	require.NoError(t, err)
	require.Equal(t, ledger.ReturnIt, down.Items[0].Action)
	require.Equal(t, "bottle-fix", down.Items[0].To)
	b.write(at("21:01"), ledger.PortionPoured{From: "bottle-fix", To: "bottle-fix-2", Volume: 1000})
	c, _ := b.l.Container("bottle-fix-2")
	require.Equal(t, "bottle-fix", c.FilledFrom)
}

// What was mixed in its tray goes back where the bath of that tray went last, and never into a tray, a bottle
// of concentrate or one of another chemical.
func TestAMixedBathGoesBackWhereTheOneBeforeItWent(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), ledger.LotReceived{Lot: "L", Class: ledger.Fixer, Units: 2, UnitVolume: 500, Owner: ledger.House})
	b.write(at("17:00"), ledger.LotOpened{Lot: "L", Container: "concentrate"})
	b.write(at("17:01"), ledger.LotOpened{Lot: "L", Container: "used up"})
	b.write(at("17:02"), with(fixer("other", "tray-fix-2", 5000), func(a *ledger.BatchMixed) {
		a.From, a.ParentVolume, a.Water = "used up", 500, 500
	}))
	b.write(at("17:03"), ledger.Discarded{Container: "tray-fix-2", Volume: 1000, Emptied: true, Route: "as the place allows",
		Reason: "poured"})
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
	mix := func(batch string) ledger.BatchMixed {
		return with(fixer(batch, "tray-fix", 1000), func(a *ledger.BatchMixed) { a.From, a.ParentVolume, a.Water = "concentrate", 100, 900 })
	}
	b.write(at("18:01"), mix("one"))
	of := func() ledger.TakeDownItem {
		down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
		require.NoError(t, err)
		return down.Items[0]
	}
	require.Empty(t, of().Home, "nothing has gone back before")
	require.Equal(t, []string{"bottle-fix", "bottle-fix-2"}, of().Stores, "the bottle of the developer is kept for it")
	b.write(at("19:00"), ledger.Returned{From: "tray-fix", To: "bottle-fix-2", Volume: 1000, Emptied: true})
	b.write(at("19:01"), ledger.Discarded{Container: "bottle-fix-2", Volume: 1000, Emptied: true, Route: "as the place allows", Reason: "old"})
	b.write(at("19:02"), mix("two"))
	require.Equal(t, "bottle-fix-2", of().Home)
	require.Equal(t, "bottle-fix-2", of().To)
	require.Empty(t, of().Route, "a drum is there for it")
	require.Equal(t, []string{"bottle-fix", "bottle-fix-2"}, of().Stores)
}

// What no waste container is for goes where the content of its tray went last.
func TestABathWithoutADrumIsDiscardedWhereTheOneBeforeItWent(t *testing.T) {
	const away = "taken away with the toners"
	b := newBook(t).room()
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
	tray := ledger.ContainerNamed{Container: "tray-tone", Vessel: ledger.Tray, Capacity: 5000, Bath: "toner"}
	toner := func(batch string) ledger.BatchMixed {
		return with(developer(batch, "tray-tone", 1000), func(a *ledger.BatchMixed) {
			a.Class, a.Product, a.Meant, a.From, a.ParentVolume = ledger.Toner, "", ledger.FromUnknown, "", 0
		})
	}
	of := func() ledger.TakeDownItem {
		down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
		require.NoError(t, err)
		return down.Items[0]
	}
	b.write(at("18:01"), tray)
	b.write(at("18:02"), toner("one"))
	require.Empty(t, of().Route)
	b.write(at("19:00"), ledger.Discarded{Container: "tray-tone", Volume: of().Contents.Volume, Emptied: true, Route: away, Reason: "used"})
	b.write(at("19:01"), toner("two"))
	require.Equal(t, away, of().Route)
	b.write(at("19:02"), ledger.ContainerNamed{Container: "drum-toner", Vessel: ledger.WasteContainer, Capacity: 9000,
		Stream: ledger.TonerStream})
	require.Empty(t, of().Route, "a drum is there for it now")
}

func TestStockWithoutANameInTheCatalogueIsSaidToBeSuch(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), ledger.LotReceived{Lot: "L", Class: ledger.Fixer, Units: 1, UnitVolume: 500, Owner: ledger.House})
	b.write(at("17:00"), ledger.LotOpened{Lot: "L", Container: "nameless"})
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Bo"})
	b.write(at("18:01"), with(fixer("fix", "tray-fix", 1000), func(a *ledger.BatchMixed) { a.From, a.Product = "nameless", "" }))
	b.write(at("18:02"), developer("dev", "tray-dev", 500))
	down, err := b.l.TakeDown("S", at("21:00"), ledger.TakeDownInputs{})
	require.NoError(t, err)
	require.Equal(t, "Stock: 100 mL of a product that is not in the catalogue taken; 50 mL of Print developer, liquid concentrate taken.",
		down.Note[4].String())
}
