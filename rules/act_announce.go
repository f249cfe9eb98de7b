package rules

import (
	"maps"
	"time"

	"wetside/chem"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// AnnounceTime says that the people at a tray were told a developing time. It
// applies to prints started after it.
type AnnounceTime struct {
	Bath    string  `json:"bath"`
	Seconds float64 `json:"seconds"`
}

func (AnnounceTime) Kind() string { return "time announced" }

// Told is the developing time that the people at a tray were told last.
type Told struct {
	Time time.Duration
	At   time.Time // UTC
	By   string
}

// announcement says what was told of the bath as it is filled now, and whether
// the time has moved so far that it is to be told anew. A share of zero takes 10 %.
func announcement(view *BathView, told Told, share float64) (*Told, bool) {
	t, known := view.Recommendation.Time()
	if view.Portion == nil || told.At.Before(view.Portion.Filled) || told.Time == 0 {
		return nil, known
	}
	return new(told), known && worthSaying(told.Time, t, share)
}

func (a AnnounceTime) check(room Room, _ Board, _ Command) error {
	bath, err := room.bath(a.Bath)
	switch {
	case err != nil:
		return err
	case bath.Role != Developer:
		return phrase.Errorf("%s is not a developer: only a developing time is announced", bath.Name)
	case !(a.Seconds > 0 && a.Seconds <= 86400):
		return phrase.Errorf("there is no time to announce: the board says why")
	}
	return nil
}

func (a AnnounceTime) apply(b Board, d Done, _ sensors.Instant) (Board, error) {
	b.Told = maps.Clone(b.Told)
	if b.Told == nil {
		b.Told = map[string]Told{}
	}
	b.Told[a.Bath] = Told{Time: a.time(), At: d.At, By: d.Command.Person}
	return b, nil
}

func (a AnnounceTime) sentence(room Room, d Done) phrase.Sentence {
	return phrase.Say("%s was announced for %s by %s; it applies to prints started from now on.",
		chem.MinutesSeconds(a.time()), room.bathName(a.Bath), d.Command.Person)
}

func (a AnnounceTime) time() time.Duration { return time.Duration(a.Seconds * float64(time.Second)) }
