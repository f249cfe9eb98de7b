package past

import (
	"slices"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
)

// Kept is what a [Fold] came to, in a form that can be written down. It shares what it holds
// with the fold.
type Kept struct {
	Settings []record.Record
	Rest     map[string]bool
	Rooms    []string
	Lives    map[string]alarm.KeptLives
	Evenings []Evening
	Waiting  map[string]record.Record
	Air      map[string][]AirState
	Last     uint64
}

// Kept is what the fold has come to.
func (f *Fold) Kept() Kept {
	k := Kept{Settings: f.settings, Rest: f.alarms.Rest, Rooms: f.rooms, Lives: map[string]alarm.KeptLives{}, Waiting: f.waiting,
		Air: f.air, Last: f.last}
	for room, l := range f.lives {
		k.Lives[room] = l.Kept()
	}
	for _, e := range f.evenings {
		k.Evenings = append(k.Evenings, *e)
	}
	return k
}

// Resume is the fold that came to what was kept.
func Resume(k Kept) (Fold, error) {
	f := Fold{alarms: rules.AlarmBook{Rest: k.Rest}, lives: map[string]*alarm.Lives{}, rooms: k.Rooms, known: map[beginning]*Evening{},
		waiting: k.Waiting, air: k.Air, settings: slices.Clip(k.Settings), last: k.Last}
	for _, r := range k.Settings {
		if err := f.Settings.apply(r); err != nil {
			return Fold{}, err
		}
	}
	for room, l := range k.Lives {
		f.lives[room] = l.Resume()
	}
	for i := range k.Evenings {
		e := &k.Evenings[i]
		f.evenings, f.known[beginning{e.Room, e.Last.Begun.UnixNano()}] = append(f.evenings, e), e
	}
	return f, nil
}
