package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// printFixer is a product with one capacity, 200 sheets 8 x 10 a US gallon (US
// Navy, Photography (Basic), NAVEDTRA 14209), and lives for every state.
func printFixer(t *testing.T, change func(*ledger.Product)) ledger.Catalogue {
	month := &ledger.Figure{Value: 1, Unit: "months", Source: "test figure", Standing: ledger.Secondary}
	p := ledger.Product{ID: "rapid-fixer", Name: "Fixer", Class: ledger.Fixer, Opened: month, Full: month, PartFull: month,
		Floating: month, OpenTray: month,
		TrayTime: &ledger.Figure{Value: 20, Unit: "hours", Source: "test figure", Standing: ledger.Secondary},
		Capacity: []ledger.Capacity{{Material: ledger.ResinCoated, Use: "single bath", Figure: ledger.Figure{Value: 200,
			Unit:   "sheets 8x10 per US gallon",
			Source: "US Navy, NAVEDTRA 14209", Standing: ledger.Verified}}}}
	if change != nil {
		change(&p)
	}
	c, err := ledger.NewCatalogue(p)
	require.NoError(t, err)
	return c
}

// used is a tray of fixer at 19:00 with so many sheets through it and a passed test at the end.
func used(t *testing.T, c ledger.Catalogue, volume quantity.Millilitre, count int) ledger.Answer {
	b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: c})}
	b.room()
	mix := fixer("fix", "tray-fix", volume)
	b.write(at("17:00"), ledger.ContainerNamed{Container: "tray-fix", Vessel: ledger.Tray, Capacity: 5000})
	b.write(at("18:00"), mix)
	if count > 0 {
		b.write(at("18:30"), sheets(count, nil, "tray-fix"))
		b.write(at("18:59"), iodide("tray-fix", "clear"))
	}
	return b.l.MayPour("tray-fix", at("19:00"))
}

// clears is a used tray of fixer at 19:00 whose clearing time was taken fresh and now.
func clears(t *testing.T, c ledger.Catalogue) ledger.Answer {
	b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: c})}
	b.room()
	b.write(at("18:00"), fixer("fix", "tray-fix", 1000))
	clearing := ledger.TestDone{Test: ledger.ClearingTest, Container: "tray-fix", Film: "test film", Seconds: 30, Baseline: true}
	b.write(at("18:00"), clearing)
	b.write(at("18:30"), sheets(5, nil, "tray-fix"))
	clearing.Baseline, clearing.Seconds = false, 40
	b.write(at("18:59"), clearing)
	return b.l.MayPour("tray-fix", at("19:00"))
}

// US Navy, NAVEDTRA 14209: about 200 sheets 8 x 10 a US gallon; 52.8 a litre.
func TestCapacityByArea(t *testing.T) {
	const gallon = 3785.411784
	for _, c := range []struct {
		volume quantity.Millilitre
		count  int
		want   ledger.Verdict
	}{{gallon, 199, ledger.Pour}, {gallon, 200, ledger.Discard}, {1000, 52, ledger.Pour}, {1000, 53, ledger.Discard}} {
		a := used(t, printFixer(t, nil), c.volume, c.count)
		require.Equal(t, c.want, a.Verdict, "%d sheets in %.0f mL: %s", c.count, float64(c.volume), a.Sentence())
		require.Equal(t, "US Navy, NAVEDTRA 14209", limit(t, a, "area processed").Source.String())
	}
}

// Published capacities differ by 2.5 times; the smallest one binds and is named.
func TestTightestCapacityBinds(t *testing.T) {
	a := used(t, catalogue(t), 1000, 22)
	require.Equal(t, ledger.Discard, a.Verdict)
	require.Contains(t, a.Because.Source.String(), "p. 108")
	require.Contains(t, a.Because.Words.String(), "80 sheets 8x10 per US gallon")
	half := used(t, printFixer(t, func(p *ledger.Product) { p.Capacity[0].Value, p.Capacity[0].Unit = 20, "sheets 8x10 per litre" }), 2000, 20)
	require.Equal(t, "20 sheets 8x10 went through 2.00 L: 50 % of the capacity, 20 sheets 8x10 per litre (single bath)",
		limit(t, half, "area processed").Words.String())
	require.Regexp(t, `^1 sheet 8x10 went through 2\.00 L`, limit(t, used(t, printFixer(t, nil), 2000, 1), "area processed").Words.String())
}

