package main

import (
	"context"
	"time"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors/quantity"
)

// fillTrays enters the invented stock and baths of the evening, as a volunteer
// would. What was entered on an earlier start is refused by the book, and stays.
func fillTrays(ctx context.Context, d *daemon.Daemon, site config.Config) {
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	for _, r := range site.Rooms {
		enterProbes(ctx, d, r)
		for _, act := range inventedEvening() {
			_, _ = d.Enter(ctx, daemon.ShelfEntry{Room: r.ID, Person: "simulated volunteer", Act: act})
		}
	}
}

// inventedEvening is a delivery of each concentrate, one bottle of each opened, and four trays mixed.
func inventedEvening() []ledger.Act {
	acts := []ledger.Act{
		ledger.ContainerNamed{Container: "silver-bearing drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream},
		ledger.ContainerNamed{Container: "fixer bottle, working strength", Vessel: ledger.Bottle, Capacity: 5000, KeptFor: ledger.Fixer},
	}
	for _, c := range []struct {
		product string
		class   ledger.Class
	}{{"print-developer", ledger.PrintDeveloper}, {"stop-bath", ledger.StopBath}, {"rapid-fixer", ledger.Fixer}} {
		lot := "invented lot of " + string(c.class)
		acts = append(acts, ledger.LotReceived{Lot: lot, Product: c.product, Class: c.class, Units: 4, UnitVolume: 1000, Owner: ledger.House},
			ledger.LotOpened{Lot: lot, Container: string(c.class) + " concentrate"})
	}
	mix := func(batch, product string, class ledger.Class, tray string) ledger.BatchMixed {
		const concentrate, water quantity.Millilitre = 200, 1800
		return ledger.BatchMixed{Batch: batch, Name: "invented " + string(class), Product: product, Class: class, Into: tray, Meant: ledger.FromConcentrate,
			From: string(class) + " concentrate", ParentVolume: concentrate, Water: water, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
	}
	return append(acts,
		ledger.SessionOpened{Session: "invented evening", Title: "Invented evening", Lead: "simulated volunteer"},
		mix("invented PD", "print-developer", ledger.PrintDeveloper, "Developer tray"),
		mix("invented SB", "stop-bath", ledger.StopBath, "Stop bath tray"),
		mix("invented F1", "rapid-fixer", ledger.Fixer, "First fixer tray"),
		mix("invented F2", "rapid-fixer", ledger.Fixer, "Second fixer tray"))
}
