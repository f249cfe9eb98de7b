package ledger

import (
	"errors"

	"wetside/sensors/quantity/phrase"
)

// What can be wrong with an entry; [errors.Is] finds these behind a [Problem].
var (
	ErrForm      = errors.New("the entry is not filled in properly")
	ErrTime      = errors.New("the time cannot be right")
	ErrPerson    = errors.New("the person is not on the list")
	ErrUnknown   = errors.New("nothing is known under that name")
	ErrTaken     = errors.New("the name is taken")
	ErrVolume    = errors.New("the volumes do not add up")
	ErrNotEnough = errors.New("less is left than was taken out")
	ErrOlder     = errors.New("a batch cannot be older than what it is mixed from")
	ErrMismatch  = errors.New("these two do not belong together")
	ErrBaseline  = errors.New("there is no baseline")
	ErrStale     = errors.New("somebody else changed it in between")
	ErrSession   = errors.New("the session is not clear")
	ErrLater     = errors.New("a later entry would become impossible")
)

// Problem is a refusal in plain words: what is wrong, and what to do about it.
type Problem struct {
	Sort  error           // one of the Err values above
	Wrong phrase.Sentence // what is wrong
	Do    phrase.Sentence // what to do
}

// Error gives both sentences.
func (p Problem) Error() string { return p.both().String() }

// By gives both as a place tells them.
func (p Problem) By(t phrase.Place) string { return p.both().By(t) }

func (p Problem) both() phrase.Sentence { return phrase.Say("%s. %s.", p.Wrong, p.Do) }

func (p Problem) Unwrap() error { return p.Sort }

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