func TestWhatIsNotKnownIsNeverPoured(t *testing.T) {
	for name, change := range map[string]func(*ledger.Product){
		"no capacity":  func(p *ledger.Product) { p.Capacity = nil },
		"no life":      func(p *ledger.Product) { p.OpenTray = nil },
		"no tray time": func(p *ledger.Product) { p.TrayTime = nil },
		"no product":   func(p *ledger.Product) { p.ID = "another" },
	} {
		a := used(t, printFixer(t, change), 1000, 5)
		require.Equal(t, ledger.TestFirst, a.Verdict, name)
		require.Contains(t, a.Do.String(), "catalogue", name)
	}
	b := newBook(t).room()
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", evening()).Verdict, "empty")
	require.Equal(t, ledger.TestFirst, b.l.MayPour("nowhere", evening()).Verdict, "unknown container")
	require.Equal(t, ledger.TestFirst, b.l.MayPour("conc-fix", evening().AddDate(0, 0, -9)).Verdict, "before it was there")
}

// A label is all that is known of a bath: that its test was passed is said as long as nothing went through it, and then
// that it is to be tested again. It is never said to be as good as one with figures.
func TestABathWithoutFiguresSaysHowItsTestStands(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), ledger.BathFound{Batch: "S", Name: "stop bath", Class: ledger.StopBath, Container: "tray-fix", Volume: 2000})
	now := func(clock string) ledger.Limit {
		a := b.l.MayPour("tray-fix", at(clock))
		require.Equal(t, ledger.TestFirst, a.Verdict)
		return a.Because
	}
	require.Zero(t, now("17:01").Tested)
	b.write(at("17:02"), ledger.TestDone{Test: ledger.StopColourTest, Container: "tray-fix", Seen: "yellow", WhiteLight: true})
	require.Equal(t, ledger.JustTested, now("17:06").Tested)
	require.Contains(t, now("17:06").Words.String(), "The stop bath colour test passed 4 min ago, no sheet since. ")
	b.write(at("17:10"), sheets(6, nil, "tray-fix"))
	require.Equal(t, ledger.TestAgain, now("17:11").Tested)
	require.Contains(t, now("17:11").Words.String(), "6 sheets 8x10 since the stop bath colour test passed. ")
	b.write(at("17:12"), ledger.TestDone{Test: ledger.StopColourTest, Container: "tray-fix", Seen: "yellow", WhiteLight: true})
	require.Equal(t, ledger.JustTested, now("17:13").Tested)
}

// Nobody is asked for a test that is not published.
func TestABathWithoutAPublishedTestIsNotKnown(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), ledger.BathFound{Batch: "W", Name: "wash aid", Class: ledger.WashAid, Container: "tray-fix", Volume: 2000})
	a := b.l.MayPour("tray-fix", at("17:01"))
	require.Equal(t, ledger.TestFirst, a.Verdict)
	require.Equal(t, ledger.NoTest, a.Because.Tested)
}

func TestStrengthThatNobodyStated(t *testing.T) {
	b := newBook(t).room()
	mix := fixer("fix", "tray-fix", 1000)
	mix.Aim = ledger.Parts{}
	b.write(at("18:00"), mix)
	a := b.l.MayPour("tray-fix", at("18:01"))
	require.Equal(t, ledger.TestFirst, a.Verdict)
	require.Equal(t, "strength", a.Because.Name.String())
}

// An unverified limit that ran out asks for a test, and a test that can show what is limited settles it; other limits condemn.
func TestStandingOfALimit(t *testing.T) {
	short := func(s ledger.Standing) func(*ledger.Product) {
		return func(p *ledger.Product) {
			p.TrayTime = &ledger.Figure{Value: 0.8, Unit: "hours", Source: "test figure", Standing: s}
		}
	}
	require.Equal(t, ledger.Discard, used(t, printFixer(t, short(ledger.Secondary)), 1000, 5).Verdict)
	silver := used(t, printFixer(t, short(ledger.Unverified)), 1000, 5)
	require.Equal(t, ledger.TestFirst, silver.Verdict, "the precipitate says nothing about hours in the open")
	require.Contains(t, silver.Do.String(), "clearing time")
	require.NotContains(t, silver.Do.String(), "iodide")
	passed := clears(t, printFixer(t, short(ledger.Unverified)))
	require.Equal(t, ledger.Pour, passed.Verdict)
	open := limit(t, passed, "hours in an open tray")
	require.Contains(t, open.Words.String(), "the passed clearing time test counts instead")
	require.Equal(t, open.Words, open.BesideName(), "words without the name are the same beside it")
	require.Equal(t, ledger.TestFirst, used(t, printFixer(t, short(ledger.Unverified)), 1000, 0).Verdict, "no test was done")
}

