package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Sheets of yesterday, when the trays were empty, or of a tray that nobody filled: possible, as somebody may have
// forgotten to enter the bath, but never without a word.
func TestSheetsThroughAnEmptyTrayAreAcceptedWithAWarning(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	now := b.entry(at("12:30"), sheets(2, nil, "tray-fix"))
	require.Empty(t, b.l.Warnings(now))
	early := b.entry(at("11:00"), sheets(2, nil, "tray-fix", "tray-dev"))
	require.NoError(t, b.l.Check(early))
	require.Contains(t, b.l.Warnings(early)[0].String(), "nothing was in tray-fix, tray-dev at that time")
	other := b.l.Warnings(b.entry(at("12:30"), sheets(2, nil, "tray-fix", "tray-dev")))
	require.Contains(t, other[0].String(), "nothing was in tray-dev at that time: these sheets wear out no bath there")
}
