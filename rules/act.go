package rules

import "wetside/sensors/quantity"

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

// Command is an act of a person in a room.
type Command struct {
	Room   string
	Person string
	Act    Act
}

// Receipt says that an act is recorded for good, and under which number.
type Receipt struct {
	Number uint64
	// Sentence says in words what was recorded.
	Sentence string
}