// The life depends on the state of the container.
func TestLifeByStateOfTheContainer(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), fixer("fix", "bottle-fix", 4000))
	full := limit(t, b.l.MayPour("bottle-fix", at("19:00")), "life in a full bottle")
	require.Equal(t, at("18:00").AddDate(0, 0, 60), full.Due)
	require.Equal(t, "life in a full bottle: 60 min old, limit 2 months", full.Words.String())
	require.Equal(t, "60 min old, limit 2 months", full.BesideName().String(), "where its name stands beside")
	b.write(at("19:00"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	part := limit(t, b.l.MayPour("bottle-fix", at("19:01")), "life in a part-full bottle")
	require.Equal(t, at("18:00").AddDate(0, 0, 30), part.Due)
	tray := limit(t, b.l.MayPour("tray-fix", at("19:01")), "life in an open tray")
	require.Equal(t, at("18:00").AddDate(0, 0, 7), tray.Due)
	b.write(at("19:02"), ledger.ContainerNamed{Container: "tank", Vessel: ledger.Tank, Capacity: 3000, FloatingLid: true})
	b.write(at("19:03"), ledger.PortionPoured{From: "bottle-fix", To: "tank", Volume: 1000})
	limit(t, b.l.MayPour("tank", at("19:04")), "life under a floating lid")
}

// Hours in the open run only while the tray is uncovered.
func TestOpenTrayHours(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 2000))
	b.write(at("13:00"), ledger.TraysCovered{Containers: []string{"tray-fix"}})
	b.write(at("15:00"), ledger.TraysUncovered{Containers: []string{"tray-fix"}})
	c, ok := b.l.Contents("tray-fix", at("15:30"))
	require.True(t, ok)
	require.InDelta(t, 1.5, c.OpenHours, 1e-9)
	// Half of it returned takes its hours along: they are hours of the liquid, not of the tray.
	b.write(at("16:00"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 1000})
	c, _ = b.l.Contents("bottle-fix", at("23:00"))
	require.InDelta(t, 2, c.OpenHours, 1e-9)
}

func TestAgeOfATest(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), fixer("fix", "bottle-fix", 4000))
	b.write(at("08:01"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix", at("09:00")).Verdict, "fresh fixer needs no test")
	b.write(at("09:00"), sheets(3, nil, "tray-fix"))
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", at("08:00").Add(24*time.Hour)).Verdict, "used and never tested")
	b.write(at("10:00"), iodide("tray-fix", "clear"))
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix", at("10:01")).Verdict)
	require.Equal(t, ledger.TestFirst, b.l.MayPour("tray-fix", at("10:00").Add(24*time.Hour)).Verdict, "a day later")
	b.write(at("11:00"), sheets(30, nil, "tray-fix"))
	a := b.l.MayPour("tray-fix", at("11:01"))
	require.Equal(t, ledger.TestFirst, a.Verdict, "half of the capacity since")
	require.Contains(t, a.Because.Words.String(), "since then 71 % of the capacity went through, and the test counts for 50 %")
}

func TestPackDateAndOpenedLife(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.LotReceived{Lot: "old", Product: "rapid-fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 1000,
		Owner: ledger.House, Expiry: at("00:00")})
	b.write(at("08:01"), ledger.LotOpened{Lot: "old", Container: "old-bottle"})
	a := b.l.MayPour("old-bottle", at("08:02"))
	require.Equal(t, ledger.TestFirst, a.Verdict)
	require.Equal(t, "date on the pack", a.Because.Name.String())
	opened := b.l.MayPour("conc-fix", evening().AddDate(2, 0, 0))
	require.Equal(t, ledger.TestFirst, opened.Verdict, "the opened life in the catalogue is from memory and cannot condemn")
	require.Equal(t, ledger.Pour, b.l.MayPour("conc-fix", evening()).Verdict)
}

func TestPrivateChemistryNamesItsOwner(t *testing.T) {
	b := newBook(t).room()
	mix := fixer("own", "tray-fix", 1000)
	mix.Owner = ledger.Owner("private: Cy")
	b.write(at("18:00"), mix)
	require.Contains(t, b.l.MayPour("tray-fix", at("18:01")).Do.String(), "private: Cy")
}

// An age is said in minutes up to two hours, in hours up to two days, then in days.
func TestAnAgeIsSaidInTheUnitThatItFills(t *testing.T) {
	b := newBook(t).room()
	b.write(at("00:00"), fixer("fix", "bottle-fix", 4000))
	for age, says := range map[time.Duration]string{0: "0 min old", 119 * time.Minute: "119 min old", 2 * time.Hour: "2.0 h old",
		47*time.Hour + 54*time.Minute: "47.9 h old", 48 * time.Hour: "2.0 days old", 60 * time.Hour: "2.5 days old"} {
		life := limit(t, b.l.MayPour("bottle-fix", at("00:00").Add(age)), "life in a full bottle")
		require.Equal(t, says+", limit 2 months", life.BesideName().String())
	}
}

