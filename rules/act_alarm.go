package rules

import (
	"time"

	"wetside/rules/alarm"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// ResetAlarm ends a latched alarm that was acknowledged.
type ResetAlarm struct {
	Alarm string `json:"alarm"`
	Done  string `json:"done"`
}

// Kind names the record.
func (ResetAlarm) Kind() string { return "alarm reset" }

// ShelveAlarm puts an alarm aside until an end within 24 hours, for a reason.
type ShelveAlarm struct {
	Alarm string    `json:"alarm"`
	Until time.Time `json:"until"`
	Why   string    `json:"why"`
}

// Kind names the record.
func (ShelveAlarm) Kind() string { return "alarm shelved" }

// DisableAlarm takes an alarm out of service, such as for work on its probe, until somebody puts it back.
type DisableAlarm struct {
	Alarm string `json:"alarm"`
	Why   string `json:"why"`
}

// Kind names the record.
func (DisableAlarm) Kind() string { return "alarm out of service" }

// RestoreAlarm puts an alarm back that was shelved or out of service.
type RestoreAlarm struct {
	Alarm string `json:"alarm"`
	Why   string `json:"why,omitempty"`
}

// Kind names the record.
func (RestoreAlarm) Kind() string { return "alarm put back" }

// RecordDrill says that an alarm was practised: what was played and what came of it.
type RecordDrill struct {
	What  string `json:"what"`
	Found string `json:"found"`
}

// Kind names the record.
func (RecordDrill) Kind() string { return "alarm drill" }

// TestSounder says that the sounds of a page were played, and whether they were heard.
type TestSounder struct {
	Where string `json:"where"` // which page or loudspeaker
	Heard bool   `json:"heard"`
}

// Kind names the record.
func (TestSounder) Kind() string { return "sounder test" }

// alarmAct is an act that changes the life of one alarm.
type alarmAct interface {
	Act
	// change gives the alarms after the act; an error says why it can't be done.
	change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error)
	// target is the alarm's ID, with the words that the act needs.
	target() (id, note string, noteNeeded bool)
}

func (a AcknowledgeAlarm) change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error) {
	return set.Acknowledge(a.Alarm, alarm.By{Person: person, Note: a.Done}, now)
}

func (a ResetAlarm) change(set alarm.Set, person string, now sensors.Instant) (alarm.Set, alarm.Transition, error) {
	return set.Reset(a.Alarm, alarm.By{Person: person, Note: a.Done}, now)
}

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
func (a ResetAlarm) target() (string, string, bool)       { return a.Alarm, a.Done, false }
func (a ShelveAlarm) target() (string, string, bool)      { return a.Alarm, a.Why, true }
func (a DisableAlarm) target() (string, string, bool)     { return a.Alarm, a.Why, true }
func (a RestoreAlarm) target() (string, string, bool)     { return a.Alarm, a.Why, false }

func checkAlarmAct(room Room, board Board, c Command) error {
	act, ok := c.Act.(alarmAct)
	if !ok {
		return phrase.Errorf("a %T does nothing to an alarm", c.Act)
	}
	id, note, needed := act.target()
	if !room.knownAlarm(id) {
		return phrase.Errorf("this room has no alarm %q: choose one from the page", id)
	}
	if err := checkWord(phrase.Say("note of what was done or why"), note, needed); err != nil {
		return err
	}
	if id == "history" && isAside(act) {
		return phrase.Errorf("the alarm of the history can't be put aside: nothing would be on record")
	}
	_, _, err := act.change(board.Memory.Alarms, c.Person, c.At)
	return err
}

func isAside(act Act) bool {
	switch act.(type) {
	case ShelveAlarm, DisableAlarm:
		return true
	}
	return false
}
