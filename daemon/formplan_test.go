package daemon_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
)

func bottle() []string {
	return []string{"name", "Our fixer", "class", "fixer", "aim", "1+7", "carries_rc", "80 per gallon", "carries_film", "20 rolls per litre",
		"full", "6 months", "open_tray_hours", "12 h", "standing", "verified", "who", "Ada"}
}

func TestAProductIsAddedOffItsBottleAndPutRight(t *testing.T) {
	s := stocked(t)
	text := s.enters("product-noted", bottle()...)
	require.Contains(t, text, "Our fixer added [label of the bottle; verified]")
	product := func() (p ledger.Product) {
		s.look(func(b *cards.ShelfBook) { p, _ = b.Catalogue.Product("Our fixer") })
		return p
	}
	p := product()
	require.Equal(t, "6 months", p.Full.String())
	require.Equal(t, "12 hours", p.TrayTime.String())
	require.Equal(t, "1+7", p.Dilution[0].Parts().String())
	require.Equal(t, "80 sheets 8x10 per US gallon", p.Capacity[0].String())
	require.Equal(t, "20 rolls per litre", p.Capacity[1].String())
	require.Contains(t, s.page("/shelf/enter/batch-mixed"), ">Our fixer</option>", "it can be chosen at once")
	require.Contains(t, s.refused("product-noted", with(bottle(), "full", "a while")...).Problem(), `"a while" is not a figure with a unit`)
	require.Contains(t, s.refused("product-noted", with(bottle(), "carries_rc", "80 per bottle")...).Problem(), "is not a figure with a unit")
	require.Contains(t, s.refused("product-noted", with(bottle(), "class", "toner")...).Problem(), "recorded as fixer, not toner")
	var number string
	s.look(func(b *cards.ShelfBook) { number = strconv.FormatUint(b.Version(), 10) })
	again := s.page("/shelf/enter/product-noted?corrects=" + number)
	for _, kept := range []string{`value="6 months"`, `value="80 sheets 8x10 per US gallon"`, `value="20 rolls per litre"`, `value="1+7"`} {
		require.Contains(t, again, kept)
	}
	s.enters("product-noted", "name", "Short label", "class", "fixer", "aim", "1+4", "who", "Ada")
	s.look(func(b *cards.ShelfBook) {
		short, _ := b.Catalogue.Product("Short label")
		require.Equal(t, ledger.Verified, short.Dilution[0].Standing, "read off its own label")
	})
	unsaid := s.entry("", "product-noted", "name", "Unsaid", "class", "fixer", "aim", "1+7", "source", "a friend", "who", "Ada")
	require.Contains(t, unsaid.Send().Problem(), `No standing is given`, "elsewhere it must be said")
}

// A fixer of which a gallon carries 80 sheets of RC and 40 of fibre: 2 L carry 42 or 21.
func TestWhatIsLeftOfABathNamesThePaper(t *testing.T) {
	s := stocked(t)
	s.enters("product-noted", append(bottle(), "carries_fb", "40 per gallon")...)
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Ada"},
		ledger.LotReceived{Lot: "OF lot", Product: "Our fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 1000, Owner: ledger.House},
		ledger.LotOpened{Lot: "OF lot", Container: "OF bottle"})
	batch := mixed("F1", "Fixer tray", 200, 1800)
	batch.Product, batch.From = "Our fixer", "OF bottle"
	s.Does(batch)
	require.Contains(t, s.page("/rooms/north/baths"), "About 42 sheets 8x10 RC or 21 fibre left")
	s.Does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.FibreBased, Count: 11, SheetArea: ledger.EightByTen})
	require.Contains(t, s.page("/rooms/north/baths"), "About 20 sheets 8x10 RC or 10 fibre left", "11 of 21.13 leave 48 in 100")
}

func class(sheets string) []string {
	return []string{"title", "Thursday class", "begins", "2026-01-15T20:00", "students", "10", "sheets_each", sheets, "sheet_m2", "8x10in",
		"material", "resin-coated paper", "who", "Ada"}
}

// booking is the form of a booking as the pages of the room lead to it.
func (s *north) booking(typed ...string) *formtest.Form {
	s.t.Helper()
	return s.entry("/shelf/enter/work-booked?room=north", "work-booked", typed...)
}

func TestWorkIsBookedOnAPage(t *testing.T) {
	s := stocked(t)
	require.Contains(t, s.sent(s.booking(class("6")...).Send()), "booked Thursday class for")
	s.look(func(b *cards.ShelfBook) {
		work := b.Work(b.At.Add(-24*time.Hour), b.At.Add(24*time.Hour))
		require.Len(t, work, 1)
		require.Equal(t, 60, work[0].Sheets())
		require.Equal(t, time.Date(2026, 1, 15, 19, 0, 0, 0, time.UTC), work[0].Begins.UTC(), "in the zone of the place")
	})
	require.Contains(t, s.booking(with(class("6"), "begins", "tonight")...).Send().Problem(), "is not a date with a time")
	require.Contains(t, s.booking(with(class("6"), "students", "0")...).Send().Problem(), "cannot be booked")
}

