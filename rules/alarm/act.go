package alarm

import (
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// By is a person's hand on an alarm: who, and what was done or why.
type By struct {
	Person string
	Note   string
	// Screen is set for a press without a name: where it was made.
	Screen string
}

// Acknowledge says that a person saw the alarm and what was done about it.
func (s Set) Acknowledge(id string, by By, now sensors.Instant) (Set, Transition, error) {
	if strings.TrimSpace(by.Person) == "" {
		return s, Transition{}, phrase.Errorf("an acknowledgement needs a name: say who saw the alarm")
	}
	return s.act(id, by, now, func(a Alarm) (Alarm, error) {
		switch a.State {
		case Unacknowledged:
			a.State = Acknowledged
		case Returned:
			a.State = Normal
		default:
			return a, phrase.Errorf("the alarm %q is %s: there is nothing to acknowledge", id, a.State)
		}
		return a, nil
	})
}

// Shelving puts an alarm aside until an end; its note is the reason.
type Shelving struct {
	By
	Until time.Time // UTC
}

// Shelve silences an alarm until an end that must be named, for a reason.
func (s Set) Shelve(id string, by Shelving, now sensors.Instant) (Set, Transition, error) {
	if strings.TrimSpace(by.Note) == "" || strings.TrimSpace(by.Person) == "" {
		return s, Transition{}, phrase.Errorf("snoozing the alarm %q needs a name and a reason", id)
	}
	if !by.Until.After(now.Wall) || by.Until.Sub(now.Wall) > 24*time.Hour {
		return s, Transition{}, phrase.Errorf("snoozing the alarm %q needs an end within the next 24 hours", id)
	}
	return s.act(id, by.By, now, func(a Alarm) (Alarm, error) {
		if a.State == OutOfService || a.State == Shelved {
			return a, phrase.Errorf("the alarm %q is %s already: switch it back on first", id, a.State)
		}
		a.State, a.Until = Shelved, by.Until
		return a, nil
	})
}

// TakeOutOfService stops an alarm for maintenance until somebody puts it back.
func (s Set) TakeOutOfService(id string, by By, now sensors.Instant) (Set, Transition, error) {
	if strings.TrimSpace(by.Note) == "" || strings.TrimSpace(by.Person) == "" {
		return s, Transition{}, phrase.Errorf("switching off the alarm %q needs a name and a reason", id)
	}
	return s.act(id, by, now, func(a Alarm) (Alarm, error) {
		if a.State == OutOfService {
			return a, phrase.Errorf("the alarm %q is switched off already", id)
		}
		a.State, a.Until = OutOfService, time.Time{}
		return a, nil
	})
}

// PutBack returns a shelved or out-of-service alarm to watch; the next step says
// whether its condition holds.
func (s Set) PutBack(id string, by By, now sensors.Instant) (Set, Transition, error) {
	if strings.TrimSpace(by.Person) == "" {
		return s, Transition{}, phrase.Errorf("switching the alarm %q back on needs a name", id)
	}
	return s.act(id, by, now, func(a Alarm) (Alarm, error) {
		if a.State != Shelved && a.State != OutOfService {
			return a, phrase.Errorf("the alarm %q is %s: it is watched already", id, a.State)
		}
		a.State, a.Until = Normal, time.Time{}
		return a, nil
	})
}

func (s Set) act(id string, by By, now sensors.Instant, change func(Alarm) (Alarm, error)) (Set, Transition, error) {
	a := Alarm{ID: id, State: Normal, Since: now.Wall, seenSince: now.Mono}
	if is, has := s[id]; has {
		a = *is
	}
	was := a.State
	a, err := change(a)
	if err != nil {
		return s, Transition{}, err
	}
	a.Since, a.By, a.Note, a.Screen = now.Wall, by.Person, by.Note, by.Screen
	t := Transition{ID: id, From: was, To: a.State, At: now, Cause: phrase.Say("%s: %s", by.Person, by.Note), Alarm: a}
	return s.with(a), t, nil
}
