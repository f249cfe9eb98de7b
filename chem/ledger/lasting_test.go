package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

// load is a class of so many resin-coated sheets 8x10.
func load(sheets int) ledger.Workload {
	return ledger.Workload{Work: []ledger.Work{{WorkBooked: ledger.WorkBooked{Booking: "b", Title: "Class", Begins: at("18:00"),
		Students: 1, SheetsEach: sheets, SheetArea: ledger.EightByTen, Material: ledger.ResinCoated}}}}
}

// lasts is the answer for a single fixing bath of 2 L.
func (b *book) lasts(load ledger.Workload, clock string) ledger.Lasting {
	b.t.Helper()
	answer, ok := b.l.WillLast("fixer 1", load, at(clock))
	require.True(b.t, ok)
	return answer
}

// Anchell, The Darkroom Cookbook, 3rd ed., p. 108: 80 sheets 8 x 10 a US gallon (3785.4 mL). So 2 L
// carry 42.3 sheets, and 50 sheets take 2366 mL: 366 mL more.
func TestABathLastsAsLongAsThePublishedCapacityAllows(t *testing.T) {
	b := newBook(t).room()
	_, ok := b.l.WillLast("fixer 1", load(10), at("18:00"))
	require.False(t, ok, "the tray is empty")
	b.write(at("17:00"), fixer("F1", "tray-fix", 2000))

	enough := b.lasts(load(42), "18:00")
	require.Equal(t, ledger.LastsToTheEnd, enough.Verdict)
	require.Equal(t, []int{42, 42, 42}, []int{enough.SheetsLeft, enough.ToCome, enough.Booked})
	require.True(t, enough.Sure)
	require.Equal(t, "Anchell, The Darkroom Cookbook, 3rd ed., p. 108", enough.Capacity.Source)

	short := b.lasts(load(50), "18:00")
	require.Equal(t, ledger.RunsShort, short.Verdict)
	require.InDelta(t, 366, float64(short.Short), 1)
	require.False(t, short.CheckFirst, "a bath that runs short is changed anyhow")

	free := b.lasts(ledger.Workload{}, "18:00")
	require.Zero(t, free.Verdict, "nothing is booked")
	require.InDelta(t, 42.3, free.Left[0].Sheets, 0.1)
	require.Equal(t, enough.Capacity, free.Capacity)
	require.True(t, free.Left[0].Alone, "the count rises with the first sheet that goes on to a second bath")
}

func TestWhatWentThroughInTheSessionIsNoLongerToCome(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("F1", "tray-fix", 2000))
	b.write(at("17:10"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Ada"})
	b.write(at("17:20"), sheets(10, nil, "tray-fix"))

	work := load(30)
	work.Sessions = []string{"S"}
	a := b.lasts(work, "18:00")
	require.Equal(t, []int{32, 20, 30}, []int{a.SheetsLeft, a.ToCome, a.Booked})
	require.False(t, a.CheckFirst, "mixed fresh, and less than half of its work done")
	b.write(at("17:30"), sheets(12, nil, "tray-fix"))
	a = b.lasts(work, "18:00")
	require.True(t, a.CheckFirst, "half of its work done and never tested")
	require.Equal(t, ledger.TestFirst, a.Limit.Verdict)

	work = load(10)
	work.Sessions = []string{"S"}
	require.Equal(t, ledger.AllDone, b.lasts(work, "18:00").Verdict)
	require.Equal(t, 10, b.lasts(load(10), "18:00").ToCome, "what somebody asks about is all still to come")
}

func TestABathThatMayNotBeUsedCarriesNothing(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("F1", "tray-fix", 2000))
	b.write(at("17:30"), iodide("tray-fix", "cloudy"))
	require.Equal(t, ledger.MayNotPour, b.lasts(load(1), "18:00").Verdict)
	require.Equal(t, ledger.MayNotPour, b.lasts(ledger.Workload{}, "18:00").Verdict)
}

func TestALimitThatRunsOutBeforeTheEndIsSaidFirst(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("F1", "tray-fix", 2000))
	work := load(5)
	work.Until = at("22:00")
	require.False(t, b.lasts(work, "18:00").CheckFirst)
	work.Until = at("22:00").AddDate(0, 0, 9) // the catalogue gives a fixer 7 days in an open tray
	a := b.lasts(work, "18:00")
	require.True(t, a.CheckFirst)
	require.WithinDuration(t, work.Until, a.Limit.Due, 9*24*time.Hour)
}

func TestAMaterialWithoutACapacityLeavesTheAnswerOpen(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), developer("D1", "tray-dev", 2000))
	film := load(5)
	film.Work[0].Material = ledger.Film
	answer, ok := b.l.WillLast("developer", film, at("18:00"))
	require.True(t, ok)
	require.Zero(t, answer.Verdict, "no film goes through a print developer")

	strange := fixer("F1", "tray-fix", 2000)
	strange.Product, strange.Meant, strange.From, strange.ParentVolume, strange.Aim = "", ledger.FromUnknown, "", 0, ledger.Parts{}
	b.write(at("17:05"), strange)
	require.Equal(t, ledger.CapacityUnknown, b.lasts(load(5), "18:00").Verdict)
}

