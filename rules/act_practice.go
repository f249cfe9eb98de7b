package rules

import (
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// RecordDrill says that an alarm was practised: what was played and what came of it.
type RecordDrill struct {
	kept
	What  string `json:"what"`
	Found string `json:"found"`
}

func (RecordDrill) Kind() string { return "alarm drill" }

func (a RecordDrill) check(Room, Board, Command) error {
	if err := checkWord(phrase.Say("description of what was practised"), a.What, true); err != nil {
		return err
	}
	return checkWord(phrase.Say("result of the drill"), a.Found, true)
}

func (a RecordDrill) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("the drill was entered"))
}

// TestSounder says that the sounds of a page were played, and whether they were heard.
type TestSounder struct {
	kept
	Where string `json:"where"` // which page or loudspeaker
	Heard bool   `json:"heard"`
}

func (TestSounder) Kind() string { return "sounder test" }

func (a TestSounder) check(Room, Board, Command) error {
	return checkWord(phrase.Say("place of the sounder"), a.Where, true)
}

func (a TestSounder) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("the test of the sounds was entered"))
}

// ReportComplaint says that somebody complains of the air, such as of a smell. What
// the probes read at that moment is recorded with it.
type ReportComplaint struct {
	What string `json:"what"`
}

func (ReportComplaint) Kind() string { return "complaint" }

func (a ReportComplaint) check(Room, Board, Command) error {
	return checkWord(phrase.Say("description of what is wrong with the air"), a.What, true)
}

// complaint is one that waits for what the probes read at its moment.
type complaint struct {
	record uint64
	person string
	what   string
	at     time.Time
	noted  bool // the readings are on record
}

func (a ReportComplaint) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.Memory.complaint = complaint{record: d.Record, person: d.Command.Person, what: a.What, at: d.At}
	return board, nil
}

func (a ReportComplaint) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("the report and the readings at that moment were saved"))
}
