package ledger_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// with is a copy of an act with something else in it.
func with[A any](act A, change func(*A)) A {
	change(&act)
	return act
}

// The bounds are choices of this program: beyond them a number is a slip. The last one within is taken,
// the first one past it is not.
func TestEachNumberOfAnEntryHasItsBounds(t *testing.T) {
	use := func(change func(*ledger.SheetsUsed)) ledger.Act { return with(sheets(1, nil, "tray-fix"), change) }
	count := func(n int) ledger.Act { return use(func(a *ledger.SheetsUsed) { a.Count = n }) }
	area := func(m2 quantity.SquareMetre) ledger.Act { return use(func(a *ledger.SheetsUsed) { a.SheetArea = m2 }) }
	lot := func(units int) ledger.Act {
		return ledger.LotReceived{Lot: "L", Class: ledger.Fixer, Units: units, UnitVolume: 500, Owner: ledger.House}
	}
	work := func(students, each int, area quantity.SquareMetre) ledger.Act {
		return with(booking("w", at("19:00"), students), func(a *ledger.WorkBooked) { a.SheetsEach, a.SheetArea = each, area })
	}
	stated := func(change func(*ledger.AssumptionsStated)) ledger.Act {
		return with(ledger.AssumptionsStated{Source: "invented"}, change)
	}
	cleared := func(seconds float64) ledger.Act {
		return ledger.TestDone{Test: ledger.ClearingTest, Container: "tray-fix", Film: "film", Seconds: seconds, Baseline: true}
	}
	timed := func(emergence, whole float64) ledger.Act {
		return ledger.PrintTimed{Container: "tray-dev", Emergence: emergence, Seconds: whole}
	}
	life := func(hours float64) ledger.Act {
		return ledger.ProductNoted{Product: "x", Name: "X", Class: ledger.Fixer, Full: &ledger.Amount{Value: hours, Unit: "hours"},
			Source: "label", Standing: ledger.Verified}
	}
	parts := func(parent, water float64) ledger.Act {
		return with(fixer("x", "tray-fix-2", 100), func(a *ledger.BatchMixed) { a.Aim = ledger.Parts{Parent: parent, Water: water} })
	}
	total := func(made, measured quantity.Millilitre) ledger.Act {
		return with(fixer("x", "tray-fix-2", made), func(a *ledger.BatchMixed) { a.Total = measured })
	}
	named := func(letters int) ledger.Act {
		return ledger.SessionOpened{Session: strings.Repeat("s", letters), Title: "Class", Lead: "Ada"}
	}
	lines := func(number, letters int) ledger.Act {
		all := make([]string, number)
		for i := range all {
			all[i] = strings.Repeat("l", letters)
		}
		return ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: all}
	}
	inf := math.Inf(1)
	for name, c := range map[string]struct{ in, out []ledger.Act }{
		"sheets":            {[]ledger.Act{count(1), count(100000)}, []ledger.Act{count(0), count(-1), count(100001)}},
		"area of a sheet":   {[]ledger.Act{area(1e-4), area(10)}, []ledger.Act{area(0), area(-1), area(10.01)}},
		"units of a lot":    {[]ledger.Act{lot(1), lot(10000)}, []ledger.Act{lot(0), lot(-1), lot(10001)}},
		"people":            {[]ledger.Act{work(1, 1, 1), work(1000, 1, 1)}, []ledger.Act{work(0, 1, 1), work(-1, 1, 1), work(1001, 1, 1)}},
		"sheets of each":    {[]ledger.Act{work(1, 0, 1), work(1, 1000, 1)}, []ledger.Act{work(1, -1, 1), work(1, 1001, 1)}},
		"area of what each": {[]ledger.Act{work(1, 1, 10)}, []ledger.Act{work(1, 1, 0), work(1, 1, 10.01)}},
		"coating": {[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.CoatingLow, a.CoatingHigh = 50, 50 })},
			[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.CoatingHigh = 50.1 }),
				stated(func(a *ledger.AssumptionsStated) { a.CoatingLow = -0.1 }),
				stated(func(a *ledger.AssumptionsStated) { a.CoatingLow, a.CoatingHigh = 2, 1 })}},
		"dissolved": {[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.DissolvedLow, a.DissolvedHigh = 1, 1 })},
			[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.DissolvedHigh = 1.1 }),
				stated(func(a *ledger.AssumptionsStated) { a.DissolvedLow = -0.1 }),
				stated(func(a *ledger.AssumptionsStated) { a.DissolvedLow, a.DissolvedHigh = 0.6, 0.5 })}},
		"carry-over": {[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.CarryOver = 5000 })},
			[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.CarryOver = 5001 }),
				stated(func(a *ledger.AssumptionsStated) { a.CarryOver = -1 })}},
		"evaporation": {[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.Evaporation = 5000 })},
			[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.Evaporation = 5001 }),
				stated(func(a *ledger.AssumptionsStated) { a.Evaporation = -1 })}},
		"delivery": {[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.LeadDays = 365 })},
			[]ledger.Act{stated(func(a *ledger.AssumptionsStated) { a.LeadDays = 366 }),
				stated(func(a *ledger.AssumptionsStated) { a.LeadDays = -1 })}},
		"seconds": {[]ledger.Act{cleared(0.5), cleared(36000)}, []ledger.Act{cleared(0), cleared(-1), cleared(36001), cleared(inf)}},
		"print":   {[]ledger.Act{timed(10, 11), timed(10, 36000)}, []ledger.Act{timed(0, 11), timed(10, 10), timed(10, 36001)}},
		"life":    {[]ledger.Act{life(0.5), life(100000)}, []ledger.Act{life(0), life(-1), life(100001)}},
		"parts":   {[]ledger.Act{parts(1, 0), parts(1e6, 1e6)}, []ledger.Act{parts(0, 1), parts(1, -1), parts(1e6+1, 1), parts(1, 1e6+1)}},
		"total": {[]ledger.Act{total(100, 105), total(100, 95), total(1000, 1020), total(1000, 981)},
			[]ledger.Act{total(100, 106), total(100, 94), total(1000, 1021), total(1000, 980), total(1000, -1)}},
		"letters of a name":     {[]ledger.Act{named(1), named(100)}, []ledger.Act{named(0), named(101)}},
		"lines of a list":       {[]ledger.Act{lines(0, 1), lines(15, 120)}, []ledger.Act{lines(16, 1), lines(1, 121), lines(1, 0)}},
		"volume of a container": {[]ledger.Act{jar(1e6)}, []ledger.Act{jar(0), jar(-1), jar(1e6 + 1)}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t).room()
			b.write(at("08:00"), fixer("fix", "tray-fix", 1000))
			b.write(at("08:00"), developer("dev", "tray-dev", 1000))
			for i, act := range c.in {
				require.NoError(t, b.l.Check(b.entry(at("09:00"), act)), "%d: %+v", i, act)
			}
			for i, act := range c.out {
				require.Error(t, b.l.Check(b.entry(at("09:00"), act)), "%d: %+v", i, act)
			}
		})
	}
}

