package alarm

import (
	"cmp"
	"slices"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// State is a state of an alarm's life, by ANSI/ISA-18.2 and IEC 62682.
type State string

// The states; the letters of the standard's diagram stand beside them. No alarm here is latched: E and F are not needed.
const (
	Normal         State = "normal"                           // A
	Unacknowledged State = "unacknowledged"                   // B
	Acknowledged   State = "acknowledged"                     // C
	Returned       State = "returned to normal, not yet seen" // D
	Shelved        State = "shelved"                          // G
	Suppressed     State = "suppressed by design"             // H
	OutOfService   State = "out of service"                   // I
)

// Said is the state in plain words; records keep those of the standard.
func (s State) Said() phrase.Sentence {
	return phrase.Plain(cmp.Or(map[State]string{Returned: "back to normal, not acknowledged", Shelved: "snoozed",
		Suppressed: "off outside sessions", OutOfService: "switched off"}[s], string(s)))
}

// annunciated says whether people are told of an alarm in this state.
func (s State) annunciated() bool {
	return s == Unacknowledged || s == Acknowledged || s == Returned
}

// Alarm is where one alarm stands in its life.
type Alarm struct {
	ID     string          `json:"id"`
	State  State           `json:"state"`
	Text   phrase.Sentence `json:"text"`
	Act    phrase.Sentence `json:"act"`
	Cause  phrase.Sentence `json:"cause"`
	Urgent bool            `json:"urgent"`
	// Since is when the present state began, Raised when the condition was last raised; UTC.
	Since  time.Time `json:"since"`
	Raised time.Time `json:"raised,omitzero"`
	// By and Note belong to the last act of a person: who, and what was done or why.
	By   string `json:"by,omitempty"`
	Note string `json:"note,omitempty"`
	// Screen is where one press said so without a name; empty for an act with a name.
	Screen string `json:"screen,omitempty"`
	// Until is the end of the shelving.
	Until time.Time `json:"until,omitzero"`

	// seen is the truth of the condition at the last step, since when on the monotonic
	// clock. Over a restart delays start anew.
	seen      Truth
	seenSince time.Duration
	// waits is set while a condition that held can't be told, on the same clock since waitsSince.
	waits      bool
	waitsSince time.Duration
	// recalled is set while its words are those of a record, which no other language has.
	recalled bool
}

// same says that nothing of an alarm has changed. Its words change with its state, or
// where there were none.
func (a *Alarm) same(b *Alarm) bool {
	return a.ID == b.ID && a.State == b.State && a.Text.IsZero() == b.Text.IsZero() && a.Urgent == b.Urgent &&
		a.Since.Equal(b.Since) && a.Raised.Equal(b.Raised) && a.By == b.By && a.Note == b.Note && a.Screen == b.Screen &&
		a.Until.Equal(b.Until) &&
		a.seen == b.seen && a.seenSince == b.seenSince && a.waits == b.waits && a.waitsSince == b.waitsSince &&
		a.recalled == b.recalled
}

// Set is every alarm that is not plainly normal, by ID. Its owner treats it and its alarms
// as values: each step and act gives a new one.
type Set map[string]*Alarm

// State is that of an alarm of the set, normal where it is not in it.
func (s Set) State(id string) State {
	if a, has := s[id]; has {
		return a.State
	}
	return Normal
}

// Told lists the alarms that people are told of, in the order of [Set.Listed].
func (s Set) Told() []Alarm { return s.only(State.annunciated) }

// Apart lists the alarms that a person put aside: shelved or out of service.
func (s Set) Apart() []Alarm {
	return s.only(func(in State) bool { return in == Shelved || in == OutOfService })
}

// Listed gives the alarms in a fixed order: urgent before others, then oldest first.
func (s Set) Listed() []Alarm { return s.only(func(State) bool { return true }) }

func (s Set) only(wanted func(State) bool) []Alarm {
	var list []Alarm
	for _, a := range s {
		if wanted(a.State) {
			list = append(list, *a)
		}
	}
	slices.SortFunc(list, func(a, b Alarm) int {
		if a.Urgent != b.Urgent {
			if a.Urgent {
				return -1
			}
			return 1
		}
		return cmp.Or(a.Raised.Compare(b.Raised), cmp.Compare(a.ID, b.ID))
	})
	return list
}

// Transition is a change of state and what it rests on. Every one is recorded.
type Transition struct {
	ID       string
	From, To State
	At       sensors.Instant
	Cause    phrase.Sentence
	// Alarm is the alarm after the change.
	Alarm Alarm
	// Record is the number of its record in the book; zero before it is written.
	Record uint64
	// Rest is set where the book says that all alarms of the room rested then.
	Rest bool
}

// Restore puts an alarm back as it was recorded, such as after a restart. A record
// with a state that there is not changes nothing.
func (s Set) Restore(a Alarm) Set {
	if !a.Restorable() {
		return s
	}
	a.recalled = true
	if a.State == Unacknowledged || a.State == Acknowledged { // it held, and can't be told until a reading comes
		a.seen, a.waits = True, true
	}
	return s.with(a)
}

// Restorable says whether a record of the alarm changes anything.
func (a Alarm) Restorable() bool { return a.ID != "" && a.State.known() }

func (s State) known() bool {
	return s.annunciated() || slices.Contains([]State{Normal, Shelved, Suppressed, OutOfService}, s)
}
