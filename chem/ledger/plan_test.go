package ledger_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

func booking(id string, begins time.Time, students int) ledger.WorkBooked {
	return ledger.WorkBooked{Booking: id, Title: "Class", Begins: begins, Students: students, SheetsEach: 6, SheetArea: ledger.EightByTen,
		Material: ledger.ResinCoated}
}

func TestWorkIsBookedChangedAndCalledOff(t *testing.T) {
	b := newBook(t)
	b.write(at("10:00"), booking("b", at("19:00"), 8))
	first := b.write(at("10:01"), booking("a", at("18:00"), 10))
	tonight := func() []ledger.Work { return b.l.Work(at("00:00"), at("23:59")) }
	require.Len(t, tonight(), 2)
	require.Equal(t, "a", tonight()[0].Booking, "the earliest first")
	require.Equal(t, 60, tonight()[0].Sheets())
	require.Equal(t, first, tonight()[0].Entry)
	b.write(at("10:02"), booking("a", at("18:00"), 12))
	require.Equal(t, 72, tonight()[0].Sheets(), "entered again it is changed")
	require.Len(t, b.l.Work(at("18:00"), at("18:01")), 1, "what begins at that minute does")
	require.Empty(t, b.l.Work(at("17:00"), at("18:00")), "and not in the hour before")
	off := booking("b", at("19:00"), 8)
	off.SheetsEach = 0
	b.write(at("10:03"), off)
	require.Len(t, tonight(), 1)
	require.Empty(t, b.l.Work(at("18:00").Add(time.Minute), at("23:59")))
	for _, bad := range []ledger.WorkBooked{{}, {Booking: "c", Title: "Class", Begins: at("18:00"), Students: 0, SheetsEach: 5,
		SheetArea: 1, Material: ledger.Film},
		{Booking: "c", Title: "Class", Students: 1, SheetsEach: 5, SheetArea: 1, Material: ledger.Film}, {Booking: "c", Title: "Class",
			Begins: at("18:00"), Students: 1, SheetsEach: 5, SheetArea: 100, Material: ledger.Film}} {
		require.Error(t, b.l.Check(b.entry(at("11:00"), bad)))
	}
}

// A litre of the concentrate makes ten of bath; 20 sheets took 200 mL of it, 10 mL a sheet.
func TestAReorderDateRestsOnWhatIsBookedAndWhatASheetTook(t *testing.T) {
	b := class(t)
	perArea, ok := b.l.PerSquareMetre("print-developer")
	require.True(t, ok)
	require.InEpsilon(t, 200/(20*float64(ledger.EightByTen)), perArea, 1e-9)
	onHand := b.l.OnHand("print-developer")
	sheets := int(float64(onHand) / 10)
	plan := ledger.ReorderPlan{OnHand: onHand, PerSquareMetre: perArea, Lead: ledger.AssumptionsStated{LeadDays: 10}.Lead()}
	for day := range 3 {
		plan.Bookings = append(plan.Bookings, ledger.Booking{At: at("18:00").AddDate(0, 0, 20*day),
			Area: ledger.EightByTen * quantity.SquareMetre(sheets/2)})
	}
	runsOut, orderBy, short := plan.Reorder()
	require.True(t, short)
	exactly := ledger.ReorderPlan{OnHand: 100, PerSquareMetre: 10, Bookings: []ledger.Booking{{At: at("18:00"), Area: 4}, {At: at("17:00"),
		Area: 6}}}
	_, _, short = exactly.Reorder()
	require.False(t, short, "to the last millilitre")
	exactly.OnHand = 99
	first, _, short := exactly.Reorder()
	require.True(t, short)
	require.Equal(t, at("18:00"), first, "the later one goes without")
	require.Equal(t, at("18:00").AddDate(0, 0, 40), runsOut, "two halves are there, the third is not")
	require.Equal(t, at("18:00").AddDate(0, 0, 30), orderBy)
}