// The fixer carries 80 sheets to the US gallon by its handbook: 2 L carry 42.
func TestTheBathsPageSaysWhetherTheBathsLastTheClass(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800))
	text := s.page("/rooms/north/baths")
	require.Contains(t, text, "About 42 sheets 8x10 RC or fibre left")
	require.Contains(t, text, "The Darkroom Cookbook")
	require.Contains(t, text, "Book tonight's work")
	s.sent(s.booking(class("4")...).Send())
	text = s.page("/rooms/north/baths")
	require.Regexp(t, `(?s)ENOUGH.*About 42 sheets 8x10 left; 40 of 40 booked are still to come`, text)
	sheets := ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 10, SheetArea: ledger.EightByTen}
	s.Does(sheets)
	require.Contains(t, s.page("/rooms/north/baths"), "About 32 sheets 8x10 left; 30 of 40 booked are still to come")
	s.sent(s.booking(with(class("6"), "title", "Second class")...).Send())
	// 100 booked, 10 done, 90 to come, 32.27 left: 57.73 sheets short at 21.13 a litre.
	require.Regexp(t, `(?s)SHORT.*90 of 100 booked are still to come.*Mix 2732 mL more`, s.page("/rooms/north/baths"))
	require.NotContains(t, s.page("/rooms/north/baths?look=red"), "look-day.css")
	s.Does(ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "cloudy"})
	text = s.page("/rooms/north/baths")
	require.NotContains(t, text, "8x10 left", "a bath that failed its test lasts no class")
	require.Contains(t, text, "DISCARD")
}

func TestAPersonsFactorGivesATimeOfItsOwn(t *testing.T) {
	s := stocked(t)
	mix := mixed("D1", "Developer tray", 200, 1800)
	mix.Name, mix.Product, mix.Class, mix.From = "Print developer", "print-developer", ledger.PrintDeveloper, "PD bottle"
	s.Does(mix)
	for range 3 {
		s.enters("print-timed", "container", "Developer tray", "emergence_s", "12", "seconds", "2:00", "who", "Ada")
	}
	s.look(func(b *cards.ShelfBook) {
		f, err := b.Factor("print-developer", "Ada")
		require.NoError(t, err)
		require.InDelta(t, 10, f.Value, 1e-9)
	})
	require.Contains(t, s.refused("print-timed", "container", "Developer tray", "emergence_s", "12", "seconds", "2.00", "who",
		"Ada").Problem(), "can be read in two ways")
}

func TestTheTakeDownShowsItsFiguresAndWhatTheyRestOn(t *testing.T) {
	s := stocked(t)
	mix := mixed("D1", "Developer tray", 200, 1800)
	mix.Name, mix.Product, mix.Class, mix.From = "Print developer", "print-developer", ledger.PrintDeveloper, "PD bottle"
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Ada"}, mix, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Developer tray", "Fixer tray"}, Material: ledger.ResinCoated, Count: 20,
			SheetArea: ledger.EightByTen})
	text := s.page("/rooms/north/take-down")
	// 20 sheets of 0.051613 m²: x 0.538 x 0.5 and x 1.615 x 0.8 g.
	require.Contains(t, text, "About 0.28 to 1.33 g")
	require.Contains(t, text, "not set for this place")
	require.Contains(t, text, "Used in this session: 200 mL")
	require.Contains(t, text, "no reorder date")
	s.enters("assumptions-stated", "who", "Ada", "coating_low_g_m2", "1", "coating_high_g_m2", "1,2", "dissolved_low", "70",
		"dissolved_high", "70 %", "carry_over_ml_m2", "388", "evaporation_ml", "50 mL", "lead_days", "7", "source", "our own scales")
	text = s.page("/rooms/north/take-down")
	require.Contains(t, text, "About 0.72 to 0.87 g", "1.0323 m² x 1 and 1.2 g/m² x 0.7")
	require.Regexp(t, `(?s)print developer</th>.*401 mL</td><td[^>]*>50 mL</td><td[^>]*>not measured yet`, text,
		"1.0323 m² x 388 mL are carried over")
	require.Contains(t, text, "our own scales")

	// 1.8 L are there and a sheet took 10 mL: of two times 150 sheets the second lacks.
	for _, day := range []string{"2026-01-20T18:00", "2026-03-02T18:00"} {
		s.sent(s.booking(with(with(with(class("15"), "begins", day), "title", "Class of "+day), "sheets_each", "15")...).Send())
	}
	require.Regexp(t, `(?s)Print developer, liquid concentrate.*Order by 23 Feb 2026: at the booked rate this runs out on 2 Mar 2026`,
		s.page("/shelf"), "seven days before")
}