// A class prints on two papers: each counts by what it takes of the bath, in sheets of the paper that is booked first, and one
// figure that is only from memory makes the whole answer one.
func TestWorkOnTwoPapersIsCountedInSheetsOfTheFirst(t *testing.T) {
	for _, c := range []struct {
		first, second    ledger.Material
		standing         ledger.Standing // of the figure for the second
		toCome           int
		sure, otherKnown bool
	}{
		{ledger.ResinCoated, ledger.FibreBased, ledger.Secondary, 10 + 20, true, true}, // half as many a litre: each takes as much as two
		{ledger.FibreBased, ledger.ResinCoated, ledger.Secondary, 10 + 5, true, true},
		{ledger.ResinCoated, ledger.FibreBased, ledger.Unverified, 30, false, true},
		{ledger.ResinCoated, ledger.FibreBased, "", 0, true, false}, // no figure, so none of doubtful standing
	} {
		products := printFixer(t, func(p *ledger.Product) {
			p.Capacity[0].Value, p.Capacity[0].Unit = 40, "sheets 8x10 per litre"
			if c.otherKnown {
				half := p.Capacity[0]
				half.Material, half.Value, half.Standing = ledger.FibreBased, 20, ledger.Secondary
				p.Capacity = append(p.Capacity, half)
				for i := range p.Capacity {
					if p.Capacity[i].Material == c.second {
						p.Capacity[i].Standing = c.standing
					}
				}
			}
		})
		b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: products})}
		b.room()
		b.write(at("17:00"), fixer("F1", "tray-fix", 2000))
		work := load(10)
		work.Work = append(work.Work, load(10).Work...)
		work.Work[0].Material, work.Work[1].Material = c.first, c.second
		a := b.lasts(work, "18:00")
		require.Equal(t, c.toCome, a.ToCome, "%+v", c)
		require.Equal(t, c.sure, a.Sure, "%+v", c)
		require.Equal(t, c.otherKnown, a.Verdict == ledger.LastsToTheEnd, "%+v", c)
	}
}

// What already went through on a paper of which nobody knows the figure leaves open how much is left for the others.
func TestABathThatDidWorkOfUnknownWeightIsNotSaidToLast(t *testing.T) {
	b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: printFixer(t, nil)})}
	b.room()
	b.write(at("17:00"), fixer("F1", "tray-fix", 2000))
	require.Equal(t, ledger.LastsToTheEnd, b.lasts(load(5), "17:01").Verdict)
	left := b.lasts(ledger.Workload{}, "17:01").Left
	require.Len(t, left, 1)
	require.Equal(t, ledger.ResinCoated, left[0].Material, "the only paper of which a figure is known")
	fibre := sheets(1, nil, "tray-fix")
	fibre.Material = ledger.FibreBased
	b.write(at("17:02"), fibre)
	require.Equal(t, ledger.CapacityUnknown, b.lasts(load(5), "17:03").Verdict)
	require.Empty(t, b.lasts(ledger.Workload{}, "17:03").Left)
}

// Of two papers that went through, one figure from memory is enough to make what is left a guess.
func TestWhatIsLeftIsAsSureAsTheLeastSureFigure(t *testing.T) {
	for _, doubtful := range []ledger.Material{ledger.ResinCoated, ledger.FibreBased, ""} {
		products := printFixer(t, func(p *ledger.Product) {
			p.Capacity = append(p.Capacity, with(p.Capacity[0], func(c *ledger.Capacity) { c.Material = ledger.FibreBased }))
			for i := range p.Capacity {
				if p.Capacity[i].Material == doubtful {
					p.Capacity[i].Standing = ledger.Unverified
				}
			}
		})
		b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: products})}
		b.room()
		b.write(at("17:00"), fixer("F1", "tray-fix", 2000))
		for _, m := range []ledger.Material{ledger.ResinCoated, ledger.FibreBased} {
			b.write(at("17:10"), with(sheets(2, nil, "tray-fix"), func(a *ledger.SheetsUsed) { a.Material = m }))
		}
		held, _ := b.l.InTray("fixer 1", at("17:20"))
		p, _ := products.Product("rapid-fixer")
		require.Equal(t, doubtful == "", p.Wear(held).Sure, "%q", doubtful)
		for _, left := range p.Left(held) {
			require.Equal(t, doubtful == "", left.Sure, "%q, %q left", doubtful, left.Material)
		}
	}
}

// The catalogue gives a fixing bath 20 rolls a litre (secondary). What so far fixed film alone is asked about film, from the
// first roll on; with a sheet of paper in it, about papers.
func TestABathThatFixedFilmIsAskedAboutFilm(t *testing.T) {
	b := newBook(t).room()
	b.write(at("17:00"), fixer("F1", "tray-fix", 1000))
	b.write(at("17:10"), with(sheets(1, nil, "tray-fix"), func(a *ledger.SheetsUsed) { a.Material = ledger.Film }))
	left := b.lasts(ledger.Workload{}, "17:20").Left
	require.Len(t, left, 1)
	require.Equal(t, ledger.Film, left[0].Material)
	require.InDelta(t, 19, left[0].Sheets, 1e-9)
	b.write(at("17:30"), sheets(1, nil, "tray-fix"))
	for _, one := range b.lasts(ledger.Workload{}, "17:40").Left {
		require.NotEqual(t, ledger.Film, one.Material)
	}
	b.write(at("17:50"), sheets(100, nil, "tray-fix"))
	for _, one := range b.lasts(ledger.Workload{}, "17:51").Left {
		require.Zero(t, one.Sheets, "past its end a bath carries nothing, and no less")
	}
}
