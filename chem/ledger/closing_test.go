package ledger_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

func TestThePlaceWritesItsOwnClosingLists(t *testing.T) {
	b := newBook(t)
	usual := b.l.Closing(ledger.AfterSetUp)
	require.Contains(t, usual, "Cupboard locked")
	b.write(at("10:00"), ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: []string{"Key back to the porter"}})
	require.Equal(t, []string{"Key back to the porter"}, b.l.Closing(ledger.AfterSetUp))
	require.NotContains(t, b.l.Closing(ledger.AfterTakeDown), "Key back to the porter", "each list is written for itself")
	b.write(at("10:05"), ledger.ClosingListWritten{List: ledger.AfterSetUp})
	require.Equal(t, usual, b.l.Closing(ledger.AfterSetUp), "an empty list brings the usual lines back")

	for _, bad := range []ledger.Act{
		ledger.ClosingListWritten{List: "some other list"},
		ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: []string{" "}},
		ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: []string{strings.Repeat("a", 121)}},
		ledger.ClosingListWritten{List: ledger.AfterSetUp, Lines: make([]string, 16)},
		ledger.ClosingListSigned{List: ledger.AfterSetUp},
	} {
		b.refuse(b.entry(at("11:00"), bad), ledger.ErrForm)
	}
}

func TestAListIsSignedForOneSessionAndChangesNoOther(t *testing.T) {
	b := newBook(t)
	b.write(at("18:00"), ledger.SessionOpened{Session: "S", Title: "Class", Lead: "Ada"})
	require.False(t, b.l.ClosingSigned(ledger.AfterSetUp, "S"))
	before := b.l.Copy()
	b.write(at("18:10"), ledger.ClosingListSigned{List: ledger.AfterSetUp, Lines: b.l.Closing(ledger.AfterSetUp)})
	require.True(t, b.l.ClosingSigned(ledger.AfterSetUp, "S"))
	require.False(t, b.l.ClosingSigned(ledger.AfterSetUp, "another"), "the next evening signs anew")
	require.False(t, b.l.ClosingSigned(ledger.AfterTakeDown, "S"))
	require.False(t, before.ClosingSigned(ledger.AfterSetUp, "S"), "a copy stays as it was")
}
