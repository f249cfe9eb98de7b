// Package pace keeps work that is asked for often from taking more than its share of a computer: what
// comes meanwhile is done together. It is a matter of what the computer can do and so of real time,
// whatever clock a test injects.
package pace

import "time"

// ahead is how much of the rest may be taken later, so that what is asked for within one instant
// after a quiet moment is done at once, one after another.
const ahead = 50 * time.Millisecond

// Pace is how often the work is done.
type Pace struct {
	// Rest is how many times as long as the work takes it is not done again, on average.
	Rest int
	// Most is how long the work waits at most.
	Most time.Duration

	rested time.Time // when all rest will have been taken
}

// Next is when the work may be done again.
func (p *Pace) Next() time.Time { return p.rested.Add(-ahead) }

// Done notes that the work was done, from a moment to another.
func (p *Pace) Done(began, ended time.Time) {
	if p.rested.Before(began) {
		p.rested = began
	}
	p.rested = p.rested.Add(time.Duration(1+p.Rest) * ended.Sub(began))
	if most := ended.Add(ahead + p.Most); p.rested.After(most) {
		p.rested = most
	}
}