func jar(capacity quantity.Millilitre) ledger.Act {
	return ledger.ContainerNamed{Container: "jar", Vessel: ledger.Bottle, Capacity: capacity}
}

// What has no name, or a word that there is not, is refused in whichever field it stands.
func TestEachNameAndWordOfAnEntryIsLookedAt(t *testing.T) {
	mix := fixer("x", "tray-fix-2", 1000)
	lot := ledger.LotReceived{Lot: "L", Class: ledger.Fixer, Units: 1, UnitVolume: 500, Owner: ledger.House}
	vessel := ledger.ContainerNamed{Container: "jar", Vessel: ledger.WasteContainer, Capacity: 500, Stream: ledger.TonerStream}
	found := ledger.BottleFound{Container: "relic", Volume: 500, Capacity: 1000, Where: "sink"}
	bath := ledger.BathFound{Container: "tray-fix-2", Batch: "F", Name: "fixer", Class: ledger.Fixer, Volume: 500}
	noted := ledger.ProductNoted{Product: "x", Name: "X", Class: ledger.Fixer, Source: "label", Standing: ledger.Verified}
	gone := ledger.Discarded{Container: "tray-fix", Volume: 10, Route: "drain", Reason: "spilt"}
	more := ledger.ToppedUp{Container: "tray-fix", From: "conc-fix", Volume: 100, Water: 100, WaterTemp: warm(20)}
	rinse := ledger.WasteAdded{Container: "drum-silver", Volume: 10, What: "rinse"}
	taken := ledger.WasteCollected{Container: "drum-silver", Collector: "carrier"}
	session := ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Ada", People: []string{"Cy"}}
	for name, c := range map[string]struct {
		good ledger.Act
		bad  []ledger.Act
	}{
		"mix": {mix, []ledger.Act{with(mix, func(a *ledger.BatchMixed) { a.Batch = "" }), with(mix, func(a *ledger.BatchMixed) { a.Name = "" }),
			with(mix, func(a *ledger.BatchMixed) { a.Product = " x" }), with(mix, func(a *ledger.BatchMixed) { a.Class = "soup" }),
			with(mix, func(a *ledger.BatchMixed) { a.Into = "" }), with(mix, func(a *ledger.BatchMixed) { a.Meant = "soup" }),
			with(mix, func(a *ledger.BatchMixed) { a.Owner = "" }), with(mix, func(a *ledger.BatchMixed) { a.Owner = "private: " }),
			with(mix, func(a *ledger.BatchMixed) { a.With = "\n" }), with(mix, func(a *ledger.BatchMixed) { a.MixTemperature = warm(101) })}},
		"lot": {lot, []ledger.Act{with(lot, func(a *ledger.LotReceived) { a.Lot = "" }), with(lot, func(a *ledger.LotReceived) { a.Class = "" }),
			with(lot, func(a *ledger.LotReceived) { a.Product = "\t" }), with(lot, func(a *ledger.LotReceived) { a.Code = "x " }),
			with(lot, func(a *ledger.LotReceived) { a.Owner = "Ada" }), with(lot, func(a *ledger.LotReceived) { a.UnitVolume = 0 })}},
		"vessel": {vessel, []ledger.Act{with(vessel, func(a *ledger.ContainerNamed) { a.Container = "" }),
			with(vessel, func(a *ledger.ContainerNamed) { a.Vessel = "hat" }), with(vessel, func(a *ledger.ContainerNamed) { a.Bath = " " }),
			with(vessel, func(a *ledger.ContainerNamed) { a.KeptFor = "soup" }), with(vessel, func(a *ledger.ContainerNamed) { a.Stream = "soup" }),
			with(vessel, func(a *ledger.ContainerNamed) { a.Stream = "" }),
			with(vessel, func(a *ledger.ContainerNamed) { a.Vessel = ledger.Bottle })}},
		"bottle found": {found, []ledger.Act{with(found, func(a *ledger.BottleFound) { a.Container = "" }),
			with(found, func(a *ledger.BottleFound) { a.Where = "" }), with(found, func(a *ledger.BottleFound) { a.Looks = " " }),
			with(found, func(a *ledger.BottleFound) { a.Volume = 0 }), with(found, func(a *ledger.BottleFound) { a.Container = "tray-fix" }),
			with(found, func(a *ledger.BottleFound) { a.Container = "lot-fix" })}},
		"bath found": {bath, []ledger.Act{with(bath, func(a *ledger.BathFound) { a.Batch = "" }),
			with(bath, func(a *ledger.BathFound) { a.Name = "" }), with(bath, func(a *ledger.BathFound) { a.Class = "" }),
			with(bath, func(a *ledger.BathFound) { a.Volume = 0 }), with(bath, func(a *ledger.BathFound) { a.Aim.Water = 1 })}},
		"product": {noted, []ledger.Act{with(noted, func(a *ledger.ProductNoted) { a.Product = "" }),
			with(noted, func(a *ledger.ProductNoted) { a.Name = "" }), with(noted, func(a *ledger.ProductNoted) { a.Class = "" }),
			with(noted, func(a *ledger.ProductNoted) { a.Use = " " }), with(noted, func(a *ledger.ProductNoted) { a.Source = "" }),
			with(noted, func(a *ledger.ProductNoted) { a.Standing = "hearsay" }), with(noted, func(a *ledger.ProductNoted) { a.Aim.Water = 1 })}},
		"discarded": {gone, []ledger.Act{with(gone, func(a *ledger.Discarded) { a.Container = "" }),
			with(gone, func(a *ledger.Discarded) { a.Reason = "" }), with(gone, func(a *ledger.Discarded) { a.Volume = 0 }),
			with(gone, func(a *ledger.Discarded) { a.Route = "" }), with(gone, func(a *ledger.Discarded) { a.To = "drum-silver" }),
			with(gone, func(a *ledger.Discarded) { a.Route = " x" }), with(gone, func(a *ledger.Discarded) { a.Route, a.To = "", "bottle-fix" }),
			with(gone, func(a *ledger.Discarded) { a.Route, a.To = "", "nowhere" })}},
		"topped up": {more, []ledger.Act{ledger.ToppedUp{Container: "tray-fix"}, with(more, func(a *ledger.ToppedUp) { a.Container = "" }),
			with(more, func(a *ledger.ToppedUp) { a.From = "tray-fix" }), with(more, func(a *ledger.ToppedUp) { a.From = "" }),
			with(more, func(a *ledger.ToppedUp) { a.Volume = 0 }), with(more, func(a *ledger.ToppedUp) { a.Water = -1 }),
			with(more, func(a *ledger.ToppedUp) { a.WaterTemp = warm(-1) }), with(more, func(a *ledger.ToppedUp) { a.From = "conc-dev" }),
			with(more, func(a *ledger.ToppedUp) { a.Container = "tray-fix-2" }), with(more, func(a *ledger.ToppedUp) { a.Water = 1999 })}},
		"waste added": {rinse, []ledger.Act{with(rinse, func(a *ledger.WasteAdded) { a.Container = "tray-fix-2" }),
			with(rinse, func(a *ledger.WasteAdded) { a.Container = "" }), with(rinse, func(a *ledger.WasteAdded) { a.What = "" })}},
		"waste collected": {taken, []ledger.Act{with(taken, func(a *ledger.WasteCollected) { a.Container = "tray-fix" }),
			with(taken, func(a *ledger.WasteCollected) { a.Collector = "" }), with(taken, func(a *ledger.WasteCollected) { a.Reference = " " })}},
		"letters": {session, []ledger.Act{with(session, func(a *ledger.SessionOpened) { a.Title = "Cl\nass" }),
			with(session, func(a *ledger.SessionOpened) { a.Title = "Cl\x7fass" }),
			with(session, func(a *ledger.SessionOpened) { a.Title = "Cl\xffass" }),
			with(session, func(a *ledger.SessionOpened) { a.Title = " Class" })}},
		"session": {session, []ledger.Act{with(session, func(a *ledger.SessionOpened) { a.Session = "" }),
			with(session, func(a *ledger.SessionOpened) { a.Title = "" }), with(session, func(a *ledger.SessionOpened) { a.Lead = "" }),
			with(session, func(a *ledger.SessionOpened) { a.People = []string{"Cy", ""} }),
			with(session, func(a *ledger.SessionOpened) { a.Session = "Friday" })}},
		"lids": {ledger.TraysCovered{Containers: []string{"tray-fix"}}, []ledger.Act{ledger.TraysCovered{},
			ledger.TraysCovered{Containers: []string{"bottle-fix"}}, ledger.TraysCovered{Containers: []string{"nowhere"}},
			ledger.TraysUncovered{Containers: []string{"bottle-fix"}}, ledger.TraysUncovered{Containers: []string{"tray-fix", ""}}}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t).room()
			b.write(at("08:00"), fixer("fix", "tray-fix", 1000))
			b.write(at("08:00"), ledger.WasteAdded{Container: "drum-silver", Volume: 10, What: "rinse"})
			b.write(at("08:00"), ledger.SessionOpened{Session: "Friday", Title: "Class", Lead: "Ada"})
			require.NoError(t, b.l.Check(b.entry(at("09:00"), c.good)))
			for i, act := range c.bad {
				require.Error(t, b.l.Check(b.entry(at("09:00"), act)), "%d: %+v", i, act)
			}
		})
	}
}

