package rules

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// AcknowledgeAlarm says that somebody saw an alarm and what was done about it.
type AcknowledgeAlarm struct {
	Alarm string `json:"alarm"`
	Done  string `json:"done"`
	// Screen is where one press said that the alarm was seen, such as "the lab computer".
	// In the dark and with wet hands nobody types: such an act may come without a name.
	Screen string `json:"screen,omitempty"`
}

func (AcknowledgeAlarm) Kind() string { return "alarm acknowledged" }

func (AcknowledgeAlarm) what(*time.Location) phrase.Sentence {
	return phrase.Say("the alarm was acknowledged")
}

// ShelveAlarm puts an alarm aside until an end within 24 hours, for a reason.
type ShelveAlarm struct {
	Alarm string    `json:"alarm"`
	Until time.Time `json:"until"`
	Why   string    `json:"why"`
}

func (ShelveAlarm) Kind() string { return "alarm shelved" }

func (a ShelveAlarm) what(zone *time.Location) phrase.Sentence {
	return phrase.Say("the alarm was snoozed until %s", a.Until.In(zone).Format("15:04"))
}

// DisableAlarm takes an alarm out of service, such as for work on its probe, until somebody puts it back.
type DisableAlarm struct {
	Alarm string `json:"alarm"`
	Why   string `json:"why"`
}

func (DisableAlarm) Kind() string { return "alarm out of service" }

func (DisableAlarm) what(*time.Location) phrase.Sentence {
	return phrase.Say("the alarm was switched off")
}

// RestoreAlarm puts an alarm back that was shelved or out of service.
type RestoreAlarm struct {
	Alarm string `json:"alarm"`
	Why   string `json:"why,omitempty"`
}

func (RestoreAlarm) Kind() string { return "alarm put back" }

func (RestoreAlarm) what(*time.Location) phrase.Sentence {
	return phrase.Say("the alarm was switched back on")
}

type alarmAct interface {
	Act
	// what says what happened to the alarm.
	what(zone *time.Location) phrase.Sentence
	// change gives the alarms after the act; an error says why it can't be done.
	change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error)
	// target is the alarm's ID, with the words that the act needs.
	target() (id, note string, noteNeeded bool)
}

func (a AcknowledgeAlarm) change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error) {
	by := alarm.By{Person: person, Note: a.Done}
	if a.unnamed() && person == "" {
		by = alarm.By{Person: "somebody at " + a.Screen, Note: "seen on the board", Screen: a.Screen}
	}
	return set.Acknowledge(a.Alarm, by, now)
}

// unnamed is set for the press on the board.
func (a AcknowledgeAlarm) unnamed() bool { return a.Screen != "" }

func (a ShelveAlarm) change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error) {
	return set.Shelve(a.Alarm, alarm.Shelving{By: alarm.By{Person: person, Note: a.Why}, Until: a.Until.UTC()}, now)
}

func (a DisableAlarm) change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error) {
	return set.TakeOutOfService(a.Alarm, alarm.By{Person: person, Note: a.Why}, now)
}

func (a RestoreAlarm) change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error) {
	return set.PutBack(a.Alarm, alarm.By{Person: person, Note: a.Why}, now)
}

func (a AcknowledgeAlarm) target() (string, string, bool) { return a.Alarm, a.Done, false }
func (a ShelveAlarm) target() (string, string, bool)      { return a.Alarm, a.Why, true }
func (a DisableAlarm) target() (string, string, bool)     { return a.Alarm, a.Why, true }
func (a RestoreAlarm) target() (string, string, bool)     { return a.Alarm, a.Why, false }

// ofAlarm is what every act on an alarm does in its room.
type ofAlarm struct{ alarmAct }

func (o ofAlarm) check(room Room, board Board, c Command) error {
	id, note, needed := o.target()
	if !room.knownAlarm(id) {
		return phrase.Errorf("this room has no alarm %q: choose one from the page", id)
	}
	if err := checkWord(phrase.Say("note of what was done or why"), note, needed); err != nil {
		return err
	}
	if seen, is := o.alarmAct.(AcknowledgeAlarm); is {
		if err := checkWord(phrase.Say("name of the screen"), seen.Screen, false); err != nil {
			return err
		}
	}
	_, snoozed := o.alarmAct.(ShelveAlarm)
	_, off := o.alarmAct.(DisableAlarm)
	if (id == "history" || id == bookAlarm) && (snoozed || off) {
		return phrase.Errorf("the alarm of the history can't be snoozed or switched off: nothing would be on record")
	}
	_, _, err := o.change(board.Memory.Alarms, c.Person, c.At)
	return err
}

func (o ofAlarm) apply(board Board, d Done, now sensors.Instant) (Board, error) {
	after, moved, err := o.change(board.Memory.Alarms, d.Command.Person, now)
	if err != nil {
		return board, err
	}
	board.Memory.Alarms = after
	board.Memory.acted = append(slices.Clone(board.Memory.acted), moved)
	board.Memory.unnamed = board.Memory.unnamed.add(moved.Alarm, moved.From, moved.To)
	return board, nil
}

func (o ofAlarm) sentence(room Room, d Done) phrase.Sentence { return d.entered(o.what(room.zone())) }

// AlarmBook reads the changes of alarms from their records, in the order of their numbers.
// The zero AlarmBook has read none.
type AlarmBook struct {
	Rest map[string]bool // by room: whether all its alarms rest
}

// AlarmKinds lists the kinds of record that an [AlarmBook] reads.
func AlarmKinds() []string { return []string{AlarmChange, AlarmsArmed} }

// Read gives the transition of a record; false for one that holds none.
func (b *AlarmBook) Read(r record.Record) (alarm.Transition, bool) {
	if r.Kind != AlarmChange && r.Kind != AlarmsArmed {
		return alarm.Transition{}, false
	}
	var e Event
	if json.Unmarshal(r.Content, &e) != nil {
		return alarm.Transition{}, false
	}
	return b.Take(r, e)
}

// Take is [AlarmBook.Read] for a record whose event was read already.
func (b *AlarmBook) Take(r record.Record, e Event) (alarm.Transition, bool) {
	if r.Kind == AlarmsArmed {
		if b.Rest == nil {
			b.Rest = map[string]bool{}
		}
		b.Rest[r.Room] = e.To == armedWord(false)
		return alarm.Transition{}, false
	}
	if e.Alarm == nil {
		return alarm.Transition{}, false
	}
	return alarm.Transition{ID: e.Subject, From: alarm.State(e.From), To: alarm.State(e.To), At: sensors.Instant{Wall: r.At},
		Cause: phrase.Plain(e.Cause), Alarm: *e.Alarm, Record: r.Number, Rest: b.Rest[r.Room]}, true
}

// AlarmTransitions reads the changes of the alarms of a room, for [alarm.Count].
func AlarmTransitions(records []record.Record) []alarm.Transition {
	var list []alarm.Transition
	var book AlarmBook
	for _, r := range records {
		if t, is := book.Read(r); is {
			list = append(list, t)
		}
	}
	return list
}