func TestAssumptionsAreStatedAndUntilThenSayThatNobodyDid(t *testing.T) {
	b := class(t)
	usual := b.l.Assumptions()
	require.Contains(t, usual.Source, "not set for this place")
	// 50 to 150 mg a square foot (a forum post on coating weights, secondary); a foot is 0.3048 m.
	require.InDelta(t, 0.050/(0.3048*0.3048), float64(usual.CoatingLow), 5e-4)
	require.InDelta(t, 0.150/(0.3048*0.3048), float64(usual.CoatingHigh), 5e-4)
	// 20 sheets x 0.051613 m² x 1.615 g/m² x 0.8 (areas and weights of the reference).
	down, err := b.l.TakeDown("class", at("21:00"), b.l.Assumptions().Inputs())
	require.NoError(t, err)
	require.InDelta(t, 20*0.051613*1.615*0.8, down.SilverHigh, 1e-4)
	require.Less(t, down.SilverLow, down.SilverHigh)
	mine := ledger.AssumptionsStated{CoatingLow: 1, CoatingHigh: 1, DissolvedLow: 0.7, DissolvedHigh: 0.7, CarryOver: 387.5,
		Evaporation: 50, LeadDays: 7, Source: "our own scales"}
	b.write(at("21:01"), mine)
	require.Equal(t, mine, b.l.Assumptions())
	for _, bad := range []ledger.AssumptionsStated{{}, {CoatingLow: 2, CoatingHigh: 1, Source: "x"}, {DissolvedHigh: 1.1, Source: "x"},
		{CarryOver: -1, Source: "x"}, {LeadDays: 1000, Source: "x"}} {
		require.Error(t, b.l.Check(b.entry(at("21:02"), bad)), fmt.Sprint(bad))
	}
}

func TestAProductOffABottleJoinsTheCatalogue(t *testing.T) {
	b := newBook(t).room()
	noted := ledger.ProductNoted{Product: "our fixer", Name: "Our fixer", Class: ledger.Fixer, Aim: ledger.Parts{Parent: 1, Water: 7},
		Full:     &ledger.Amount{Value: 7, Unit: "days"},
		Capacity: []ledger.Carries{{ledger.ResinCoated, ledger.Amount{Value: 10, Unit: "sheets 8x10 per litre"}}},
		Source:   "label of the bottle", Standing: ledger.Verified}
	mix := fixer("fix-own", "bottle-fix", 4000)
	mix.Product = "our fixer"
	b.write(at("17:00"), mix)
	require.Equal(t, ledger.TestFirst, b.l.MayPour("bottle-fix", at("17:01")).Verdict, "no figure is known")
	b.write(at("17:02"), noted)
	p, ok := b.l.Catalogue().Product("our fixer")
	require.True(t, ok)
	require.Equal(t, "label of the bottle", p.Full.Source)
	require.Equal(t, ledger.Verified, p.Full.Standing)
	require.Equal(t, ledger.Pour, b.l.MayPour("bottle-fix", at("17:03")).Verdict)
	require.Equal(t, ledger.Discard, b.l.MayPour("bottle-fix", at("17:03").AddDate(0, 0, 7)).Verdict, "the label binds")

	later := ledger.ProductNoted{Product: "our fixer", Name: "Our fixer", Class: ledger.Fixer, Full: &ledger.Amount{Value: 14,
		Unit: "days"}, Source: "the maker wrote", Standing: ledger.Secondary}
	b.write(at("17:04"), later)
	p, _ = b.l.Catalogue().Product("our fixer")
	require.Equal(t, "14 days", p.Full.String())
	require.Len(t, p.Capacity, 1, "what a later entry leaves out stays")
	require.Len(t, p.Dilution, 1)

	carries := func(m ledger.Material, sheets float64) ledger.Act {
		return with(later, func(a *ledger.ProductNoted) {
			a.Capacity = []ledger.Carries{{m, ledger.Amount{Value: sheets, Unit: "sheets 8x10 per litre"}}}
		})
	}
	b.write(at("17:04"), carries(ledger.ResinCoated, 12))
	b.write(at("17:04"), carries(ledger.FibreBased, 6))
	p, _ = b.l.Catalogue().Product("our fixer")
	require.Len(t, p.Capacity, 2, "the new figure for a paper stands in the place of the old one")
	require.Equal(t, []float64{12, 6}, []float64{p.Capacity[0].Value, p.Capacity[1].Value})

	first := ledger.ProductNoted{Product: "print-developer", Name: "Ours", Class: ledger.PrintDeveloper, Source: "label",
		Standing: ledger.Verified}
	number := len(b.l.Catalogue().Products())
	b.write(at("17:04"), first)
	require.Len(t, b.l.Catalogue().Products(), number, "what is in the catalogue is in it once")
	require.Equal(t, "Ours", b.l.Catalogue().Products()[0].Name)

	more := noted
	more.Product, more.Name, more.Full = "rapid-fixer", "Rapid fixer of ours", nil
	b.write(at("17:05"), more)
	p, _ = b.l.Catalogue().Product("rapid-fixer")
	require.Equal(t, ledger.Parts{Parent: 1, Water: 7}, p.Dilution[0].Parts(), "the label's parts come first")
	require.Contains(t, p.Full.Source, "Darkroom Cookbook", "and what the catalogue had besides stays")
	more.Class = ledger.Toner
	require.Contains(t, b.refuse(b.entry(at("17:06"), more), ledger.ErrMismatch), "in the catalogue as fixer, not toner")
	for _, bad := range []ledger.ProductNoted{{}, {Product: "x", Name: "X", Class: ledger.Fixer, Source: "label"},
		{Product: "x", Name: "X", Class: ledger.Fixer, Full: &ledger.Amount{Value: 5, Unit: "sheets 8x10 per litre"}, Source: "label",
			Standing: ledger.Verified}} {
		require.Error(t, b.l.Check(b.entry(at("17:07"), bad)))
	}
}

