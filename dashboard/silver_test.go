package dashboard_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

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
