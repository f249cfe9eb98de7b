package dashboard_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

func TestWasteIsOfferedTheContainersOfItsOwnStream(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "plain drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.PlainStream})
	developer, fixer := s.page("/shelf/enter/discarded?container=PD+bottle"), s.page("/shelf/enter/discarded?container=FX+bottle")
	require.Contains(t, developer, `<option value="plain drum">`)
	require.NotContains(t, developer, `<option value="drum">`)
	require.Contains(t, fixer, `<option value="drum">`)
	require.NotContains(t, fixer, `<option value="plain drum">`)
	require.Contains(t, s.page("/shelf/enter/discarded"), `<option value="plain drum">`, "what it is of is not known yet")
}

// Sheets go through the trays in the order of the room, whatever they are called: of two
// fixing baths the first one gets the silver.
func TestTraysAreOfferedInTheOrderOfTheWork(t *testing.T) {
	s := stocked(t)
	s.does(mixed("F1", "Fixer tray", 200, 1800), ledger.ContainerNamed{Container: "A tray beside", Vessel: ledger.Tray, Capacity: 2000})
	text := s.page("/shelf/enter/sheets-used")
	at := -1
	for _, tray := range []string{"Developer tray", "Stop bath tray", "Fixer tray", "Wash tray", "A tray beside"} {
		next := strings.Index(text, `value="`+tray+`"`)
		require.Greater(t, next, at, tray)
		at = next
	}
}
