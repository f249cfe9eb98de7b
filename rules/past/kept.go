package past

import (
	"slices"
	"time"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/record"
)

// Kept is what a [Fold] came to, in a form that can be written down. It shares what it holds
// with the fold.
type Kept struct {
	Settings []record.Record
	Rest     map[string]bool
	Rooms    []string
	Lives    map[string]alarm.KeptLives
	Evenings []KeptEvening
	Waiting  map[string]record.Record
	Air      map[string][]KeptAir
	Last     uint64
}

// KeptEvening is a session with what only a fold knows of it.
type KeptEvening struct {
	Evening Evening
	Open    []coverage.Span
	Opened  time.Time
}

// KeptAir is a state of the air with when another was seen next.
type KeptAir struct {
	State AirState
	Next  time.Time
}

// Kept is what the fold has come to.
func (f *Fold) Kept() Kept {
	k := Kept{Settings: f.settings, Rest: f.alarms.Rest, Rooms: f.rooms, Lives: map[string]alarm.KeptLives{}, Waiting: f.waiting,
		Air: map[string][]KeptAir{}, Last: f.last}
	for room, l := range f.lives {
		k.Lives[room] = l.Kept()
	}
	for _, e := range f.evenings {
		k.Evenings = append(k.Evenings, KeptEvening{*e, e.open, e.opened})
	}
	for room, states := range f.air {
		for _, s := range states {
			k.Air[room] = append(k.Air[room], KeptAir{s, s.until})
		}
	}
	return k
}

// Resume is the fold that came to what was kept.
func Resume(k Kept) (Fold, error) {
	f := Fold{alarms: rules.AlarmBook{Rest: k.Rest}, lives: map[string]*alarm.Lives{}, rooms: k.Rooms, known: map[beginning]*Evening{},
		waiting: k.Waiting, air: map[string][]AirState{}, settings: slices.Clip(k.Settings), last: k.Last}
	for _, r := range k.Settings {
		if err := f.Settings.apply(r); err != nil {
			return Fold{}, err
		}
	}
	for room, l := range k.Lives {
		f.lives[room] = l.Resume()
	}
	for i := range k.Evenings {
		e := &k.Evenings[i].Evening
		e.open, e.opened = k.Evenings[i].Open, k.Evenings[i].Opened
		f.evenings, f.known[beginning{e.Room, e.Last.Begun.UnixNano()}] = append(f.evenings, e), e
	}
	for room, states := range k.Air {
		for _, s := range states {
			s.State.until = s.Next
			f.air[room] = append(f.air[room], s.State)
		}
	}
	return f, nil
}
