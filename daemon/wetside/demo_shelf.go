package main

import (
	"context"
	"time"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/rules"
)

// fillTrays sets tonight's class up as a volunteer would, after the invented evenings before
// it. What was entered on an earlier start is refused by the book, and stays.
func fillTrays(ctx context.Context, d *daemon.Daemon, room config.Room, evenings int) {
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	const volunteer = "simulated volunteer"
	used, acts := stock{}, []ledger.Act{}
	if evenings == 0 {
		acts = firstStock()
		for _, act := range probeActs(room, time.Now().UTC()) {
			_, _ = d.Do(ctx, rules.Command{Room: room.ID, Person: "simulated keeper", Act: act})
		}
	}
	for before := range evenings {
		used.setUp(before)
	}
	acts = append(append(acts, ledger.SessionOpened{Session: "invented evening", Title: "Invented evening", Lead: volunteer}),
		used.setUp(evenings)...)
	for _, act := range acts {
		_, _ = d.Enter(ctx, daemon.ShelfEntry{Room: room.ID, Person: volunteer, Act: act})
	}
}
