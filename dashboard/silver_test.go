package dashboard_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
)

func figure(silver string) []string {
	return []string{"container", "drum", "silver", silver, "method", "laboratory", "sampled", "2026-01-15", "reference", "paper 7", "who",
		"Ada"}
}

// 20 sheets of 0.051613 m² in 2 L, at 0.538 g/m² x 0.5 and 1.615 g/m² x 0.8: 139 to 667 mg/L.
func TestSilverIsEstimatedAgainstTheFederalLineAndAMeasuredFigureStandsFirst(t *testing.T) {
	s := stocked(t)
	s.does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 20, SheetArea: ledger.EightByTen})
	require.Contains(t, s.page("/rooms/north/take-down"), "Silver, estimated as if everything dissolved from its sheets stayed in the "+
		"bath: 139 to 667 mg/L, at or above 5.0 mg/L, the federal limit in the United States")
	s.does(ledger.Discarded{Container: "Fixer tray", Volume: 2000, Emptied: true, To: "drum", Reason: "end of the session"})
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
	s.book.Look(func(b *cards.ShelfBook) { number = strconv.FormatUint(b.Version(), 10) })
	again := s.page("/shelf/enter/silver-measured?corrects=" + number)
	require.Contains(t, again, `value="4-5 mg/L"`, "a correction begins with what was entered")
	require.Contains(t, again, `value="2026-01-15"`)

	// What a figure says of a drum ends with the next liquid that goes in, film fixer as well.
	require.Contains(t, s.enters("silver-measured", with(figure("<2"), "reference", "paper 8")...), "<2 mg/L")
	require.Contains(t, s.page("/shelf"), "under 5.0 mg/L, the federal limit")
	s.does(mixed("F2", "Fixer tray", 100, 900), ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.Film, Count: 2,
		SheetArea: ledger.EightByTen}, ledger.Discarded{Container: "Fixer tray", Volume: 1000, Emptied: true, To: "drum", Reason: "films"})
	text = s.page("/shelf")
	require.Contains(t, text, "<2 mg/L by laboratory, sampled 15 Jan 2026. More came in on Thu 15 Jan 21:00 CET: the figure no longer "+
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

// Sheets that come from a first fixing bath leave in the second what clings to them, once
// somebody has stated how much that is; until then all of it counts, and the page says so.
func TestTheSilverOfASecondFixingBathIsWhatWasCarriedOver(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "second fixer", Vessel: ledger.Tray, Capacity: 5000}, mixed("F1", "Fixer tray", 200, 1800),
		mixed("F2", "second fixer", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray", "second fixer"}, Material: ledger.ResinCoated, Count: 20,
			SheetArea: ledger.EightByTen},
		ledger.Discarded{Container: "second fixer", Volume: 2000, Emptied: true, To: "drum", Reason: "end of the session"})
	text := s.page("/shelf")
	require.Contains(t, text, "139 to 667 mg/L")
	require.Contains(t, text, "This overstates the silver: the sheets came from another fixing bath.")
	// 1.0323 m² x 388 mL/m² x 139 to 667 mg/L in 2 L (silvergrain.com, replenishing system; secondary).
	s.does(ledger.AssumptionsStated{CoatingLow: 0.538, CoatingHigh: 1.615, DissolvedLow: 0.5, DissolvedHigh: 0.8, CarryOver: 388,
		Source: "silvergrain.com; secondary"})
	text = s.page("/shelf")
	require.Contains(t, text, "28 to 134 mg/L")
	require.Contains(t, text, "only carry-over is counted")
}
