package ledger

import (
	"math"

	"wetside/chem"
)

// Repair is what puts the content of a vessel right whose mix surely came out other than was meant, with what stands
// in another vessel or with water. It is false where the strength is near enough, or not known.
func (l *Ledger) Repair(container, from string) (chem.PourCheck, bool) {
	wrong, with := l.now.containers[container], l.now.containers[from]
	if wrong == nil || wrong.Liquid == nil || with == nil || with.Liquid == nil {
		return chem.PourCheck{}, false
	}
	liquid, parent := wrong.Liquid, with.Liquid
	if gap := liquid.unknown; gap.strength || gap.aim || parent.unknown.strength || liquid.product != parent.product ||
		math.Abs(liquid.strength/liquid.aim-1)-liquid.spread/liquid.aim < strengthDoubt {
		return chem.PourCheck{}, false
	}
	strength := chem.Strength(liquid.strength / float64(liquid.volume))
	checked, err := chem.Pour{Parent: chem.Measure{Volume: liquid.volume}, ParentStrength: strength,
		Target: chem.Strength(liquid.aim / float64(liquid.volume)), RepairWith: chem.Strength(parent.strength / float64(parent.volume)),
		Vessel: wrong.Capacity, Tolerance: pourTolerance}.Check()
	return checked, err == nil
}
