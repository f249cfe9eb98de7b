package ventilation

import (
	"slices"
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Commissioning is a measured proof of what a fan moves, with everything an
// auditor asks of it.
type Commissioning struct {
	At          time.Time
	By          string
	Instrument  string // make-independent name and serial number
	Certificate string // number of its calibration certificate
	Conditions  string // doors, filters, other fans at the time
	Area        quantity.SquareMetre
	Points      []Point
	Velocities  []quantity.MetrePerSecond // one a point, in the same order
	// AtProbe is the velocity the fixed probe showed during the traverse.
	AtProbe quantity.MetrePerSecond
	// RoomPressure during the traverse is what is usual from now on.
	RoomPressure Optional[quantity.Pascal]
}

// Commissioned is what follows from a commissioning.
type Commissioned struct {
	Mean     quantity.MetrePerSecond
	Flow     quantity.CubicMetrePerHour
	Factor   float64          // traverse factor for the fixed probe
	Evenness quantity.Percent // lowest velocity of the highest
	Limits   Limits
}

// Evaluate gives flow, traverse factor and limits, or says what is missing.
func (c Commissioning) Evaluate(shares Shares) (Commissioned, error) {
	if err := c.complete(); err != nil {
		return Commissioned{}, err
	}
	mean, err := MeanVelocity(c.Velocities)
	if err != nil {
		return Commissioned{}, err
	}
	flow, err := Duct{Area: c.Area, Factor: 1}.Flow(mean)
	if err != nil {
		return Commissioned{}, err
	}
	limits, err := DeriveLimits(flow, shares)
	if err != nil {
		return Commissioned{}, err
	}
	if factor := float64(mean / c.AtProbe); factor > 2 {
		return Commissioned{}, phrase.Errorf("the fixed probe shows %.2f m/s while the mean is %.2f m/s: it stands in dead air, move it", float64(c.AtProbe), float64(mean))
	}
	limits.Derivation = phrase.Measured("%s, %s, certificate %s, mean of %d points %.2f m/s: %s",
		c.At.Format(time.DateOnly), c.Instrument, c.Certificate, len(c.Velocities), float64(mean), limits.Derivation)
	return Commissioned{
		Mean: mean, Flow: flow, Factor: float64(mean / c.AtProbe), Limits: limits,
		Evenness: quantity.Percent(100 * slices.Min(c.Velocities) / slices.Max(c.Velocities)),
	}, nil
}

func (c Commissioning) complete() error {
	for _, field := range []struct {
		name  phrase.Sentence
		value string
	}{
		{phrase.Say("the name of who measured"), c.By}, {phrase.Say("the instrument"), c.Instrument}, {phrase.Say("the number of its calibration certificate"), c.Certificate},
	} {
		if strings.TrimSpace(field.value) == "" {
			return phrase.Errorf("the commissioning lacks %s", field.name)
		}
	}
	if c.At.IsZero() {
		return phrase.Errorf("the commissioning lacks its date")
	}
	if len(c.Points) == 0 || len(c.Points) != len(c.Velocities) {
		return phrase.Errorf("%d velocities for %d traverse points: measure every point once", len(c.Velocities), len(c.Points))
	}
	return positive(phrase.Say("velocity at the fixed probe"), float64(c.AtProbe), "m/s")
}
