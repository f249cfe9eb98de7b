package rules

import (
	"slices"
	"time"

	"wetside/rules/alarm"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// NameSeer says who saw an alarm that one press on the board answered without a name. In the
// dark and with wet hands nobody types: the name is asked later, in the light.
type NameSeer struct {
	Alarm  string    `json:"alarm"`
	Raised time.Time `json:"raised"`
	// Saw is who saw the alarm; empty when nobody remembers.
	Saw string `json:"saw,omitempty"`
}

// AlarmSeenBy is the kind of record of a [NameSeer].
const AlarmSeenBy = "alarm seen by"

func (NameSeer) Kind() string { return AlarmSeenBy }

// unnamed lets anybody say that nobody remembers.
func (a NameSeer) unnamed() bool { return a.Saw == "" }

func (a NameSeer) matters() []matter { return []matter{{seerMatter(a.Alarm, a.Raised), 1}} }

func (a NameSeer) check(_ Room, board Board, _ Command) error {
	if board.Memory.unnamed.index(a.Alarm, a.Raised) < 0 {
		return phrase.Errorf("this alarm no longer needs the name of who saw it: reload the page")
	}
	return checkWord(phrase.Say("name of who saw the alarm"), a.Saw, false)
}

func (a NameSeer) apply(board Board, _ Done, _ sensors.Instant) (Board, error) {
	board.Memory.unnamed = board.Memory.unnamed.without(a.Alarm, a.Raised)
	return board, nil
}

func (a NameSeer) sentence(_ Room, d Done) phrase.Sentence {
	if a.Saw == "" {
		return d.entered(phrase.Say("nobody remembers who saw the alarm, recorded"))
	}
	return d.entered(phrase.Say("%s saw the alarm, recorded", a.Saw))
}

// askedFor is how long a name is asked for. Nobody remembers for longer.
const askedFor = 14 * 24 * time.Hour

// UnnamedAlarm is an alarm that one press answered, and nobody has said yet who pressed.
type UnnamedAlarm struct {
	ID     string
	Text   phrase.Sentence
	Raised time.Time
	// Seen is when the press came, Screen where.
	Seen   time.Time
	Screen string
}

// unnamedAlarms are in the order in which they were seen.
type unnamedAlarms []UnnamedAlarm

// add takes the change of an alarm; only that of a press without a name adds anything, and once: act and change are both on record.
func (u unnamedAlarms) add(a alarm.Alarm, from, to alarm.State) unnamedAlarms {
	if a.Screen == "" || !alarm.Answers(from, to) || u.index(a.ID, a.Raised) >= 0 {
		return u
	}
	return append(u[:len(u):len(u)], UnnamedAlarm{a.ID, a.Text, a.Raised, a.Since, a.Screen})
}

func (u unnamedAlarms) index(id string, raised time.Time) int {
	return slices.IndexFunc(u, func(a UnnamedAlarm) bool { return a.ID == id && a.Raised.Equal(raised) })
}

func (u unnamedAlarms) without(id string, raised time.Time) unnamedAlarms {
	at := u.index(id, raised)
	switch {
	case at < 0:
		return u
	case len(u) == 1:
		return nil
	}
	return slices.Delete(slices.Clone(u), at, at+1)
}

// since are those that were seen after a moment.
func (u unnamedAlarms) since(t time.Time) []UnnamedAlarm {
	at := slices.IndexFunc(u, func(a UnnamedAlarm) bool { return a.Seen.After(t) })
	if at < 0 {
		return nil
	}
	return u[at:len(u):len(u)]
}
