package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
)

func TestADateThatIsYearsOffIsASlip(t *testing.T) {
	b := newBook(t).room()
	back := b.entry(at("18:00"), ledger.ProductNoted{Product: "x", Name: "X", Class: ledger.Fixer, Full: &ledger.Amount{Value: 1,
		Unit: "days"}, Source: "label", Standing: ledger.Verified})
	back.At = time.Date(206, 3, 4, 18, 0, 0, 0, time.UTC)
	require.Contains(t, b.refuse(back, ledger.ErrTime), "Check the year")
	lot := ledger.LotReceived{Lot: "L", Product: "rapid-fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 1000, Owner: ledger.House}
	for year, ok := range map[int]bool{1925: false, 2010: true, 2027: true, 2205: false} {
		lot.Expiry = time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
		err := b.l.Check(b.entry(at("18:00"), lot))
		require.Equal(t, ok, err == nil, "%d: %v", year, err)
	}
	require.Contains(t, b.refuse(b.entry(at("18:00"), booking("b", at("18:00").AddDate(100, 0, 0), 8)), ledger.ErrTime), "time of the work")
	old := silver("5.0")
	old.Sampled = at("18:00").AddDate(-30, 0, 0)
	require.Contains(t, b.refuse(b.entry(at("18:00"), old), ledger.ErrTime), "date of the sample")
	mixed := b.write(at("18:00"), fixer("fix", "tray-fix", 1000))
	wrong := b.entry(at("18:01"), ledger.Correction{Of: mixed, Reason: "misread", At: at("18:00").AddDate(-40, 0, 0),
		Instead: fixer("fix", "tray-fix", 1000)})
	require.Contains(t, b.refuse(wrong, ledger.ErrTime), "corrected time")
}

// An entry is late when it is written more than two hours after what it tells; who has left may write up to
// that moment.
func TestAnEntryIsLateAfterTwoHours(t *testing.T) {
	b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: catalogue(t), People: []ledger.Person{{Name: "Ada", Left: at("20:00")}}})}
	for written, late := range map[string]bool{"18:01": false, "20:00": false, "20:01": true} {
		e := b.entry(at("18:00"), jar(100))
		e.Entered = at(written)
		require.Equal(t, late, e.Late(), written)
		require.Equal(t, late, b.l.Check(e) != nil, "Ada left at 20:00, and writes at %s", written)
	}
}
