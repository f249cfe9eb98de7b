package ventilation

import (
	"math"

	"wetside/sensors/quantity"
)

// Choices of this program. Two flows of one duct may differ by a quarter of the reference:
// probes sit at different places and a traverse corrects but one. The hood draws nothing
// below 0.1 m/s, less than half of the least control velocity of Kodak's Processing
// Module 9, p. 11 (50 ft/min, 0.254 m/s), and draws for certain from twice that.
// A room pressure of half the usual one, and at least 1 Pa, shows that air is drawn out.
const (
	flowsDiffer   = 0.25
	hoodStill     = 0.1
	hoodDraws     = 2 * hoodStill
	pressureShare = 0.5
	pressureLeast = 1.0
)

// against lists the signs that contradict the flow.
func (in Evidence) against(lead int, flow quantity.CubicMetrePerHour) []Sign {
	var list []Sign
	moved := false // another sign than the flow itself shows that air moves
	for i, s := range in.Signs {
		if i == lead {
			continue
		}
		if in.contradicts(s, flow) {
			list = append(list, s)
		}
		moved = moved || in.agrees(s, flow)
	}
	if len(list) == 1 && list[0].Kind == FanContact && moved {
		return nil
	}
	return list
}

// contradicts says whether a good sign can't be true beside the flow.
func (in Evidence) contradicts(s Sign, flow quantity.CubicMetrePerHour) bool {
	v, good := s.Value()
	if !good {
		return false
	}
	enough, still := flow >= in.Limits.Low, !in.moves(flow)
	switch {
	case s.Kind == FlowSign:
		differ := math.Abs(v-float64(flow)) > flowsDiffer*float64(in.Limits.Reference)
		return differ && max(v, float64(flow)) >= float64(in.Limits.Low)
	case s.Kind == FanContact:
		return enough && !switchedOn(v)
	case s.Kind.Hood():
		return enough && in.hoodStill() || still && v >= hoodDraws
	case s.Kind == CarbonDioxideOf:
		most, known := in.MostCO2.Get()
		return known && enough && v > most
	}
	return false
}

// agrees says whether a good sign shows by itself that air is drawn out as the flow says, which is no stop. A fan contact never does.
func (in Evidence) agrees(s Sign, flow quantity.CubicMetrePerHour) bool {
	v, good := s.Value()
	if !good || in.contradicts(s, flow) {
		return false
	}
	switch {
	case s.Kind == FlowSign:
		return in.moves(quantity.CubicMetrePerHour(v))
	case s.Kind.Hood():
		return v >= hoodStill
	case s.Kind == PressureSign:
		usual, known := in.UsualPressure.Get()
		return known && -v >= pressureLeast && -v >= pressureShare*-float64(usual)
	}
	return false
}

// still says whether a good sign says that no air moves.
func (in Evidence) still(s Sign) bool {
	v, good := s.Value()
	switch {
	case !good:
		return false
	case s.Kind == FlowSign:
		return !in.moves(quantity.CubicMetrePerHour(v))
	case s.Kind == FanContact:
		return !switchedOn(v)
	}
	return s.Kind.Hood() && v < hoodStill
}

// hoodStill says whether the hood has good probes and draws at none of them.
func (in Evidence) hoodStill() bool {
	fitted := false
	for _, s := range in.Signs {
		_, good := s.Value()
		fitted = fitted || good && s.Kind.Hood()
	}
	return fitted && in.Signs.best() < hoodStill
}
