package breathing

import "wetside/sensors/quantity/phrase"

// Sensor is what a gas sensor can tell, in the unit of its channel.
type Sensor struct {
	Resolution float64 // smallest step; zero: not known
	Detection  float64 // detection limit; zero: not known
	FullScale  float64 // end of the range; zero: not known
}

// stepsPerLimit is how many steps a limit must have for a sensor to support a
// decision (choice of this program; steps of 0.1 ppm can't support 0.25 ppm).
const stepsPerLimit = 5

// Supports says why a sensor can't support a decision at a limit, in the same
// unit; an empty answer means that it can.
func (s Sensor) Supports(limit float64, unit string) phrase.Sentence {
	switch {
	case s.Resolution*stepsPerLimit > limit*(1+1e-9):
		return phrase.Say("The sensor's steps of %s %s are too coarse for a limit of %s %s.", figure(s.Resolution), unit, figure(limit), unit)
	case s.Detection > limit:
		return phrase.Say("The sensor detects nothing below %s %s, the limit is %s %s.", figure(s.Detection), unit, figure(limit), unit)
	case s.FullScale > 0 && s.FullScale < limit:
		return phrase.Say("The sensor's range ends at %s %s, the limit is %s %s.", figure(s.FullScale), unit, figure(limit), unit)
	}
	return phrase.Sentence{}
}

func (s Sensor) scaled(f float64) Sensor {
	return Sensor{s.Resolution * f, s.Detection * f, s.FullScale * f}
}
