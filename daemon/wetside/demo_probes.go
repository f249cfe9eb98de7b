package main

import (
	"fmt"
	"math"
	"time"

	"wetside/daemon/config"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// probeActs are the invented devices of the trays and two invented checks, one of which has
// found a probe off and corrected it.
func probeActs(r config.Room, now time.Time) (acts []rules.Act) {
	number := 0
	for _, c := range r.Channels {
		if c.Kind != sensors.BathTemperature {
			continue
		}
		number++
		acts = append(acts, truth.FitProbe{Channel: c.ID, Probe: fmt.Sprintf("invented probe %d", number),
			Make: "steel thermometer (invented)", Accuracy: 0.5})
		if number > 2 {
			continue
		}
		check := truth.CheckProbe{Channel: c.ID, Method: truth.IcePoint, Reference: truth.IceTemperature, Uncertainty: truth.IceUncertainty,
			AsFound: 0.12,
			Next:    now.Add(180 * 24 * time.Hour).Truncate(24 * time.Hour), Note: "invented"}
		if number == 2 {
			check.AsFound, check.Correct = -0.25, true
		}
		acts = append(acts, check)
	}
	return acts
}

// traverse is an invented traverse of the duct: faster in the middle than at the wall.
func traverse(by string, at time.Time) (rules.CommissionAir, error) {
	a := rules.CommissionAir{Section: rules.Section{Shape: rules.RoundDuct, Diameter: 0.15}, AtProbe: 4.72,
		Instrument: "hot-wire anemometer, invented number 12", Certificate: "C-77 (invented)", CertificateEnds: at.AddDate(0, 5, 0),
		InstrumentPercent: 3,
		Conditions:        "door shut, filter new, no other fan (invented)", Design: 280, Next: at.AddDate(1, 0, 0)}
	points, err := a.Points()
	if err != nil {
		return a, err
	}
	for _, p := range points {
		off := math.Hypot(float64(p.X-a.Diameter/2), float64(p.Y-a.Diameter/2)) / float64(a.Diameter/2)
		a.Velocities = append(a.Velocities, quantity.MetrePerSecond(math.Round(505*math.Pow(1-off, 1.0/7))/100))
	}
	return a.Work(by, at)
}
