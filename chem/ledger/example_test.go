package ledger_test

import (
	"fmt"
	"time"

	"wetside/chem/ledger"
)

// A bottle of fixer is opened, and somebody asks whether a tray may be filled from it.
func Example() {
	life := &ledger.Figure{Value: 6, Unit: "months", Source: "label of the bottle", Standing: ledger.Verified}
	catalogue, err := ledger.NewCatalogue(ledger.Product{ID: "fixer", Name: "Fixer", Class: ledger.Fixer, Opened: life})
	if err != nil {
		fmt.Println(err)
		return
	}
	book := ledger.New(ledger.Settings{Catalogue: catalogue})
	now := time.Date(2025, 3, 4, 18, 0, 0, 0, time.UTC)
	for i, act := range []ledger.Act{
		ledger.LotReceived{Lot: "L1", Product: "fixer", Class: ledger.Fixer, Units: 1, UnitVolume: 1000, Owner: ledger.House},
		ledger.LotOpened{Lot: "L1", Container: "bottle 1"},
	} {
		entry := ledger.Entry{Number: uint64(i + 1), At: now, Entered: now, By: "Ada", Act: act}
		if err := book.Check(entry); err != nil {
			fmt.Println(err)
			return
		}
		if err := book.Apply(entry); err != nil {
			fmt.Println(err)
			return
		}
	}
	fmt.Println(book.MayPour("bottle 1", now.Add(72*time.Hour)).Sentence())
	fmt.Println(book.MayPour("bottle 2", now).Sentence())
	draw := ledger.Entry{At: now, Entered: now, By: "Ada", Act: ledger.PortionPoured{From: "bottle 1", To: "tray", Volume: 1500}}
	fmt.Println(book.Check(draw))
	// Output:
	// pour: life once opened: 3.0 days old, limit 6 months [label of the bottle, verified]
	// test first: Nothing is known of bottle 2 [record book, verified]
	// bottle 1 holds 1000 mL, but 1500 mL was taken out. Check the volume, or record the missing top-up first; a late entry is accepted.
}
