package rules

import (
	"encoding/json"

	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

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
