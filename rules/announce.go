package rules

import (
	"maps"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

// AnnounceTime says that the people at a tray were told a developing time. It
// applies to prints started after it.
type AnnounceTime struct {
	Bath    string  `json:"bath"`
	Seconds float64 `json:"seconds"`
}

// Kind names the record.
func (AnnounceTime) Kind() string { return "time announced" }

// Told is the developing time that the people at a tray were told last.
type Told struct {
	Time time.Duration
	At   time.Time // UTC
	By   string
}

// announcement says what was told of the bath as it is filled now, and whether
// the time has moved so far that it is to be told anew. A share of zero takes 10 %.
func announcement(view BathView, told Told, share float64) (*Told, bool) {
	t, known := view.Recommendation.Time()
	if view.Portion == nil || told.At.Before(view.Portion.Filled) || told.Time == 0 {
		return nil, known
	}
	return &told, known && worthSaying(told.Time, t, share)
}

func checkAnnounce(room Room, act AnnounceTime) error {
	bath, err := room.bath(act.Bath)
	switch {
	case err != nil:
		return err
	case bath.Role != Developer:
		return phrase.Errorf("%s is no developer: only a developing time is announced", bath.Name)
	case !(act.Seconds > 0 && act.Seconds <= 86400):
		return phrase.Errorf("there is no time to announce: look why the board gives none")
	}
	return nil
}

func (b Board) told(d Done, act AnnounceTime) Board {
	b.Told = maps.Clone(b.Told)
	if b.Told == nil {
		b.Told = map[string]Told{}
	}
	b.Told[act.Bath] = Told{Time: time.Duration(act.Seconds * float64(time.Second)), At: d.At, By: d.Command.Person}
	return b
}

func announcedSentence(d Done, act AnnounceTime, b Bath) phrase.Sentence {
	t := chem.MinutesSeconds(time.Duration(act.Seconds * float64(time.Second)))
	return phrase.Say("Record %d: %s was announced for %s by %s; it applies to prints started from now on.", d.Record, t, b.Name, d.Command.Person)
}
