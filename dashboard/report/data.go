// Package report draws the audit pack of a time: one document as a PDF and as a
// page, tables of comma-separated values of everything that it counts, and a list of
// checksums. It is drawn from plain values; where they come from is not its business.
//
// Every total is computed from the tables alone, see [Totals], so that a stranger
// can compute it again.
package report

import (
	"time"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Data is everything that a pack tells of a time. Times are in UTC and are drawn in
// the place's zone as well. What is not known is nil or empty, never zero.
type Data struct {
	From, To  time.Time
	Zone      *time.Location
	Made      time.Time
	Version   string
	Simulated bool
	// By writes sentences and figures in the units of the place; the inside units where it is
	// nil. The tables of values are never changed.
	By phrase.Place
	// Book says how far the record book was verified, and its checkpoint.
	Book Book

	Rooms    []Room
	Sessions []Session
	Minutes  []Minute
	// AirStates are the states of the air of every room, one after another.
	AirStates []AirState
	Coverage  []Coverage
	Gaps      []Gap
	Averages  []Average
	// Statements are those about the time outside of classes.
	Statements []Statement
	// GasMinutes are what the averages follow from.
	GasMinutes []GasMinutes
	Alarms     []Alarm
	Aside      []Aside
	Chemistry  []Entry
	Silver     []Silver
	Settings   []Setting
	Changes    []Change
	// Devices, Checks, Hands and Found tell how far the probes could be believed.
	Devices []Device
	Checks  []Check
	// LastChecks is one of each channel: its newest check, or none.
	LastChecks []LastCheck
	Hands      []Hand
	Found      []Found
	// Corrections are the corrections of channels in force in the time.
	Corrections []Correction
	Duties      []Duty
	Late        []Late
	People      []Person
	// Clock lists what happened to the clock and to the program.
	Clock []ClockEvent
	// NotMeasured are sentences on what nobody measured.
	NotMeasured []phrase.Sentence
}

// Book is the record book at the making of the pack.
type Book struct {
	Checkpoint string // number and hash of its last record
	Holds      bool
	// Problem is the first thing that does not hold; empty when all does.
	Problem string
	Records int // written in the time
	// Earlier is the last of the records before the time that were verified at EarlierAt and not
	// again for this report; zero where all were.
	Earlier   uint64
	EarlierAt time.Time
}

// Room is a room with what was proven and asked of its air, by the settings in force at the end of the time.
type Room struct {
	ID, Name     string
	Volume       float64         // m³
	Required     phrase.Sentence // with the source
	Changes      *float64
	Commissioned phrase.Sentence // empty when it never was
	Derivation   phrase.Sentence // of the limits of the flow
	Channels     []Channel
	Baths        []Bath
}

// Channel is what a probe of a room measures, and which of its readings count.
type Channel struct {
	ID, Name, Measures string
	// Unit is the one used inside, as people read it, in which tables and checks are.
	Unit string
	// Low and High bound what is plausible; after Silence without a reading it is missing.
	Low, High quantity.Figure
	Silence   time.Duration
}

// Bath is a bath and the temperatures that are wanted in it; Range is empty where none are.
type Bath struct {
	ID, Name, Channel string
	Range             phrase.Sentence
}

// Session is one evening. Durations are as the rules counted them while it ran.
type Session struct {
	Number        int // within the pack, from 1
	Room          string
	Title, Leader string
	People        int // 0 when nobody entered it
	Begun, Ended  time.Time
	Running       bool // not closed when the book was read
	// AsOf is how far the durations of a running session go; zero for one that is over.
	AsOf time.Time
	// Uncovered is the time with a tray uncovered, Unproven the part of it without
	// proven flow, TrayUnproven the same times the number of trays.
	Uncovered, Unproven, TrayUnproven time.Duration
	// FlowKnown is the part of Uncovered with a flow reading, FlowProven the time of the
	// whole session with proven flow.
	FlowKnown, FlowProven time.Duration
	// Lowest and Typical air changes an hour, from [Minute]; nil where none was measured.
	Lowest, Typical *float64
	// Required air changes an hour in force then; nil when none was asked.
	Required *float64
	Record   uint64 // the record that holds the counts
}

// Unknown is the part of Unproven in which nobody knows the flow.
func (s Session) Unknown() time.Duration {
	return min(max(s.Uncovered-s.FlowKnown, 0), s.Unproven)
}

// Minute is the air over one minute in which a session was open. The values are air
// changes an hour, of valid readings; nil when there was none.
type Minute struct {
	Session            int
	At                 time.Time
	Readings           int
	Low, Mean, Highest *float64
}

// AirState is a time in which the air of a room was in one state.
type AirState struct {
	Room    string
	Session int // in which the state was; 0 outside of any
	State   phrase.Sentence
	Verdict string // what may be claimed of the air
	From    time.Time
	To      time.Time // zero while the state lasts, or where nobody knows when it ended
	Stopped bool      // the program stopped in the state
	Cause   string    // where signs disagree, which sign contradicts which
}

// Coverage is how much of a session one channel was measured.
type Coverage struct {
	Session                           int
	Room, Channel, Name               string
	Required, Valid, Missing, Longest time.Duration
}

// Gap is a stretch of a session without a valid reading of a channel.
type Gap struct {
	Session  int
	Channel  string
	From, To time.Time
	Cause    phrase.Sentence
}

// GasMinutes are what was read of a gas in one session, minute by minute.
type GasMinutes struct {
	Session int
	Channel string
	From    time.Time // UTC
	// Length of the session: its last minute may be shorter.
	Length time.Duration
	// Detection and RangeEnd of the sensor; nil where they are not configured.
	Detection, RangeEnd *float64 // ppm
	Minutes             []GasMinute
}

// GasMinute is what was read of a gas in one minute. It refers to nothing: ten years have millions.
type GasMinute struct {
	// Read is the part of the minute with a value, Below that below the detection limit, Over
	// that at the end of the sensor's range; the rest was not read.
	Read, Below, Over time.Duration
	// Mean and Highest of the part with a value; without meaning where Read is zero.
	Mean, Highest float64 // ppm
}

// Average is the worst average of a gas in one session, set against one limit that
// was in force then, in the limit's unit.
type Average struct {
	Session              int
	Channel, Name, Agent string
	Limit                phrase.Sentence
	Value                float64
	Unit                 string
	Minutes              float64 // of the average; zero for a ceiling
	// Low and High bound the average: unknown time counts as zero in the one and as
	// the end of the sensor's range in the other. High is nil where nothing bounds it.
	Low, High *float64
	Known     float64 // per cent of the average's time with readings, but for Unexposed
	// Unexposed is the part of the average's time that counts as zero, by the record Statement.
	Unexposed time.Duration
	Statement uint64
	Text      phrase.Sentence // the average in words
	Wide      bool            // its range is too wide to say anything of the limit
	Verdict   phrase.Sentence
}

// Statement says that nobody was exposed to a room's gases outside of its classes, or
// withdraws that.
type Statement struct {
	Room, By  string
	On, From  time.Time
	Withdrawn bool
	Why       string
	Record    uint64
}

// Alarm is one alarm from its rise to its end.
type Alarm struct {
	Room, ID string
	Text     phrase.Sentence
	Cause    string
	Urgent   bool
	Raised   time.Time
	// Answered is when somebody acknowledged it, zero when nobody did; By and Done
	// are who and what was done.
	Answered time.Time
	By, Done string
	// Cleared is when its condition had gone, zero when it still stood.
	Cleared time.Time
	// Dropped is set when no session was open and no tray filled any more before anybody answered.
	Dropped bool
	// Ended is when nothing more could come of it; zero while the alarm is up.
	Ended time.Time
	// Why says why nobody answered; empty when somebody did.
	Why    phrase.Sentence
	Record uint64
}

// Aside is an alarm that a person put aside: shelved or out of service.
type Aside struct {
	Room, ID, By, Why string
	State             phrase.Sentence
	From              time.Time
	Back              time.Time // zero while it was still off
	Record            uint64
}

// Entry is one entry of the book of chemistry.
type Entry struct {
	Record            uint64
	Happened, Entered time.Time
	Kind              string
	// Counts is the kind as which it counts: that of a correction's replacement, and
	// nothing for an entry that was corrected.
	Counts       string
	Person, Room string
	// Act says the entry in one sentence; nil where the ledger knows no such entry. What lists all that it holds.
	Act         interface{ Sentence() phrase.Sentence }
	What        phrase.Spoken
	Volume      *float64 // mL
	CorrectedBy uint64   // 0 when it was not
}

// Silver is a measured concentration of silver. One that was corrected is left out.
type Silver struct {
	Record     uint64
	Sampled    time.Time // a day
	Of, Figure string
	Line       ledger.SilverLine // on which side of the US federal line
	Method     phrase.Sentence
	Reference  string
	Person     string
}

// Setting is one setting in force at the end of the time.
type Setting struct {
	Name, Value string
	Since       time.Time
	Record      uint64
}

// Change is one change of a setting.
type Change struct {
	At             time.Time
	Record         uint64
	Name, Was, Now string
	By, Why        string // who entered it; nobody for the configuration
}

// Correction turns raw readings of a channel into true ones from a date on.
type Correction struct {
	Channel, Name string
	From          time.Time
	Slope, Offset float64
	Known         time.Time // when it came into the settings or was entered
	// Record, Person and Why are of one that a person entered; zero and empty for the settings.
	Record uint64
	Person string
	Why    phrase.Sentence
}

// Duty is a dated task of the place.
type Duty struct {
	Name, Owner, Room, Why string
	Every                  phrase.Sentence
	Done                   []DutyDone // in the time
	// Last is when it was done last before the end of the time; zero when it never was.
	Last, Due time.Time
	Overdue   bool
}

// DutyDone is one time that a duty was done.
type DutyDone struct {
	At               time.Time
	Person, Evidence string
	Record           uint64
}

// Late is an entry that was written later than it happened, or that corrects another.
type Late struct {
	Record, Corrects  uint64
	Kind              string
	Happened, Written time.Time
	Person, Reason    string
}

// Person is somebody who wrote into the book.
type Person struct {
	Name        string
	Role        phrase.Sentence
	Records     int
	First, Last time.Time
}

// ClockEvent is a start, a stop or a step of the clock.
type ClockEvent struct {
	At     time.Time
	Record uint64
	What   phrase.Sentence
}
