package shelf

import (
	"fmt"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/web"
)

// takeDownFigures are the estimates of a take-down with the assumptions that they rest on.
type takeDownFigures struct {
	Silver, SilverInputs string // empty when nothing was fixed
	Losses               string
	Source               string
	State                string // where the assumptions are stated
	Stock                []stockLine
}

// stockLine is what was used of a product, what is there, and by when to order.
type stockLine struct {
	Product, Used, OnHand, Reorder string
	Order                          bool // somebody has to order
}

// planAhead is how far ahead bookings count for a reorder date.
const planAhead = 366 * 24 * time.Hour

func (c takeDownPart) takeDownFigures(plan ledger.TakeDown, next string) *takeDownFigures {
	a := c.book.Assumptions()
	f := &takeDownFigures{Source: a.Source, State: "/shelf/enter/assumptions-stated?" + c.assumed(a, next).Encode(),
		Losses: fmt.Sprintf("Carry-over %s mL per m², evaporation %s per bath.", c.Number(float64(a.CarryOver), 0), c.Volume(a.Evaporation))}
	if plan.SilverHigh > 0 {
		f.Silver = fmt.Sprintf("About %s to %s g", c.Number(plan.SilverLow, 2), c.Number(plan.SilverHigh, 2))
		f.SilverInputs = fmt.Sprintf("Estimated from %s to %s g/m² on the paper, %s to %s %% of it dissolved; a test of the bath counts more.",
			c.Plain(float64(a.CoatingLow)), c.Plain(float64(a.CoatingHigh)),
			c.Plain(100*a.DissolvedLow), c.Plain(100*a.DissolvedHigh))
	}
	for _, use := range plan.Stock {
		f.Stock = append(f.Stock, c.stockLine(use.Product, c.Volume(use.Volume)))
	}
	return f
}

// stockLine says of a product what there is, and whether what is booked uses it up.
func (c shelfContext) stockLine(product, used string) stockLine {
	line := stockLine{Product: product, Used: used, OnHand: c.Volume(c.book.OnHand(product))}
	p, known := c.book.Catalogue.Product(product)
	if known {
		line.Product = p.Name
	}
	perArea, measured := c.book.PerSquareMetre(product)
	plan := ledger.ReorderPlan{OnHand: c.book.OnHand(product), PerSquareMetre: perArea, Lead: c.book.Assumptions().Lead()}
	for _, w := range c.book.Work(c.book.At, c.book.At.Add(planAhead)) {
		if p.Class.Processes(w.Material) {
			plan.Bookings = append(plan.Bookings, ledger.Booking{At: w.Begins, Area: w.Area()})
		}
	}
	switch runsOut, by, short := plan.Reorder(); {
	case short:
		line.Reorder, line.Order = fmt.Sprintf("Order by %s: at the booked rate this runs out on %s.", c.Date(by), c.Date(runsOut)), true
	case !measured:
		line.Reorder = "Use per sheet not known yet, so no reorder date."
	case len(plan.Bookings) == 0:
		line.Reorder = "Nothing is booked, so no reorder date."
	default:
		line.Reorder = web.Count(len(plan.Bookings), "Enough for the %d booking.", "Enough for all %d bookings.")
	}
	return line
}

// stock lists what is known of every product that there is or was something of.
func (c stockPart) stock() []stockLine {
	var lines []stockLine
	for _, p := range c.book.Catalogue.Products() {
		_, used := c.book.PerSquareMetre(p.ID)
		if used || c.book.OnHand(p.ID) > 0 {
			lines = append(lines, c.stockLine(p.ID, ""))
		}
	}
	return lines
}