// A limit is reached on the stroke: a litre that lives for a month and may stand open for 20 hours.
func TestALimitRunsOutOnTheStroke(t *testing.T) {
	b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: printFixer(t, nil)})}
	b.room()
	b.write(at("00:00"), fixer("bottled", "bottle-fix", 1000))
	month := at("00:00").AddDate(0, 0, 30)
	require.Equal(t, ledger.Pour, b.l.MayPour("bottle-fix", month.Add(-time.Second)).Verdict)
	require.Equal(t, ledger.Discard, b.l.MayPour("bottle-fix", month).Verdict)
	b.write(at("00:00"), fixer("open", "tray-fix", 1000))
	day := at("00:00").Add(20 * time.Hour)
	require.Equal(t, ledger.Pour, b.l.MayPour("tray-fix", day.Add(-time.Second)).Verdict)
	require.Equal(t, ledger.Discard, b.l.MayPour("tray-fix", day).Verdict)
	seconds := b.l.MayPour("tray-fix", at("00:00").Add(time.Second))
	require.Contains(t, limit(t, seconds, "hours in an open tray").Words.String(), "Open for 0 min, limit 20 hours")
}

// A bottle counts as full from nine tenths on (common practice).
func TestABottleIsFullFromNineTenthsOn(t *testing.T) {
	for volume, name := range map[quantity.Millilitre]string{3600: "life in a full bottle", 3599: "life in a part-full bottle"} {
		b := newBook(t).room()
		b.write(at("12:00"), fixer("fix", "bottle-fix", volume))
		limit(t, b.l.MayPour("bottle-fix", at("12:01")), name)
	}
}

// Whoever asks about a time before the mix was made is told so; a second's difference between two clocks is none.
func TestWhatWasNotMadeYetIsNotPoured(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "bottle-fix", 4000))
	require.Equal(t, ledger.Pour, b.l.MayPour("bottle-fix", at("12:00").Add(-time.Second)).Verdict)
	early := b.l.MayPour("bottle-fix", at("12:00").Add(-2*time.Second))
	require.Equal(t, ledger.TestFirst, early.Verdict)
	require.Contains(t, early.Because.Words.String(), "begins at 4 Mar 2025 12:00, after the time asked about")
}

// Of the limits that run, the one of which most is used up is said to be the furthest.
func TestTheFurthestLimitIsTheOneThatIsUsedUpMost(t *testing.T) {
	for count, name := range map[int]string{1: "life in an open tray", 26: "area processed"} { // 53 sheets a litre, a month
		a := used(t, printFixer(t, func(p *ledger.Product) {
			p.OpenTray = &ledger.Figure{Value: 4, Unit: "hours", Source: "test figure",
				Standing: ledger.Secondary}
		}), 1000, count)
		furthest, share, known := a.Furthest()
		require.True(t, known)
		require.Equal(t, name, furthest.Name.String())
		require.InDelta(t, max(0.25, float64(count)/(200/3.785411784)), share, 1e-6)
	}
	_, _, known := newBook(t).l.MayPour("nowhere", evening()).Furthest()
	require.False(t, known)
}

// Of several limits that allow to pour, the one is named that runs out first; of several that do not, the gravest.
func TestTheLimitThatRunsOutFirstIsNamed(t *testing.T) {
	for expiry, name := range map[int]string{10: "date on the pack", 400: "life once opened"} { // 12 months in the catalogue
		b := newBook(t)
		b.write(at("12:00"), ledger.LotReceived{Lot: "L", Product: "rapid-fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 500,
			Owner: ledger.House, Expiry: at("00:00").AddDate(0, 0, expiry)})
		b.write(at("12:00"), ledger.LotOpened{Lot: "L", Container: "bottle"})
		a := b.l.MayPour("bottle", at("12:01"))
		require.Equal(t, ledger.Pour, a.Verdict)
		require.Equal(t, name, a.Because.Name.String())
	}
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("12:10"), sheets(1, nil, "tray-fix"))
	b.write(at("12:20"), iodide("tray-fix", "clear"))
	require.Equal(t, "last test", b.l.MayPour("tray-fix", at("12:21")).Because.Name.String(), "a test counts for a day, the bath for a week")
	b.write(at("12:30"), ledger.ToppedUp{Container: "tray-fix", Water: 200})
	require.Equal(t, "strength", b.l.MayPour("tray-fix", at("12:31")).Because.Name.String(), "a sixth too weak: test first")
	b.write(at("12:40"), iodide("tray-fix", "cloudy"))
	a := b.l.MayPour("tray-fix", at("12:41"))
	require.Equal(t, []string{string(ledger.Discard), "last test"}, []string{string(a.Verdict), a.Because.Name.String()})
}
