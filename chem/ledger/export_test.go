package ledger

import "wetside/sensors/quantity"

// Account is all liquid that ever came into the room, is held, and went out:
// In = Held + Out, within the rounding of the arithmetic.
type Account struct{ In, Held, Out quantity.Millilitre }

// Account sums up the whole book.
func (l *Ledger) Account() Account {
	a := Account{In: l.now.in, Out: l.now.out}
	for _, id := range sortedKeys(l.now.containers) { // in one order, so that a sum is the same each time
		c := l.now.containers[id]
		if c.Liquid != nil {
			a.Held += c.Liquid.volume
		}
	}
	return a
}
