package alarm

import (
	"cmp"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Life is one raise of an alarm, from its rise to its end.
type Life struct {
	// Raised is the transition with which it began.
	Raised Transition
	// Answered is when somebody acknowledged it, zero when nobody did; By and Done are
	// who and what was done.
	Answered time.Time
	By, Done string
	// Screen is where one press answered without a name: By is empty until somebody says
	// who saw the alarm, which was entered at Named.
	Screen string
	Named  time.Time
	// Cleared is when its condition had gone, zero while it had not.
	Cleared time.Time
	// Ended is when nothing more could come of it, zero while something can, and Unanswered
	// why nobody had acknowledged it by then.
	Ended      time.Time
	Unanswered Ending
}

// Ending is how an alarm ended that nobody had acknowledged. The zero Ending is none.
type Ending string

const (
	// Returns: it was raised anew, which is a life of its own.
	Returns Ending = "raised again"
	// Rests: no session was open and no tray filled any more, so alarms rest by design.
	Rests Ending = "alarms at rest"
	// Explained: another alarm explained it, or what it was for had been put away.
	Explained Ending = "suppressed"
	// PutAside: a person shelved it or took it out of service.
	PutAside Ending = "put aside"
)

// Said says in words why nobody had acknowledged an alarm.
func (e Ending) Said() phrase.Sentence {
	return phrase.Plain(cmp.Or(map[Ending]string{
		Returns:   "raised again before anybody acknowledged",
		Rests:     "no session was open and no tray filled any more",
		Explained: "another alarm explained this one, or the bath was emptied",
		PutAside:  "snoozed or switched off before anybody acknowledged",
	}[e], "nobody acknowledged"))
}

// Aside is an alarm that a person put aside.
type Aside struct {
	Since Transition
	Back  time.Time // zero while it is still off
}

// Lives follows the alarms of a room. The zero Lives have followed none.
type Lives struct {
	All   []*Life
	Apart []*Aside
	up    map[string]*Life
	aside map[string]*Aside
}

// KeptLives are lives in a form that can be written down: Up and Off are the places of those of
// All and Apart that the next transition may still change.
type KeptLives struct {
	All     []*Life
	Apart   []*Aside
	Up, Off []int
}

// Kept is every alarm followed so far. It shares their memory.
func (l *Lives) Kept() KeptLives {
	k := KeptLives{All: l.All, Apart: l.Apart}
	for i, life := range l.All {
		if l.up[life.Raised.ID] == life {
			k.Up = append(k.Up, i)
		}
	}
	for i, a := range l.Apart {
		if l.aside[a.Since.ID] == a {
			k.Off = append(k.Off, i)
		}
	}
	return k
}

// Resume are the lives that came to what was kept.
func (k KeptLives) Resume() *Lives {
	l := &Lives{All: k.All, Apart: k.Apart, up: map[string]*Life{}, aside: map[string]*Aside{}}
	for _, i := range k.Up {
		l.up[k.All[i].Raised.ID] = k.All[i]
	}
	for _, i := range k.Off {
		l.aside[k.Apart[i].Since.ID] = k.Apart[i]
	}
	return l
}

// Step goes on by one transition; they come in the order in which they happened.
func (l *Lives) Step(t Transition) {
	if l.up == nil {
		l.up, l.aside = map[string]*Life{}, map[string]*Aside{}
	}
	apart := t.To == Shelved || t.To == OutOfService
	if back := l.aside[t.ID]; back != nil && !apart {
		back.Back = t.At.Wall
		delete(l.aside, t.ID)
	}
	if apart {
		a := &Aside{Since: t}
		l.Apart, l.aside[t.ID] = append(l.Apart, a), a
	}
	if up := l.up[t.ID]; up != nil {
		up.step(t)
		if !up.Ended.IsZero() {
			delete(l.up, t.ID)
		}
	}
	if t.To == Unacknowledged {
		up := &Life{Raised: t}
		l.All, l.up[t.ID] = append(l.All, up), up
	}
}

// Answers says whether a change of state is that of somebody who acknowledges.
func Answers(from, to State) bool {
	return to == Acknowledged || from == Returned && to == Normal
}

func (l *Life) step(t Transition) {
	if Answers(t.From, t.To) && l.Answered.IsZero() {
		l.Answered, l.By, l.Done, l.Screen = t.At.Wall, t.Alarm.By, t.Alarm.Note, t.Alarm.Screen
		if l.Screen != "" {
			l.By = ""
		}
	}
	if t.To != Acknowledged && l.Cleared.IsZero() {
		l.Cleared = t.At.Wall
	}
	switch t.To {
	case Unacknowledged:
		l.end(t, Returns)
	case Normal:
		l.end(t, "")
	case Suppressed:
		l.end(t, Explained)
		if t.Rest && l.Unanswered == Explained {
			l.Unanswered = Rests
		}
	case Shelved, OutOfService:
		l.end(t, PutAside)
	}
}

func (l *Life) end(t Transition, how Ending) {
	l.Ended = t.At.Wall
	if l.Answered.IsZero() {
		l.Unanswered = how
	}
}

// Seer is who saw an alarm that one press answered without a name.
type Seer struct {
	ID     string
	Raised time.Time // of the alarm
	Person string    // empty when nobody remembers
	At     time.Time // of the entry
}

// Name says who saw an alarm; one that was not answered without a name stays as it is.
func (l *Lives) Name(s Seer) {
	for _, life := range slices.Backward(l.All) {
		if a := life.Raised.Alarm; a.ID == s.ID && a.Raised.Equal(s.Raised) {
			if life.Screen != "" && life.Named.IsZero() {
				life.By, life.Named = s.Person, s.At
			}
			return
		}
	}
}

// Seen says who answered an alarm: a name as it was entered, or that there is none.
func (l Life) Seen() phrase.Sentence {
	switch {
	case l.Screen == "" || l.By != "":
		return phrase.Plain(l.By)
	case l.Named.IsZero():
		return phrase.Say("somebody at %s, not named yet", phrase.Plain(l.Screen))
	}
	return phrase.Say("somebody at %s: nobody remembers who", phrase.Plain(l.Screen))
}

// AsOf is what was known of a life at a moment, at or after its raise.
func (l Life) AsOf(at time.Time) Life {
	if l.Named.After(at) {
		l.By, l.Named = "", time.Time{}
	}
	if l.Answered.After(at) {
		l.Answered, l.By, l.Done, l.Screen = time.Time{}, "", "", ""
	}
	if l.Cleared.After(at) {
		l.Cleared = time.Time{}
	}
	if l.Ended.After(at) {
		l.Ended, l.Unanswered = time.Time{}, ""
	}
	return l
}
