package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

// pitchers are two, each kept for one chemical.
func pitchers(t *testing.T) *book {
	b := newBook(t).room()
	b.write(at("10:00"), ledger.ContainerNamed{Container: "pitcher D", Vessel: ledger.Pitcher, Capacity: 1000, KeptFor: ledger.PrintDeveloper})
	b.write(at("10:00"), ledger.ContainerNamed{Container: "pitcher F", Vessel: ledger.Pitcher, Capacity: 1000, KeptFor: ledger.Fixer})
	return b
}

func TestAPitcherIsKeptForOneChemicalAndRefusedForAnother(t *testing.T) {
	b := pitchers(t)
	require.Equal(t, "pitcher D", b.l.PitcherFor(ledger.PrintDeveloper))
	require.Empty(t, b.l.PitcherFor(ledger.StopBath))

	mix := developer("D1", "tray-dev", 2000)
	mix.With = "pitcher F"
	said := b.refuse(b.entry(at("12:00"), mix), ledger.ErrMismatch)
	require.Contains(t, said, "pitcher F is kept for fixer and this is print developer")
	mix.With = "bottle-dev"
	b.refuse(b.entry(at("12:00"), mix), ledger.ErrMismatch)
	mix.With = "nowhere"
	b.refuse(b.entry(at("12:00"), mix), ledger.ErrUnknown)
	mix.With = "pitcher D"
	b.write(at("12:00"), mix)
}

func TestAPitcherNeedsTheChemicalThatItIsKeptFor(t *testing.T) {
	b := newBook(t)
	b.refuse(b.entry(at("10:00"), ledger.ContainerNamed{Container: "jug", Vessel: ledger.Pitcher, Capacity: 1000}), ledger.ErrForm)
}
