package ledger

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Entry is one record of the book.
type Entry struct {
	Number  uint64    // place in the book, counted up
	At      time.Time // when it happened
	Entered time.Time // when it was written down
	By      string    // who wrote it
	Session string    // the session it belongs to; empty takes the only one that is open
	Seen    uint64    // the last entry that the writer had seen; 0 is not checked
	Act     Act
}

// Act is what happened. The acts of this package are the only ones.
type Act interface {
	// Kind is the word under which the act is kept in the book.
	Kind() string
	// validate says whether the act is well-formed on its own, without looking at the ledger.
	validate() error
	// Sentence says what was done, without who and when.
	Sentence() phrase.Sentence

	about() []string               // the containers, batches and lots that it names
	check(s *state, e Entry) error // would it be possible in this state?
	apply(s *state, e Entry)       // after check
}

// Counted is an act of which a volume counts in the totals of its kind.
type Counted interface {
	Act
	// Amount is that volume.
	Amount() quantity.Millilitre
}

// touches lists the containers that an act changes, for whoever wrote without having seen
// that: all that it names, unless it says otherwise.
func touches(a Act) []string {
	if fewer, is := a.(interface{ touches() []string }); is {
		return fewer.touches()
	}
	return a.about()
}

// Late says whether the entry was written down more than two hours later than it happened (common practice).
func (e Entry) Late() bool { return e.Entered.Sub(e.At) > 2*time.Hour }

// EncodeAct gives the act as JSON, without its kind.
func EncodeAct(a Act) ([]byte, error) {
	if a == nil {
		return nil, Problem{ErrForm, phrase.Say("The entry is empty"), phrase.Say("Say what was done")}
	}
	data, err := json.Marshal(a)
	if err != nil {
		return nil, phrase.Errorf("write %s: %w", a.Kind(), err)
	}
	return data, nil
}

// DecodeAct reads an act from JSON. Unknown kinds, unknown fields and acts that
// do not validate are errors.
func DecodeAct(kind string, data []byte) (Act, error) {
	known, is := actKinds[kind]
	if !is {
		return nil, Problem{ErrForm, phrase.Say("%q is not a known kind of entry", kind), phrase.Say("Use a kind that this version knows")}
	}
	act, err := known.decode(data)
	if err != nil {
		return nil, phrase.Errorf("read %s: %w", kind, err)
	}
	if err := act.validate(); err != nil {
		return nil, phrase.Errorf("read %s: %w", kind, err)
	}
	return act, nil
}

// strict reads exactly one JSON value with no fields that are not known.
func strict(data []byte, to any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(to); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return phrase.Errorf("expected one JSON object and nothing after it")
	}
	return nil
}

type entryJSON struct {
	Number  uint64          `json:"number"`
	At      time.Time       `json:"at"`
	Entered time.Time       `json:"entered"`
	By      string          `json:"by"`
	Session string          `json:"session,omitempty"`
	Seen    uint64          `json:"seen,omitempty"`
	Kind    string          `json:"kind"`
	Act     json.RawMessage `json:"act"`
}

// MarshalJSON writes the entry with the kind of its act beside it.
func (e Entry) MarshalJSON() ([]byte, error) {
	act, err := EncodeAct(e.Act)
	if err != nil {
		return nil, err
	}
	return json.Marshal(entryJSON{e.Number, e.At, e.Entered, e.By, e.Session, e.Seen, e.Act.Kind(), act})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (e *Entry) UnmarshalJSON(data []byte) error {
	var raw entryJSON
	if err := strict(data, &raw); err != nil {
		return phrase.Errorf("read entry: %w", err)
	}
	act, err := DecodeAct(raw.Kind, raw.Act)
	if err != nil {
		return phrase.Errorf("entry %d: %w", raw.Number, err)
	}
	*e = Entry{raw.Number, raw.At, raw.Entered, raw.By, raw.Session, raw.Seen, act}
	return nil
}
