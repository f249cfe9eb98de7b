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
	// CertificateEnds is the last day on which the certificate counts, and Instrument's
	// InstrumentUncertainty (k = 2, of the reading) what it states.
	CertificateEnds       time.Time
	InstrumentUncertainty quantity.Percent
	Conditions            string // doors, filters, other fans at the time
	Area                  quantity.SquareMetre
	Points                []Point
	Velocities            []quantity.MetrePerSecond // one a point, in the same order
	// ZerosConfirmed says that points without any velocity were measured twice.
	ZerosConfirmed bool
	// AtProbe is the velocity the fixed probe showed during the traverse.
	AtProbe quantity.MetrePerSecond
}

// Commissioned is what follows from a commissioning.
type Commissioned struct {
	Mean     quantity.MetrePerSecond
	Flow     quantity.CubicMetrePerHour
	Factor   float64          // traverse factor for the fixed probe
	Evenness quantity.Percent // lowest velocity of the highest
	// Uncertainty of the flow, expanded (k = 2).
	Uncertainty quantity.Percent
}

// Evaluate gives flow, traverse factor and uncertainty, or says what is missing.
func (c Commissioning) Evaluate() (Commissioned, error) {
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
	if err := positive(phrase.Say("mean velocity"), float64(mean), "m/s"); err != nil {
		return Commissioned{}, err
	}
	if at := slices.Index(c.Velocities, 0); at >= 0 && !c.ZerosConfirmed {
		return Commissioned{}, phrase.Errorf("point %d reads %s: measure it again, and confirm that no air moves there if it still does", at+1,
			quantity.MetrePerSecond(0).To(1))
	}
	factor := float64(mean / c.AtProbe)
	if factor > 2 {
		return Commissioned{}, phrase.Errorf("the fixed probe shows %s while the mean is %s: the probe is in dead air: move the probe",
			c.AtProbe.To(0.01),
			mean.To(0.01))
	}
	even := quantity.Percent(100 * slices.Min(c.Velocities) / slices.Max(c.Velocities))
	return Commissioned{Mean: mean, Flow: flow, Factor: factor, Evenness: even,
		Uncertainty: TraverseUncertainty(len(c.Velocities), even, c.InstrumentUncertainty)}, nil
}

func (c Commissioning) complete() error {
	for _, field := range []struct {
		name  phrase.Sentence
		value string
	}{
		{phrase.Say("the name of who measured"), c.By}, {phrase.Say("the instrument"), c.Instrument},
		{phrase.Say("the number of its calibration certificate"), c.Certificate},
		{phrase.Say("the conditions: doors, filters, other fans"), c.Conditions},
	} {
		if strings.TrimSpace(field.value) == "" {
			return phrase.Errorf("the commissioning lacks %s", field.name)
		}
	}
	if c.At.IsZero() {
		return phrase.Errorf("the date of the commissioning is missing")
	}
	if err := c.certified(); err != nil {
		return err
	}
	if len(c.Points) == 0 || len(c.Points) != len(c.Velocities) {
		return phrase.Errorf("%d velocities for %d traverse points: measure every point once", len(c.Velocities), len(c.Points))
	}
	return positive(phrase.Say("velocity at the fixed probe"), float64(c.AtProbe), "m/s")
}

// certified says whether the certificate of the instrument counts on the day of the traverse.
func (c Commissioning) certified() error {
	switch {
	case c.CertificateEnds.IsZero():
		return phrase.Errorf("the commissioning lacks the last day on which the calibration certificate is valid")
	case c.At.After(c.CertificateEnds.AddDate(0, 0, 1)):
		return phrase.Errorf("the calibration certificate ended on %s, before the traverse of %s: have the instrument calibrated, and "+
			"measure again",
			c.CertificateEnds.Format(time.DateOnly), c.At.Format(time.DateOnly))
	case !(c.InstrumentUncertainty > 0 && c.InstrumentUncertainty <= mostInstrument):
		return phrase.Errorf("an uncertainty of the instrument of %g %% is not usable: expected more than 0 and at most %g %%, as its "+
			"certificate states for a coverage factor of 2",
			float64(c.InstrumentUncertainty), float64(mostInstrument))
	}
	return nil
}

// mostInstrument is the uncertainty of an instrument that still proves something.
const mostInstrument quantity.Percent = 20
