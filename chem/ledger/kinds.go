package ledger

import (
	"encoding/json"

	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// acts declares every act once, with the lowest role that may enter it; all lists of kinds follow from it.
func acts() []declared {
	const all = access.Volunteer
	return []declared{
		act[ContainerNamed](all), act[LotReceived](all), act[LotOpened](all), act[BatchMixed](all),
		act[PortionPoured](all), act[ToppedUp](all), act[Returned](all), act[Discarded](all), act[Merged](all), act[Promoted](all),
		act[TestDone](all), act[SheetsUsed](all), act[PrintTimed](all), act[BottleFound](all), act[BathFound](all),
		act[SessionOpened](all), act[SessionClosed](all), act[TraysCovered](all), act[TraysUncovered](all),
		act[WasteAdded](all), act[WasteCollected](all), act[SilverMeasured](all),
		act[WorkBooked](all), act[AssumptionsStated](all), act[ClosingListWritten](all), act[ClosingListSigned](all),
		act[ProductNoted](all), act[Correction](all),
	}
}

// declared is what is known of a kind of act before one is read.
type declared struct {
	kind   string
	least  access.Role
	decode func([]byte) (Act, error)
}

func act[A Act](least access.Role) declared {
	var empty A
	return declared{empty.Kind(), least, func(data []byte) (Act, error) {
		var into A
		err := strict(data, &into)
		return into, err
	}}
}

// actKinds finds what is known of a kind of act by its name. It is made once, as a book is read
// act by act, and never changed.
var actKinds = func() map[string]declared {
	known := map[string]declared{}
	for _, a := range acts() {
		known[a.kind] = a
	}
	return known
}()

// Content is what a record of an act says: the act, read and as it was written, and the session
// that it belongs to.
type Content struct {
	Session string          `json:"session,omitempty"`
	Written json.RawMessage `json:"act"`
	Act     Act             `json:"-"`
}

// Write gives the content of a record of an act.
func Write(session string, a Act) ([]byte, error) {
	act, err := EncodeAct(a)
	if err != nil {
		return nil, err
	}
	return json.Marshal(Content{Session: session, Written: act})
}

// Read reads the content of a record of a kind of act, whoever asks. What was written is given
// also where it is no act.
func Read(kind string, content json.RawMessage) (Content, error) {
	c := Content{}
	if err := json.Unmarshal(content, &c); err != nil {
		return c, phrase.Errorf("read %s: %w", kind, err)
	}
	var err error
	c.Act, err = DecodeAct(kind, c.Written)
	return c, err
}

// Kinds declares the kinds of record that hold an act, each read by [Read].
func Kinds() []record.Kind {
	var kinds []record.Kind
	for _, a := range acts() {
		decode := func(content json.RawMessage) (any, error) { return Read(a.kind, content) }
		kinds = append(kinds, record.Kind{Name: a.kind, Decode: decode, Recalled: record.Never, Least: a.least, Judges: record.Stock})
	}
	return kinds
}

// KindNames lists the names of the kinds of act.
func KindNames() []string { return record.Names(Kinds(), record.Judging(record.Stock)) }

// LeastFor is the lowest role that may enter an act.
func LeastFor(a Act) access.Role { return actKinds[a.Kind()].least }

// Fills lists the containers into which an act pours or which it says were worked in: trays
// of the place that the book must know by name. For a correction it is what it puts in the place of another act.
func Fills(a Act) []string {
	if c, is := a.(Correction); is {
		a = c.Instead
	}
	if filling, is := a.(interface{ fills() []string }); is {
		return filling.fills()
	}
	return nil
}
