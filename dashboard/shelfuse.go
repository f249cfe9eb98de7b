package dashboard

import "wetside/chem/ledger"

// UsedPart is which part of its capacity a bath has used, by the smallest published
// capacity for each material; negative when that can't be told. Sure is false when
// one of the figures is unverified.
func UsedPart(p ledger.Product, c ledger.Contents) (part float64, sure bool) {
	sure = true
	for _, m := range ledger.Materials() {
		area := c.Load.Of(m)
		least := ledger.Capacity{}
		for _, capacity := range p.Capacity {
			perLitre, ok := capacity.AreaPerLitre()
			held, _ := least.AreaPerLitre()
			if ok && capacity.Material == m && (held == 0 || perLitre < held) {
				least = capacity
			}
		}
		perLitre, _ := least.AreaPerLitre()
		switch {
		case area == 0:
		case perLitre == 0:
			return -1, false
		default:
			part += float64(area/perLitre) / (float64(c.Volume) / 1000)
			sure = sure && least.Standing != ledger.Unverified
		}
	}
	return part, sure
}