func TestAFormIsCheckedWhileItIsTyped(t *testing.T) {
	s := stocked(t)
	const address = "/shelf/typing/product-noted"
	says := func(typed ...string) string {
		return s.sends(address, s.entry("", "product-noted", typed...).Values()).Body
	}
	require.Empty(t, says("name", "Our fixer"), "what is still empty is no mistake yet")
	require.Contains(t, says("name", "Our fixer", "full", "a while"), "is not a figure with a unit")
	require.Contains(t, says("aim", "1:7"), "1+7")
	require.Contains(t, says(bottle()...), "Fine so far: Our fixer added [label of the bottle; verified].")
	require.Contains(t, says(with(with(bottle(), "name", "rapid-fixer"), "class", "toner")...), "not toner")
	require.Equal(t, 400, s.sends("/shelf/typing/soup", formtest.Forged(bottle()...)).Code)
	require.Contains(t, s.page("/shelf/enter/product-noted"), `data-typing="/shelf/typing/product-noted"`)
	s.look(func(b *cards.ShelfBook) {
		_, noted := b.Catalogue.Product("Our fixer")
		require.False(t, noted, "nothing was recorded")
	})
}

func figure(silver string) []string {
	return []string{"container", "drum", "silver", silver, "method", "laboratory", "sampled", "2026-01-15", "reference", "paper 7", "who",
		"Ada"}
}

// 20 sheets of 0.051613 m² in 2 L, at 0.538 g/m² x 0.5 and 1.615 g/m² x 0.8: 139 to 667 mg/L.
func TestSilverIsEstimatedAgainstTheFederalLineAndAMeasuredFigureStandsFirst(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 20, SheetArea: ledger.EightByTen})
	require.Contains(t, s.page("/rooms/north/take-down"), "Silver, estimated as if everything dissolved from its sheets stayed in the "+
		"bath: 139 to 667 mg/L, at or above 5.0 mg/L, the federal limit in the United States")
	s.Does(ledger.Discarded{Container: "Fixer tray", Volume: 2000, Emptied: true, To: "drum", Reason: "end of the session"})
	for _, page := range []string{"/rooms/north/take-down", "/shelf"} {
		text := s.page(page)
		require.Contains(t, text, "139 to 667 mg/L", "it went with the liquid")
		require.Contains(t, text, "No measured figure has been entered.")
		require.Contains(t, text, `/shelf/enter/silver-measured?container=drum&sampled=2026-01-15`)
	}
	require.Contains(t, s.enters("silver-measured", figure("4.0-5.0")...), "silver in drum: 4-5 mg/L, laboratory, sampled 15 Jan 2026")
	text := s.page("/shelf")
	require.Contains(t, text, "Silver, measured: 4-5 mg/L by laboratory, sampled 15 Jan 2026: cannot be compared with 5.0 mg/L, the "+
		"federal limit in the United States. Treat this liquid as silver-bearing.")
	require.Contains(t, text, "Silver results")
	require.Contains(t, text, "laboratory, paper 7")
	require.NotContains(t, text, "Nobody has entered")
	var number string
	s.look(func(b *cards.ShelfBook) { number = strconv.FormatUint(b.Version(), 10) })
	again := s.page("/shelf/enter/silver-measured?corrects=" + number)
	require.Contains(t, again, `value="4-5 mg/L"`, "a correction begins with what was entered")
	require.Contains(t, again, `value="2026-01-15"`)

	// What a figure says of a drum ends with the next liquid that goes in, film fixer as well.
	require.Contains(t, s.enters("silver-measured", with(figure("<2"), "reference", "paper 8")...), "<2 mg/L")
	require.Contains(t, s.page("/shelf"), "under 5.0 mg/L, the federal limit")
	s.Does(mixed("F2", "Fixer tray", 100, 900), ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.Film, Count: 2,
		SheetArea: ledger.EightByTen}, ledger.Discarded{Container: "Fixer tray", Volume: 1000, Emptied: true, To: "drum", Reason: "films"})
	text = s.page("/shelf")
	require.Contains(t, text, "<2 mg/L by laboratory, sampled 15 Jan 2026. More came in on Thu 15 Jan 20:42 CET: the figure no longer "+
		"applies. Treat this liquid as silver-bearing.")
	require.NotContains(t, text, "under 5.0 mg/L, the federal limit")
}

func TestASilverFigureThatCannotBeReadKeepsWhatWasTyped(t *testing.T) {
	s := stocked(t)
	unnamed := func(silver string) []string { return with(figure(silver), "container", "") }
	page := s.refused("silver-measured", unnamed("plenty")...)
	require.Contains(t, page.Problem(), `"plenty" is not a silver figure. Write it as the report or the strip does`)
	kept := page.Form(formtest.To("/shelf/enter/silver-measured")).Values()
	require.Equal(t, []string{"plenty", "paper 7"}, []string{kept.Get("silver"), kept.Get("reference")})
	require.Contains(t, s.refused("silver-measured", unnamed("3")...).Problem(), "It is not clear what was sampled")
	tomorrow := with(with(unnamed("3"), "sample", "outflow"), "sampled", "2026-01-16")
	require.Contains(t, s.refused("silver-measured", tomorrow...).Problem(), "lies in the future")
	outflow := with(unnamed("<0.2"), "sample", "outflow of the recovery unit")
	require.Contains(t, s.enters("silver-measured", outflow...), "silver in outflow of the recovery unit: <0.2 mg/L")
}
