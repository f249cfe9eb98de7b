package ledger_test

import (
	"fmt"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

func TestEveryTestHasAGuide(t *testing.T) {
	for _, kind := range ledger.TestKinds() {
		g := ledger.GuideTo(kind)
		require.NotEmpty(t, g.Due, kind)
		require.GreaterOrEqual(t, len(g.Steps), 3, kind)
		require.LessOrEqual(t, len(g.Steps), 6, kind)
		require.NotEmpty(t, g.Cautions, kind)
		require.NotEmpty(t, g.Rule, kind)
		require.NotEmpty(t, g.Source, kind)
		require.NotEmpty(t, g.Standing, kind)
		require.NotEmpty(t, g.OnFail, kind)
	}
	require.Empty(t, ledger.GuideTo("nonsense").Steps)
}

func TestEveryClassDefersToTheSafetyDataSheet(t *testing.T) {
	for _, class := range ledger.Classes() {
		require.Contains(t, phrase.Join(" ", ledger.CautionsFor(class)...).String(), "safety data sheet")
	}
	require.Equal(t, ledger.SilverStream, ledger.UnknownClass.Stream(), "silver-bearing until shown otherwise")
	require.Equal(t, ledger.PlainStream, ledger.PrintDeveloper.Stream())
}

// The words of the package never show a dilution as a bare colon ratio.
func TestNoBareRatio(t *testing.T) {
	bare := regexp.MustCompile(`\b1:\d+\b`)
	b := class(t)
	label, err := b.l.Label("dev", at("18:10"))
	require.NoError(t, err)
	var guides []ledger.Guide
	for _, kind := range ledger.TestKinds() {
		guides = append(guides, ledger.GuideTo(kind))
	}
	text := fmt.Sprint(label, guides, b.l.MayPour("tray-dev", at("18:10")))
	require.NotRegexp(t, bare, text)
}

func TestLabel(t *testing.T) {
	b := class(t)
	label, err := b.l.Label("fix", at("18:00"))
	require.NoError(t, err)
	require.Equal(t, "Paper fixer (fixer)", label.Name.String())
	require.Equal(t, "1 part of concentrate + 9 parts of water: concentrate 400 mL + water 3600 mL = 4000 mL", label.Parts.String())
	require.Equal(t, "Mixed 4 Mar 2025 17:00", label.Mixed.String())
	require.Contains(t, label.DiscardBy.String(), "3 Apr 2025 (part-full bottle; ", "the tighter life, one month of 30 days")
	require.Equal(t, "By Ada, house", label.Who.String())
	require.Regexp(t, `^[A-Z0-9]{5}$`, label.Code)
	require.Equal(t, ledger.ShortCode("fix"), label.Code)
	require.NotEqual(t, ledger.ShortCode("fix-2"), label.Code)
	late, err := b.l.Label("fix", at("18:00").AddDate(0, 2, 0))
	require.NoError(t, err)
	require.Contains(t, late.DiscardBy.String(), "this day has passed")
	_, err = b.l.Label("none", at("18:00"))
	require.ErrorIs(t, err, ledger.ErrUnknown)
}

func TestLabelOfWhatNobodyKnows(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), ledger.BatchMixed{Batch: "x", Name: "Someone's fixer", Class: ledger.Fixer, Into: "bottle-fix",
		Meant: ledger.FromUnknown, Water: 500, Owner: ledger.House})
	label, err := b.l.Label("x", at("18:01"))
	require.NoError(t, err)
	require.Contains(t, label.DiscardBy.String(), "not known")
	require.Contains(t, label.Parts.String(), "Nobody knows")
}

// Powder is mixed a whole packet at a time (US Navy text: powders separate in transit).
func TestPowder(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.LotReceived{Lot: "powder", Product: "print-developer-powder", Class: ledger.PrintDeveloper, Units: 1,
		UnitVolume: 3800, Powder: true, Owner: ledger.House})
	require.Contains(t, b.refuse(b.entry(at("08:01"), ledger.LotOpened{Lot: "powder", Container: "c"}), ledger.ErrMismatch), "whole packet")
	stock := ledger.BatchMixed{Batch: "stock", Name: "Stock", Product: "print-developer-powder", Class: ledger.PrintDeveloper,
		Into:  "bottle-dev",
		Meant: ledger.FromPowder, Lot: "powder", Water: 3800, Owner: ledger.House}
	for _, lot := range []string{"lot-dev", "nowhere"} {
		require.Error(t, b.l.Check(b.entry(at("09:00"), with(stock, func(a *ledger.BatchMixed) { a.Lot = lot }))), "%s is no powder", lot)
	}
	other := with(stock, func(a *ledger.BatchMixed) { a.Class, a.Into = ledger.Fixer, "bottle-fix" })
	require.Contains(t, b.refuse(b.entry(at("09:00"), other), ledger.ErrMismatch), "Lot powder is not powder of fixer")
	b.write(at("09:00"), stock)
	working := developer("working", "tray-dev", 1500)
	working.Meant, working.From, working.ParentVolume, working.Water, working.Aim = ledger.FromStock, "bottle-dev", 500, 1000,
		ledger.Parts{Parent: 1, Water: 2}
	b.write(at("09:30"), working)
	batch, _ := b.l.Batch("working")
	require.InDelta(t, 1.0/3, batch.Strength, 1e-12)
	require.Equal(t, []string{"stock"}, batch.Parents)
	lot, _ := b.l.Lot("powder")
	require.Equal(t, 1, lot.Opened)
	stock.Batch, stock.Into, stock.Water = "again", "tray-fix", 2000
	b.refuse(b.entry(at("10:00"), stock), ledger.ErrNotEnough)
	require.Zero(t, b.l.OnHand("print-developer-powder"))
}