// A batch comes out of one parent, and what it was taken to be says out of which.
func TestAMixNamesTheParentThatItWasTakenFrom(t *testing.T) {
	type parent struct {
		from, lot string
		volume    quantity.Millilitre
	}
	for meant, good := range map[ledger.ParentSort]parent{
		ledger.FromConcentrate: {"conc-fix", "", 100}, ledger.FromStock: {"stock", "", 100}, ledger.FromPowder: {"", "powder", 0},
		ledger.FromUnknown: {},
	} {
		for _, p := range []parent{{}, {"conc-fix", "", 100}, {"stock", "", 100}, {"", "powder", 0}, {"conc-fix", "", 0}, {"", "", 100},
			{"conc-fix", "powder", 100}, {"", "powder", 100}, {"conc-fix", "powder", 0}} {
			b := newBook(t).room()
			b.write(at("08:00"), ledger.LotReceived{Lot: "powder", Class: ledger.Fixer, Units: 1, UnitVolume: 1000, Powder: true,
				Owner: ledger.House})
			b.write(at("08:00"), ledger.ContainerNamed{Container: "stock", Vessel: ledger.Bottle, Capacity: 1000})
			b.write(at("08:00"), fixer("S", "stock", 1000))
			mix := ledger.BatchMixed{Batch: "x", Name: "Fixer", Class: ledger.Fixer, Into: "tray-fix", Meant: meant, From: p.from, Lot: p.lot,
				ParentVolume: p.volume, Water: 900, Owner: ledger.House}
			require.Equal(t, p == good, b.l.Check(b.entry(at("09:00"), mix)) == nil, "%s of %+v", meant, p)
		}
	}
}

