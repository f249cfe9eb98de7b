package ledger

import (
	"cmp"
	"time"

	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// noteworthy is the unexplained share from which the note speaks of it (common practice).
const noteworthy = 0.10

// note writes five lines for the next volunteer: the state, what is wrong, what
// to do first, the waste, the stock.
func (t *takingDown) note() []phrase.Sentence {
	return []phrase.Sentence{
		phrase.Say("State: %s.", joined("; ", t.state(), phrase.Say("all trays and tanks are empty"))),
		phrase.Say("Wrong: %s.", joined("; ", t.wrong(), phrase.Say("nothing is known to be wrong"))),
		phrase.Say("First: %s.", joined("; ", t.todo(), phrase.Say("nothing is waiting"))),
		phrase.Say("Waste: %s.", joined("; ", wasteWords(t.Waste), phrase.Say("no waste container is known"))),
		phrase.Say("Stock: %s.", joined("; ", t.stockWords(), phrase.Say("no concentrate or powder was taken"))),
	}
}

func (t *takingDown) state() []phrase.Sentence {
	var words []phrase.Sentence
	for _, item := range t.Items {
		words = append(words, phrase.Say("%s holds %s of %s: %s", item.Contents.Container, ml(item.Contents.Volume), item.Contents.Class,
			item.Action))
	}
	return words
}

func (t *takingDown) wrong() []phrase.Sentence {
	var words []phrase.Sentence
	for _, f := range t.book.Failures() {
		if !f.At.Before(t.Session.Opened) {
			words = append(words, phrase.Say("the %s test failed (entry %d): see the list of affected prints", f.Test, f.Entry))
		}
	}
	for _, b := range t.Balances {
		if share := b.UnexplainedShare(); share >= noteworthy || share <= -noteworthy {
			words = append(words, phrase.Say("%s of %s are unexplained (%.0f %%)", ml(b.Unexplained), b.Class, 100*share))
		}
	}
	return words
}

// todo lists the bottles that may not be poured as they are.
func (t *takingDown) todo() []phrase.Sentence {
	var words []phrase.Sentence
	for c := range t.book.now.vessels() {
		if c.Liquid == nil || c.Vessel == WasteContainer || c.Vessel.Working() {
			continue
		}
		if a := t.book.MayPour(c.ID, t.now); a.Verdict != Pour {
			words = append(words, phrase.Say("%s: %s (%s)", c.ID, a.Verdict, a.Because.Name))
		}
	}
	switch n := len(t.Items); n {
	case 0:
	case 1:
		words = append(words, phrase.Say("1 vessel is still to be emptied or put away"))
	default:
		words = append(words, phrase.Say("%d vessels are still to be emptied or put away", n))
	}
	return words
}

func wasteWords(levels []WasteLevel) []phrase.Sentence {
	var words []phrase.Sentence
	for _, w := range levels {
		text := phrase.Say("%s %.0f %% full, %.0f days since the first drop", w.Container, 100*w.Fraction, w.Days)
		if w.Volume == 0 {
			text = phrase.Say("%s empty", w.Container)
		}
		if w.CallNow {
			text = phrase.Say("%s, call for collection", text)
		}
		words = append(words, text)
	}
	return words
}

func (t *takingDown) stockWords() []phrase.Sentence {
	var words []phrase.Sentence
	for _, u := range t.Stock {
		if u.Product == "" {
			words = append(words, phrase.Say("%s of a product that is not in the catalogue taken", ml(u.Volume)))
			continue
		}
		words = append(words, phrase.Say("%s of %s taken", ml(u.Volume), cmp.Or(t.book.product(u.Product).Name, u.Product)))
	}
	return words
}

// joined puts sentences in a row, or says what holds when there are none.
func joined[T any](between string, all []T, otherwise phrase.Sentence) phrase.Sentence {
	if len(all) == 0 {
		return otherwise
	}
	return phrase.Join(between, all...)
}

// The kinds of [RoomNote], as the record book names them.
const (
	RoomFound = "room as found"
	NoteLeft  = "note left"
)

// RoomNote is what one volunteer leaves to the next: the room as it was found, or how it was left.
type RoomNote struct {
	Kind   string    `json:"-"`
	Room   string    `json:"-"`
	Number uint64    `json:"-"`
	By     string    `json:"-"`
	At     time.Time `json:"-"`
	Lines  []string  `json:"lines"`
	// Fill is for whom the trays are filled, where a set-up has begun.
	Fill string `json:"fill,omitempty"`
	// Air is what was known of the room's air at that moment.
	Air string `json:"air,omitempty"`
}

// NoteKinds declares the kinds of record that hold a [RoomNote].
func NoteKinds() []record.Kind {
	var kinds []record.Kind
	for _, name := range []string{RoomFound, NoteLeft} {
		kinds = append(kinds, record.Kind{Name: name, Decode: record.JSON[RoomNote],
			Recalled: record.Never, Least: access.Volunteer, Judges: record.Nothing})
	}
	return kinds
}
