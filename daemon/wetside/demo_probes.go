package main

import (
	"context"
	"fmt"
	"time"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
)

// enterProbes enters the invented devices of the trays and two invented checks, one of
// which has found a probe off and corrected it. On a later start they are there already.
func enterProbes(ctx context.Context, d *daemon.Daemon, r config.Room) {
	do := func(act rules.Act) bool {
		_, err := d.Do(ctx, rules.Command{Room: r.ID, Person: "simulated keeper", Act: act})
		return err == nil
	}
	number := 0
	for _, c := range r.Channels {
		if c.Kind != sensors.BathTemperature {
			continue
		}
		number++
		label := fmt.Sprintf("invented probe %d", number)
		if !do(truth.FitProbe{Channel: c.ID, Probe: label, Make: "steel thermometer (invented)", Accuracy: 0.5}) {
			return
		}
		if number > 2 {
			continue
		}
		check := truth.CheckProbe{Channel: c.ID, Method: truth.IcePoint, Reference: truth.IceTemperature, Uncertainty: truth.IceUncertainty, AsFound: 0.12,
			Next: time.Now().UTC().Add(180 * 24 * time.Hour).Truncate(24 * time.Hour), Note: "invented"}
		if number == 2 {
			check.AsFound, check.Correct = -0.25, true
		}
		do(check)
	}
}
