package dashboard

import (
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// UsedPart is which part of its capacity a bath has used, by the smallest published
// capacity for each material; negative when that can't be told. Sure is false when
// one of the figures is unverified.
func UsedPart(p ledger.Product, c ledger.Contents) (part float64, sure bool) {
	sure = true
	for _, m := range ledger.Materials() {
		area := c.Load.Of(m)
		if area == 0 {
			continue
		}
		least, perLitre := tightest(p, m)
		if perLitre == 0 {
			return -1, false
		}
		part += float64(area/perLitre) / (float64(c.Volume) / 1000)
		sure = sure && least.Standing != ledger.Unverified
	}
	return part, sure
}

// tightest is the smallest published capacity for a material, which is the one
// that binds, and the area a litre that it comes to; zero when there is none.
func tightest(p ledger.Product, m ledger.Material) (least ledger.Capacity, perLitre quantity.SquareMetre) {
	for _, c := range p.Capacity {
		area, known := c.AreaPerLitre()
		if known && c.Material == m && (perLitre == 0 || area < perLitre) {
			least, perLitre = c, area
		}
	}
	return least, perLitre
}