func TestCatalogueRefusesWhatHasNoSource(t *testing.T) {
	const head = "[[product]]\nid = \"a\"\nname = \"A\"\nclass = \"fixer\"\n"
	for body, says := range map[string]string{
		`full = { value = 1, unit = "months", standing = "verified" }`:                           "has no source",
		`full = { value = 1, unit = "months", source = "label" }`:                                "No standing is given",
		`full = { value = 1, unit = "moons", source = "label", standing = "verified" }`:          "Use hours, days, weeks or months",
		`full = { value = -1, unit = "days", source = "label", standing = "verified" }`:          "cannot be -1 days",
		`full = { value = 0, unit = "days", source = "label", standing = "verified" }`:           "more than 0",
		`fool = { value = 1, unit = "days", source = "label", standing = "verified" }`:           "a key is not known",
		`dilution = [{ use = "x", parent = 0, water = 9, source = "s", standing = "verified" }]`: "no parts of the concentrate",
		head: "Two products have this id",
		"[[product.capacity]]\nmaterial = \"glass\"\nuse = \"x\"\nvalue = 1\n" +
			"unit = \"rolls per litre\"\nsource = \"s\"\nstanding = \"verified\"": "no material",
	} {
		_, err := ledger.ParseCatalogue([]byte(head + body))
		require.ErrorContains(t, err, says)
	}
}

// Every product that ships says where each figure comes from, and none is named after a brand.
func TestShippedCatalogue(t *testing.T) {
	products := catalogue(t).Products()
	classes := map[ledger.Class]bool{}
	for _, p := range products {
		classes[p.Class] = true
		require.NoError(t, p.Validate())
		for _, c := range p.Capacity {
			area, ok := c.AreaPerLitre()
			require.True(t, ok)
			require.Positive(t, float64(area))
			require.NotEmpty(t, c.Source)
			require.NotEmpty(t, c.Standing)
		}
	}
	require.Len(t, classes, 6, "every class but the unknown one")
	month, ok := ledger.Figure{Value: 2, Unit: "months"}.Duration()
	require.True(t, ok)
	require.Equal(t, 60*24*time.Hour, month)
}

// A life is at most a million hours, a hundred years and more: what is longer is a slip, and no time can hold it.
func TestALifeIsAtMostAMillionHours(t *testing.T) {
	for hours, can := range map[float64]bool{1e6: true, 1e6 + 1: false, 0: true, -1: false} {
		_, ok := ledger.Figure{Value: hours, Unit: "hours"}.Duration()
		require.Equal(t, can, ok, "%g hours", hours)
	}
}

// A US gallon is 3.785411784 L by definition; a roll is counted as 80 square inches, like a sheet 8 x 10 in.
func TestEachUnitOfAFigureMeasuresOneThing(t *testing.T) {
	for unit, want := range map[string]struct {
		life   time.Duration
		sheets float64 // 8x10 a litre
	}{
		"hours": {life: 5 * time.Hour}, "days": {life: 5 * 24 * time.Hour}, "weeks": {life: 35 * 24 * time.Hour},
		"months":                {life: 150 * 24 * time.Hour},
		"sheets 8x10 per litre": {sheets: 5}, "rolls per litre": {sheets: 5}, "sheets 8x10 per US gallon": {sheets: 5 / 3.785411784},
		"rolls per US gallon": {sheets: 5 / 3.785411784},
		"moons":               {},
	} {
		f := ledger.Figure{Value: 5, Unit: unit}
		life, isLife := f.Duration()
		area, isCapacity := f.AreaPerLitre()
		require.Equal(t, "5 "+unit, f.String())
		require.Equal(t, want.life, life, unit)
		require.Equal(t, want.life > 0, isLife, unit)
		require.Equal(t, want.sheets > 0, isCapacity, unit)
		require.InDelta(t, want.sheets*float64(ledger.EightByTen), float64(area), 1e-12, unit)
	}
}

// The code on a bottle is made of the FNV-1a hash of the batch, so that it is the same for ever: 0xE40C292C of "a" and
// 0xBF9CF968 of "foobar" (test vectors of its authors, draft-eastlake-fnv; from memory), written in 24 signs, the lowest first.
func TestTheCodeOnABottleIsTheSameForEver(t *testing.T) {
	require.Equal(t, "F9F6P", ledger.ShortCode("a"))
	require.Equal(t, "WMNPX", ledger.ShortCode("foobar"))
}

func TestALabelSaysWhatABatchOfPowderWasMadeUpTo(t *testing.T) {
	b := newBook(t).room()
	b.write(at("08:00"), ledger.LotReceived{Lot: "powder", Product: "print-developer-powder", Class: ledger.PrintDeveloper, Units: 1,
		UnitVolume: 3800, Powder: true, Owner: ledger.House})
	b.write(at("09:00"), ledger.BatchMixed{Batch: "stock", Name: "Stock", Product: "print-developer-powder", Class: ledger.PrintDeveloper,
		Into: "bottle-dev", Meant: ledger.FromPowder, Lot: "powder", Water: 3800, Owner: ledger.House})
	b.write(at("09:00"), with(fixer("unsaid", "tray-fix", 1000), func(a *ledger.BatchMixed) { a.Aim = ledger.Parts{} }))
	for batch, says := range map[string]string{"stock": "From powder, made up to 3800 mL",
		"unsaid": "concentrate 100 mL + water 900 mL = 1000 mL"} {
		label, err := b.l.Label(batch, at("09:01"))
		require.NoError(t, err)
		require.Equal(t, says, label.Parts.String())
		require.Contains(t, label.MixedBy.String(), "4 Mar 2025 09:00, by Ada, house")
	}
}