// A date may lie so far from the day of writing, and no day further: choices of this program.
func TestADateIsTakenUpToItsBoundAndNotADayPast(t *testing.T) {
	year, day := 366*24*time.Hour, 24*time.Hour
	now := at("18:00")
	b := newBook(t).room()
	for name, c := range map[string]struct {
		back, ahead time.Duration
		act         func(time.Time) ledger.Act
	}{
		"a pack": {20 * year, 20 * year, func(date time.Time) ledger.Act {
			return ledger.LotReceived{Lot: "L", Class: ledger.Fixer, Units: 1, UnitVolume: 500, Owner: ledger.House, Expiry: date}
		}},
		"work": {2 * year, 2 * year, func(date time.Time) ledger.Act { return booking("w", date, 1) }},
		"a sample": {5 * year, 0, func(date time.Time) ledger.Act {
			return with(silver("5"), func(a *ledger.SilverMeasured) { a.Sampled, a.Container, a.Sample = date, "", "outflow" })
		}},
	} {
		for _, corrected := range []bool{false, true} {
			check := func(date time.Time) error {
				act := c.act(date)
				if corrected {
					act = ledger.Correction{Of: 1, Reason: "misread", Instead: act}
				}
				err := b.l.Check(b.entry(now, act))
				if corrected && err != nil && !strings.Contains(err.Error(), "years from today") {
					return nil // a bottle of the room is gone without its entry, which is another matter
				}
				return err
			}
			require.NoError(t, check(now.Add(-c.back)), name)
			require.ErrorContains(t, check(now.Add(-c.back-day)), "years from today", name)
			if c.ahead > 0 {
				require.NoError(t, check(now.Add(c.ahead)), name)
				require.ErrorContains(t, check(now.Add(c.ahead+day)), "years from today", name)
			}
		}
	}
	back := b.entry(now, sheets(1, nil, "tray-fix"))
	back.At = now.Add(-5*year - day)
	require.ErrorContains(t, b.l.Check(back), "years from today")
}
