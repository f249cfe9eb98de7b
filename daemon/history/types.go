package history

import (
	"encoding/json"
	"time"

	"wetside/daemon/history/book"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/coverage"
	"wetside/rules/record"
	"wetside/sensors"
)

// Options say where a history is and what it needs from outside.
type Options struct {
	// Dir is the data folder; it is made when absent. The file in it is wetside.db.
	Dir string
	// Clock dates records and decides when a quarter of an hour is over.
	Clock sensors.Clock
	// Zone gives the offset that is kept beside the UTC time of a record.
	Zone *time.Location
	// Version of the program, kept in the record of each start.
	Version string
	// Kinds are the kinds of record that may be written, and by whom; every kind where it is empty.
	Kinds record.Registry
}

// Sample is one raw value of one channel, in the unit in which the probe sends.
// Times are kept to the millisecond, the value to the last bit.
type Sample struct {
	Channel sensors.ChannelID
	At      time.Time
	Raw     float64
	Grade   sensors.Grade
	Reason  sensors.Reason
	// Imported marks a value that came from a file and not from a probe of this place.
	Imported bool
}

// Gap is a stretch of time in which a channel has no good value, and why.
type Gap struct {
	Channel sensors.ChannelID
	From    time.Time
	// To is zero while the gap is open.
	To    time.Time
	Cause string
}

// Causes of gaps that the history itself finds; other causes come from outside.
const (
	// CauseMachineOff is from the last sign of life before a start to the start.
	CauseMachineOff = "machine off"
	// CauseNotInBackup is from the last sign of life in a restored backup to the start.
	CauseNotInBackup = "not in the restored backup"
	// CauseNotWritten is the time whose samples the disk refused.
	CauseNotWritten = "history not written"
	// CauseUnrecorded is silence for which no cause was recorded.
	CauseUnrecorded = coverage.NotRecorded
)

// Batch is what one turn of a loop has to store, all of it or nothing.
type Batch struct {
	Samples    []Sample
	GapsOpened []Gap
	// GapsClosed end the open gaps of their channel and cause (of every cause when
	// it is empty) at To. Where none is open, a gap with From and To is stored whole.
	GapsClosed []Gap
	// Durable has [Store.Append] wait for the disk, so that a power loss takes nothing of it.
	Durable bool
}

// Entry is what a caller says of a record; the book adds number, times and hash.
type Entry struct {
	Kind   string
	Room   string
	Person string
	Role   string
	// Content is any JSON value; nil is null.
	Content json.RawMessage
	// Happened is when it happened, for a late entry; zero means now.
	Happened time.Time
	// Corrects is the number of the record that this one corrects, or 0.
	Corrects uint64
	// Reason says why, for a correction or a late entry.
	Reason string
	// Form is the form by which the entry came; [Store.RecordAll] takes it from its context.
	Form access.Form
}

// Record is one entry of the record book as it is kept.
type Record = book.Record

// Kinds of record that the history itself writes or reads.
const (
	KindBookOpened = "book opened"
	KindStarted    = "started"
	KindStopped    = "stopped"
	// KindRestored is written at the first start on a backup or another copy that was put
	// in the place of the history.
	KindRestored = "restored from a copy"
	// KindDeleted is written together with the deletion of samples whose time was over.
	KindDeleted = "samples deleted"
	// KindImported is written together with samples that came from a file.
	KindImported     = "samples imported"
	KindClockStepped = "clock stepped"
	// KindClockConfirmed is written by a person who has looked at a good clock. Later
	// records of the same start say so, until the clock steps.
	KindClockConfirmed = rules.ClockConfirmed
)

// What a record says of the clock that dated it.
const (
	ClockConfirmed   = "confirmed"
	ClockUnconfirmed = "not confirmed"
	// ClockBehind marks a time before that of an earlier record: a dead battery, or a step back.
	ClockBehind = "behind an earlier record"
)

// Kinds declares the kinds of record that the history itself writes. No form asks for
// one; samples are deleted and imported by a keeper at the command line.
func Kinds() []record.Kind {
	keeper := access.Keeper
	return []record.Kind{
		kind[json.RawMessage](KindBookOpened, record.Program, record.Nothing),
		kind[json.RawMessage](KindStarted, record.Program, record.Nothing),
		kind[json.RawMessage](KindStopped, record.Program, record.Nothing),
		kind[json.RawMessage](KindRestored, record.Program, record.Samples),
		kind[json.RawMessage](KindClockStepped, record.Program, record.Clock),
		kind[attested](KindAttested, record.Program, record.Samples),
		kind[Deleted](KindDeleted, keeper, record.Samples),
		kind[json.RawMessage](KindImported, keeper, record.Samples),
	}
}

func kind[T any](name string, least access.Role, judges record.Subject) record.Kind {
	return record.Kind{Name: name, Decode: record.JSON[T], Recalled: record.Never, Least: least, Judges: judges}
}
