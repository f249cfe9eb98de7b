package alarm

import (
	"maps"

	"wetside/sensors"
)

// Step advances every alarm by what is signalled now. An alarm whose signal is no
// longer given is dropped. The set passed in is not changed.
func Step(before Set, signals []Signal, now sensors.Instant) (Set, []Transition) {
	explains := map[string]bool{} // parents that are not plainly in order explain their children
	for _, s := range signals {
		explains[s.ID] = s.Holds != False && s.Armed
	}
	after := Set{}
	var transitions []Transition
	for _, s := range signals {
		a := before.alarm(s.ID, now)
		was := a.State
		a = a.observe(s, now)
		a = a.advance(s, s.Armed && !explains[s.Parent], now)
		if a.State != was {
			a.Since = now.Wall
			transitions = append(transitions, Transition{ID: s.ID, From: was, To: a.State, At: now, Cause: s.Cause, Alarm: a})
		}
		if a.State != Normal || a.seen == True {
			after[s.ID] = a
		}
	}
	return after, transitions
}

func (s Set) alarm(id string, now sensors.Instant) Alarm {
	if a, ok := s[id]; ok {
		return a
	}
	return Alarm{ID: id, State: Normal, Since: now.Wall, seenSince: now.Mono}
}

// observe notes the truth of the condition and since when it is so. While the
// alarm stands for something raised, its words stay those of the raising.
func (a Alarm) observe(s Signal, now sensors.Instant) Alarm {
	if a.seen != s.Holds {
		a.seen, a.seenSince = s.Holds, now.Mono
	}
	a.latching, a.Urgent, a.Act = s.Profile.Latching, s.Profile.Urgent, s.Act
	if s.Holds == True || a.Text == "" {
		a.Text, a.Cause = s.Text, s.Cause
	}
	return a
}

// advance takes the transitions that need no person.
func (a Alarm) advance(s Signal, armed bool, now sensors.Instant) Alarm {
	if armed && a.State == Suppressed { // what was explained gets its whole delay to come right
		a.State, a.seenSince = Normal, now.Mono
	}
	held := now.Mono - a.seenSince
	on := a.seen == True && held >= s.Profile.OnDelay
	off := a.seen == False && held >= s.Profile.OffDelay
	switch {
	case a.State == OutOfService:
		return a
	case a.State == Shelved && now.Wall.Before(a.Until):
		return a
	case !armed:
		a.State = Suppressed
		return a
	case a.State == Shelved:
		a.State = Normal
	}
	return a.follow(on, off, now)
}

// follow takes the arrows between A, B, C, D, E and F of the standard's diagram.
func (a Alarm) follow(on, off bool, now sensors.Instant) Alarm {
	switch a.State {
	case Normal, Returned, LatchedUnacknowledged, LatchedAcknowledged:
		if on {
			a.State, a.Raised, a.By, a.Note = Unacknowledged, now.Wall, "", ""
		}
	case Unacknowledged:
		if off && a.latching {
			a.State = LatchedUnacknowledged
		} else if off {
			a.State = Returned
		}
	case Acknowledged:
		if off && a.latching {
			a.State = LatchedAcknowledged
		} else if off {
			a.State = Normal
		}
	}
	return a
}

// with gives the set with one alarm replaced; a normal one whose condition is gone leaves it.
func (s Set) with(a Alarm) Set {
	after := maps.Clone(s)
	if after == nil {
		after = Set{}
	}
	after[a.ID] = a
	if a.State == Normal && a.seen != True {
		delete(after, a.ID)
	}
	return after
}
