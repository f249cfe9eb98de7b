package ledger

import (
	"slices"
	"time"

	"wetside/sensors/quantity"
)

// StockUse is concentrate, or powder by what it makes, that was taken for batches.
type StockUse struct {
	Product string
	Volume  quantity.Millilitre
}

// StockUsed sums up what was taken in a session.
func (l *Ledger) StockUsed(session string) []StockUse {
	sums := map[string]quantity.Millilitre{}
	for _, d := range l.now.drawn.all() {
		if d.session == session {
			sums[d.product] += d.volume
		}
	}
	var used []StockUse
	for _, product := range sortedKeys(sums) {
		used = append(used, StockUse{product, sums[product]})
	}
	return used
}

// OnHand is what there is of a product: sealed bottles and packets, and
// concentrate in opened bottles.
func (l *Ledger) OnHand(product string) quantity.Millilitre {
	return l.stock(product, func(Lot) bool { return true }, func(*Container) bool { return true })
}

// stock sums up the lots and the vessels with concentrate of a product that count.
func (l *Ledger) stock(product string, lots func(Lot) bool, vessels func(*Container) bool) quantity.Millilitre {
	sum := quantity.Millilitre(0)
	for _, id := range sortedKeys(l.now.lots) { // in one order, so that a sum is the same each time
		if lot := l.now.lots[id]; lot.Product == product && lots(lot) {
			sum += lot.UnitVolume * quantity.Millilitre(lot.Units-lot.Opened)
		}
	}
	for c := range l.now.vessels() {
		if c.Liquid != nil && c.Vessel != WasteContainer && c.Liquid.product == product && l.now.sortOf(*c.Liquid) == FromConcentrate &&
			vessels(c) {
			sum += c.Liquid.volume
		}
	}
	return sum
}

// PerSquareMetre is how much of a product was taken for each square metre that
// went through its baths; ok is false when nothing did.
func (l *Ledger) PerSquareMetre(product string) (perArea float64, ok bool) {
	area, taken := l.now.areas[product], 0.0
	for _, d := range l.now.drawn.all() {
		if d.product == product {
			taken += float64(d.volume)
		}
	}
	if area == 0 || taken == 0 {
		return 0, false
	}
	return taken / area, true
}

// Booking is work that is planned.
type Booking struct {
	At   time.Time
	Area quantity.SquareMetre
}

// ReorderPlan is what a reorder date rests on.
type ReorderPlan struct {
	OnHand         quantity.Millilitre
	PerSquareMetre float64 // millilitres
	Bookings       []Booking
	Lead           time.Duration // from the order to the delivery
}

// Reorder says at which booking the stock runs out, and by when to order; ok is
// false when it lasts for all bookings or the use is not known.
func (p ReorderPlan) Reorder() (runsOut, orderBy time.Time, ok bool) {
	left := float64(p.OnHand)
	byTime := slices.SortedFunc(slices.Values(p.Bookings), func(a, b Booking) int { return a.At.Compare(b.At) })
	for _, b := range byTime {
		left -= p.PerSquareMetre * float64(b.Area)
		if left < 0 {
			return b.At, b.At.Add(-p.Lead), true
		}
	}
	return time.Time{}, time.Time{}, false
}
