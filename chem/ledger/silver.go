package ledger

import (
	"wetside/sensors/quantity"
)

// HazardousSilver says whether waste with so many milligrams of silver a litre
// meets the US federal toxicity line D011: equal to or above 5.0 mg/L (40 CFR
// 261.24). Local limits can be far lower and come first.
func HazardousSilver(milligramPerLitre float64) bool { return milligramPerLitre >= silverLine }

// silverLine is D011 in mg/L.
const silverLine = 5.0

// SilverInputs are the assumptions behind an estimate of silver. All are
// inputs: none is a constant of nature.
type SilverInputs struct {
	Coating   quantity.GramPerSquareMetre // silver on the material
	Dissolved float64                     // part of it that goes into the fixer, 0 to 1
}

// SilverMass is the silver in grams that an area gives off.
func (in SilverInputs) SilverMass(area quantity.SquareMetre) float64 {
	return float64(area) * float64(in.Coating) * in.Dissolved
}

// SilverLoad is the concentration when an area has been fixed in a volume; ok
// is false when the inputs are not possible.
func (in SilverInputs) SilverLoad(area quantity.SquareMetre, volume quantity.Millilitre) (load quantity.GramPerLitre, ok bool) {
	possible := volume > 0 && area >= 0 && in.Coating >= 0 && in.Dissolved >= 0 && in.Dissolved <= 1
	if !possible {
		return 0, false
	}
	return quantity.GramPerLitre(in.SilverMass(area) / (float64(volume) / 1000)), true
}

// residualThiosulfateLimit is 1.4 µg/cm² of thiosulfate left in microfilm (a
// laboratory page that cites ISO 18917:1999: secondary).
const residualThiosulfateLimit quantity.GramPerSquareMetre = 0.014

// MicrogramPerSquareCentimetre turns the unit of laboratory reports into g/m².
func MicrogramPerSquareCentimetre(v float64) quantity.GramPerSquareMetre {
	return quantity.GramPerSquareMetre(v / 100)
}

// JudgeThiosulfate says whether the residue is within the limit; valid is false
// when the test came more than 14 days after processing (same source).
func JudgeThiosulfate(residue quantity.GramPerSquareMetre, daysAfter float64) (within, valid bool) {
	valid = daysAfter >= 0 && daysAfter <= 14 && residue >= 0
	return valid && residue <= residualThiosulfateLimit+1e-12, valid
}
