package ledger

import (
	"encoding/json"

	"wetside/rules/access"
	"wetside/rules/record"
)

// acts declares every act once; all lists of kinds follow from it.
func acts() []declared {
	return []declared{
		act[ContainerNamed](), act[LotReceived](), act[LotOpened](), act[BatchMixed](),
		act[PortionPoured](), act[ToppedUp](), act[Returned](), act[Discarded](), act[Merged](), act[Promoted](),
		act[TestDone](), act[SheetsUsed](), act[PrintTimed](), act[BottleFound](), act[BathFound](),
		act[SessionOpened](), act[SessionClosed](), act[TraysCovered](), act[TraysUncovered](),
		act[WasteAdded](), act[WasteCollected](), act[SilverMeasured](),
		act[WorkBooked](), act[AssumptionsStated](), act[ClosingListWritten](), act[ClosingListSigned](), act[ProductNoted](), act[Correction](),
	}
}

// declared is what is known of a kind of act before one is read.
type declared struct {
	kind   string
	least  access.Role
	decode func([]byte) (Act, error)
}

func act[A Act]() declared {
	var empty A
	return declared{empty.Kind(), empty.least(), func(data []byte) (Act, error) {
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

// Content is what a record of an act says: the act and the session that it belongs to.
type Content struct {
	Session string          `json:"session,omitempty"`
	Act     json.RawMessage `json:"act"`
}

// Kinds declares the kinds of record that hold an act, each as a [Content].
func Kinds() []record.Kind {
	var kinds []record.Kind
	for _, a := range acts() {
		kinds = append(kinds, record.Kind{Name: a.kind, Decode: record.JSON[Content], Recalled: record.Never, Least: a.least,
			Judges: record.Stock})
	}
	return kinds
}

// KindNames lists the names of the kinds of act.
func KindNames() []string { return record.Names(Kinds(), record.Judging(record.Stock)) }

// LeastFor is the lowest role that may enter an act.
func LeastFor(a Act) access.Role { return a.least() }

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