func TestPrintsThatWereRightMakeAPersonsFactor(t *testing.T) {
	b := class(t)
	_, err := b.l.Factor("print-developer", "Ada")
	require.True(t, chem.IsRefusal(err))
	for i, emergence := range []float64{12, 12, 12} {
		b.write(at("19:10").Add(time.Duration(i)*time.Minute), ledger.PrintTimed{Container: "tray-dev", Emergence: emergence, Seconds: 120})
	}
	for i := range 3 {
		b.write(at("19:20").Add(time.Duration(i)*time.Minute), ledger.PrintTimed{Container: "tray-dev", Emergence: 24, Seconds: 120,
			Person: "Cy"})
	}
	f, err := b.l.Factor("print-developer", "Ada")
	require.NoError(t, err)
	require.InDelta(t, 10, f.Value, 1e-9)
	require.Equal(t, []string{"Ada", "Cy"}, b.l.Judges("print-developer"))
	require.Empty(t, b.l.Judges("film-developer-powder"))
	f, _ = b.l.Factor("print-developer", "Cy")
	require.InDelta(t, 5, f.Value, 1e-9)
	f, _ = b.l.Factor("print-developer", "Newcomer")
	require.InDelta(t, 7.0711, f.Value, 1e-3, "the geometric mean over everybody: sqrt(10 x 5)")
	require.Contains(t, f.Source.String(), "everybody")
	require.Contains(t, b.refuse(b.entry(at("19:30"), ledger.PrintTimed{Container: "tray-fix", Emergence: 10, Seconds: 100}),
		ledger.ErrMismatch), "not a developer")
	require.Contains(t, b.refuse(b.entry(at("19:30"), ledger.PrintTimed{Container: "tray-dev", Emergence: 100, Seconds: 100}),
		ledger.ErrForm), "which is longer")
}
