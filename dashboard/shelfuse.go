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

// SheetsLeft is how many sheets of 8x10 inches a bath still carries by the smallest
// published capacity for the material that it has seen most of; known is false
// when there is none. Sure is false when a figure is unverified.
func SheetsLeft(p ledger.Product, c ledger.Contents) (sheets float64, sure, known bool) {
	part, sure := UsedPart(p, c)
	if part < 0 {
		return 0, false, false
	}
	var most ledger.Material
	for _, m := range ledger.Materials() {
		if _, perLitre := tightest(p, m); perLitre > 0 && (most == "" || c.Load.Of(m) > c.Load.Of(most)) {
			most = m
		}
	}
	if most == "" {
		return 0, false, false
	}
	least, perLitre := tightest(p, most)
	left := perLitre * quantity.SquareMetre(max(0, 1-part)*float64(c.Volume)/1000)
	return float64(left / ledger.EightByTen), sure && least.Standing != ledger.Unverified, true
}
