package ledger

import "wetside/sensors/quantity/phrase"

// PitcherFor is the pitcher that is kept for a class; empty when there is none.
func (l *Ledger) PitcherFor(class Class) string {
	for _, id := range l.Containers() {
		if c := l.now.containers[id]; c.Vessel == Pitcher && c.KeptFor == class {
			return id
		}
	}
	return ""
}

// measuredWith refuses a pitcher that is kept for another chemical: a little fixer or stop bath
// ruins a developer, and fixer is the hardest to wash out (US Army photographic subcourse).
func (s *state) measuredWith(id string, class Class) error {
	if id == "" {
		return nil
	}
	c, err := s.container(id)
	switch {
	case err != nil:
		return err
	case c.Vessel != Pitcher:
		return Problem{ErrMismatch, phrase.Say("%s is a %s, not a pitcher", id, c.Vessel),
			phrase.Say("Choose the pitcher, or leave the field empty")}
	case c.KeptFor != class:
		return Problem{ErrMismatch, phrase.Say("%s is kept for %s and this is %s: what clings to a pitcher spoils the next bath", id,
			c.KeptFor, class),
			phrase.Say("Use the pitcher that is kept for %s. If this one was really used, discard the mix and start again", class)}
	}
	return nil
}
