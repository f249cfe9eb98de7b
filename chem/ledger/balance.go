package ledger

import (
	"wetside/sensors/quantity"
)

// Losses are the stated assumptions behind an estimate of what a bath loses by itself.
type Losses struct {
	CarryOver   quantity.Millilitre // for each square metre processed
	Evaporation quantity.Millilitre // of a class in a session
}

// Balance is what became of the liquid of one class in the trays and tanks of a
// session: Mixed + Brought = Returned + Discarded + Left + CarryOver +
// Evaporation + Unexplained. A negative Unexplained means that more was found
// than the estimates allow.
type Balance struct {
	Class       Class
	Mixed       quantity.Millilitre // in the vessel, water of top-ups included
	Brought     quantity.Millilitre // from storage, or there at the beginning
	Returned    quantity.Millilitre
	Discarded   quantity.Millilitre
	Left        quantity.Millilitre // still in the vessels
	CarryOver   quantity.Millilitre // estimated
	Evaporation quantity.Millilitre // estimated
	Unexplained quantity.Millilitre
}

// UnexplainedShare is the part of what came in that is not accounted for, -1 to
// 1; 0 when nothing came in.
func (b Balance) UnexplainedShare() float64 {
	if in := b.Mixed + b.Brought; in > 0 {
		return float64(b.Unexplained / in)
	}
	return 0
}

// Balances gives the balance of each class in a session. For a session that
// lasts, what is in the vessels now counts as left.
func (l *Ledger) Balances(session string, losses Losses) []Balance {
	sums := map[flow]quantity.Millilitre{} // by sort and class
	add := func(sort flowSort, class Class, v quantity.Millilitre) { sums[flow{sort: sort, class: class}] += v }
	for _, f := range l.now.flows.all() {
		if f.session == session {
			add(f.sort, f.class, f.volume)
		}
	}
	if s, ok := l.now.sessions.get(session); ok && s.Closed.IsZero() {
		l.now.eachWorking(func(c *Container) { add(leftThere, c.Liquid.class, c.Liquid.volume) })
	}
	var balances []Balance
	for _, class := range Classes() {
		sum := func(sort flowSort) quantity.Millilitre { return sums[flow{sort: sort, class: class}] }
		b := Balance{Class: class, Mixed: sum(mixedIn), Brought: sum(broughtIn), Returned: sum(returnedOut),
			Discarded: sum(discardedOut), Left: sum(leftThere)}
		if b.Mixed+b.Brought > 0 {
			balances = append(balances, b.closed(l.now.processed(session, class), losses))
		}
	}
	return balances
}

// closed splits what is missing into the estimates and the rest.
func (b Balance) closed(area quantity.SquareMetre, losses Losses) Balance {
	b.CarryOver = losses.CarryOver * quantity.Millilitre(area)
	b.Evaporation = losses.Evaporation
	b.Unexplained = b.Mixed + b.Brought - b.Returned - b.Discarded - b.Left - b.CarryOver - b.Evaporation
	return b
}

// Processed is the area of the sheets that went through a bath of a class in a session;
// a sheet that went through two of them, as with two fixing baths, counts once.
func (l *Ledger) Processed(session string, class Class) quantity.SquareMetre {
	area, last := quantity.SquareMetre(0), uint64(0)
	for _, u := range l.now.uses.all() {
		if u.Session == session && u.Class == class && u.Entry != last {
			area, last = area+u.Area, u.Entry
		}
	}
	return area
}

// processed is the area that went through the baths of a class in a session, each bath
// by itself: every one of them loses what is carried over.
func (s *state) processed(session string, class Class) quantity.SquareMetre {
	area := quantity.SquareMetre(0)
	for _, u := range s.uses.all() {
		if u.Session == session && u.Class == class {
			area += u.Area
		}
	}
	return area
}
