package alarm

import (
	"maps"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Removed is the cause of the last two transitions of an alarm that is watched no more.
func Removed() phrase.Sentence { return phrase.Say("the configuration no longer has this alarm") }

// Step advances every alarm by what is signalled now. An alarm whose signal is no
// longer given is taken out of service and dropped. The set passed in is not
// changed; it is given back as it is when nothing has changed.
func Step(before Set, signals []Signal, now sensors.Instant) (Set, []Transition) {
	why := before.causes(signals)
	after := overlay{before: before}
	var transitions []Transition
	none := Alarm{State: Normal}
	for _, s := range signals {
		was, had := before[s.ID]
		s.Holds = before.settled(&s)
		if !had {
			was = &none
		}
		foot := why.footing(was.State, &s)
		if s.changesNothing(was, had, foot) {
			after.keep(had)
			continue
		}
		a := *was
		if !had {
			a.ID, a.Since, a.seenSince = s.ID, now.Wall, now.Mono
		}
		first := a
		a.step(&s, foot, now)
		if a.State != was.State {
			a.Since = now.Wall
			cause := s.Says.Words().Cause
			transitions = append(transitions, Transition{ID: s.ID, From: was.State, To: a.State, At: now, Cause: cause, Alarm: a})
		}
		after.put(&first, a, had)
	}
	return after.drop(signals, now, transitions)
}

// changesNothing says that a step leaves an alarm as it was: in order or suppressed, as nearly all are at nearly all steps.
func (s *Signal) changesNothing(a *Alarm, had bool, f footing) bool {
	if !had {
		return s.Holds != True && f != suppressed
	}
	return a.State == Suppressed && f == suppressed && a.seen == s.Holds && !a.waits && !a.recalled && a.Urgent == s.Profile.Urgent
}

// causes holds the signals that are not plainly in order and so explain their
// children, each with its own parent.
type causes struct {
	set     Set
	parents map[string]string
}

func (s Set) causes(signals []Signal) causes {
	c := causes{s, make(map[string]string, 8)}
	for i := range signals {
		sig := &signals[i]
		if sig.Armed && s.settled(sig) != False {
			c.parents[sig.ID] = sig.Parent
		}
	}
	return c
}

// footing is how a signal stands at a step.
type footing uint8

const (
	watched footing = iota
	// held: its parent may explain it but is no alarm yet. What people were told of
	// stays as it is, so that a moment's silence of a probe takes no alarm away.
	held
	suppressed
)

func (c causes) footing(state State, s *Signal) footing {
	_, explained := c.parents[s.Parent]
	switch {
	case !s.Armed, explained && !(state.annunciated() && !c.raised(s.Parent)):
		return suppressed
	case explained:
		return held
	}
	return watched
}

// raised says whether people know of a cause: of the parent itself or of what explains it.
func (c causes) raised(parent string) bool {
	for range len(c.parents) {
		switch state := c.set.State(parent); {
		case state.annunciated(), state == Shelved, state == OutOfService:
			return true
		case state != Suppressed:
			return false
		}
		parent = c.parents[parent]
	}
	return false
}

// settled makes of a value in the deadband what the condition was before.
func (s Set) settled(sig *Signal) Truth {
	if sig.Holds == Between {
		was, had := s[sig.ID]
		return Of(had && was.seen == True)
	}
	return sig.Holds
}

// overlay is a set that is copied only once it changes.
type overlay struct {
	before, after Set
	kept          int
}

func (o *overlay) keep(had bool) {
	if had {
		o.kept++
	}
}

func (o *overlay) put(was *Alarm, a Alarm, had bool) {
	o.keep(had)
	keep := a.worthKeeping()
	if keep == had && (!had || a.same(was)) {
		return
	}
	o.open()
	if keep {
		o.after[a.ID] = new(a)
	} else {
		delete(o.after, a.ID)
	}
}

func (o *overlay) open() {
	if o.after == nil {
		o.after = maps.Clone(o.before)
	}
	if o.after == nil {
		o.after = Set{}
	}
}

// drop takes out what no signal is given for any more: by way of out of service,
// since the standard's diagram has no other way out of every state.
func (o *overlay) drop(signals []Signal, now sensors.Instant, transitions []Transition) (Set, []Transition) {
	if o.kept < len(o.before) {
		o.open()
		given := make(map[string]bool, len(signals))
		for _, s := range signals {
			given[s.ID] = true
		}
		for _, a := range o.before.Listed() {
			if !given[a.ID] {
				transitions = append(transitions, a.removed(now)...)
				delete(o.after, a.ID)
			}
		}
	}
	if o.after == nil {
		return o.before, transitions
	}
	return o.after, transitions
}

func (a Alarm) removed(now sensors.Instant) []Transition {
	var list []Transition
	a.seen = Unknown
	for _, to := range []State{OutOfService, Normal} {
		was := a.State
		if was == to {
			continue
		}
		a.State, a.Since = to, now.Wall
		list = append(list, Transition{ID: a.ID, From: was, To: to, At: now, Cause: Removed(), Alarm: a})
	}
	return list
}

func (a *Alarm) worthKeeping() bool { return a.State != Normal || a.seen == True }

// step notes the truth of the condition and since when it is so, then takes the
// transitions that need no person. While an alarm stands for something raised,
// its words stay those of the raising.
func (a *Alarm) step(s *Signal, f footing, now sensors.Instant) {
	a.see(s.Holds, now.Mono)
	if a.recalled && s.Holds != Unknown {
		*a = a.retold(s.Says.Words())
	}
	a.Urgent = s.Profile.Urgent
	before := a.State
	if f != held {
		a.advance(s.Profile, f == watched, now)
	}
	raised := a.State == Unacknowledged && before != Unacknowledged
	if raised || a.Text.IsZero() && a.State != Normal && a.State != Suppressed {
		words := s.Says.Words()
		a.Text, a.Act, a.Cause = words.Text, words.Act, words.Cause
	}
}

// retold takes of the words of today those that read as what was recorded: a place can tell them.
func (a Alarm) retold(today Words) Alarm {
	a.recalled = false
	for recorded, now := range map[*phrase.Sentence]phrase.Sentence{&a.Text: today.Text, &a.Act: today.Act, &a.Cause: today.Cause} {
		if recorded.String() == now.String() {
			*recorded = now
		}
	}
	return a
}

// see notes the truth of the condition. What holds and then can't be told is not
// gone: its delay waits meanwhile.
func (a *Alarm) see(holds Truth, now time.Duration) {
	if holds == Unknown && a.seen == True {
		if !a.waits {
			a.waits, a.waitsSince = true, now
		}
		return
	}
	if a.waits && holds == True {
		a.seenSince += now - a.waitsSince
	}
	a.waits, a.waitsSince = false, 0
	if a.seen != holds {
		a.seen, a.seenSince = holds, now
	}
}

// advance takes the transitions that need no person.
func (a *Alarm) advance(p Profile, armed bool, now sensors.Instant) {
	if armed && a.State == Suppressed { // what was explained gets its whole delay to come right
		a.State, a.seenSince = Normal, now.Mono
		if a.waits {
			a.waitsSince = now.Mono
		}
	}
	lasted := now.Mono - a.seenSince
	on := a.seen == True && !a.waits && lasted >= p.OnDelay
	off := a.seen == False && lasted >= p.OffDelay
	switch {
	case a.State == OutOfService, a.State == Shelved && now.Wall.Before(a.Until):
		return
	case !armed:
		a.State = Suppressed
		return
	case a.State == Shelved:
		a.State = Normal
	}
	a.follow(on, off, now)
}

// follow takes the arrows between A, B, C and D of the standard's diagram.
func (a *Alarm) follow(on, off bool, now sensors.Instant) {
	switch a.State {
	case Normal, Returned:
		if on {
			a.State, a.Raised, a.By, a.Note, a.Screen = Unacknowledged, now.Wall, "", "", ""
		}
	case Unacknowledged:
		if off {
			a.State = Returned
		}
	case Acknowledged:
		if off {
			a.State = Normal
		}
	}
}

// with gives the set with one alarm replaced; a normal one whose condition is gone leaves it.
func (s Set) with(a Alarm) Set {
	after := maps.Clone(s)
	if after == nil {
		after = Set{}
	}
	after[a.ID] = new(a)
	if !a.worthKeeping() {
		delete(after, a.ID)
	}
	return after
}
