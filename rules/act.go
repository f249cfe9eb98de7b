package rules

import (
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Act is something a person did that changes what is known of a room. Each act
// becomes one record in the record book before anything is shown of it.
type Act interface {
	// Kind names the record, such as "tray filled".
	Kind() string
}

// FillTray says that a tray was filled, with what and by whom.
type FillTray struct {
	Bath        string              `json:"bath"`
	Batch       string              `json:"batch"` // label of the bottle or batch
	What        string              `json:"what"`
	Concentrate float64             `json:"parts_concentrate,omitempty"`
	Water       float64             `json:"parts_water,omitempty"`
	Volume      quantity.Millilitre `json:"volume_ml,omitempty"`
}

// Kind names the record.
func (FillTray) Kind() string { return "tray filled" }

// EmptyTray says that a tray was emptied and where its content went.
type EmptyTray struct {
	Bath  string `json:"bath"`
	Where string `json:"where"` // "back to storage", "to waste", "discarded"
}

// Kind names the record.
func (EmptyTray) Kind() string { return "tray emptied" }

// AcknowledgeAlarm says that somebody saw an alarm and what was done about it.
type AcknowledgeAlarm struct {
	Alarm string `json:"alarm"`
	Done  string `json:"done"`
}

// Kind names the record.
func (AcknowledgeAlarm) Kind() string { return "alarm acknowledged" }

// CoverTray says that a tray got its lid, or lost it. Covered trays give little to
// the air and are not counted as open.
type CoverTray struct {
	Bath    string `json:"bath"`
	Covered bool   `json:"covered"`
}

// Kind names the record.
func (CoverTray) Kind() string { return "tray covered" }

// ReportComplaint says that somebody complains of the air, such as of a smell. What
// the probes read at that moment is recorded with it.
type ReportComplaint struct {
	What string `json:"what"`
}

// Kind names the record.
func (ReportComplaint) Kind() string { return "complaint" }

// StartSession opens a session, or its set-up, by a form.
type StartSession struct {
	Phase session.Phase `json:"phase"` // set-up or open
	session.Entry
}

// Kind names the record.
func (StartSession) Kind() string { return "session started" }

// by gives what was entered with the name of who did.
func (s StartSession) by(person string) session.Entry {
	s.By = person
	return s.Entry
}

// EndSession begins the take-down of a session, or closes it.
type EndSession struct {
	Phase session.Phase `json:"phase"` // take-down or closed
	Note  string        `json:"note,omitempty"`
}

// Kind names the record.
func (EndSession) Kind() string { return "session ended" }

// Command is an act of a person in a room.
type Command struct {
	Room   string
	Person string
	Act    Act
	// At is when the room was asked; its loop sets it.
	At sensors.Instant
}

// Receipt says that an act is recorded for good, and under which number.
type Receipt struct {
	Number uint64
	// Sentence says in words what was recorded.
	Sentence phrase.Sentence
}
