package ledger

import (
	"encoding/json"
	"sort"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Correction replaces what an earlier entry says, or takes it back when
// Instead is empty. The entry itself stays in the book.
type Correction struct {
	Of      uint64
	Reason  string
	Instead Act       // nil takes the entry back
	At      time.Time // when it really happened; zero leaves the time as it was
}

type correctionJSON struct {
	Of     uint64          `json:"of"`
	Reason string          `json:"reason"`
	Kind   string          `json:"kind,omitempty"`
	Act    json.RawMessage `json:"act,omitempty"`
	At     time.Time       `json:"at,omitzero"`
}

func (Correction) Kind() string { return "correction" }

func (Correction) about() []string { return nil } // what it says is told in the place of what it corrects

// Sentence says what was put right.
func (a Correction) Sentence() phrase.Sentence {
	if a.Instead == nil {
		return phrase.Say("entry %d withdrawn (%s)", a.Of, a.Reason)
	}
	return phrase.Say("entry %d corrected: %s (%s)", a.Of, a.Instead.Sentence(), a.Reason)
}

func (a Correction) validate() error {
	if a.Of == 0 {
		return Problem{ErrForm, phrase.Say("No entry to correct is named"), phrase.Say("Choose the entry")}
	}
	if err := needName(phrase.Say("reason"), a.Reason); err != nil {
		return err
	}
	if a.Instead == nil {
		return nil
	}
	if _, nested := a.Instead.(Correction); nested {
		return Problem{ErrForm, phrase.Say("An entry cannot be replaced with a correction"), phrase.Say("Record what was really done")}
	}
	return a.Instead.validate()
}

func (a Correction) check(*state, Entry) error { return nil } // the ledger folds anew
func (a Correction) apply(*state, Entry)       {}

// MarshalJSON writes the correction with the kind of the new act beside it.
func (a Correction) MarshalJSON() ([]byte, error) {
	raw := correctionJSON{Of: a.Of, Reason: a.Reason, At: a.At}
	if a.Instead != nil {
		act, err := EncodeAct(a.Instead)
		if err != nil {
			return nil, err
		}
		raw.Kind, raw.Act = a.Instead.Kind(), act
	}
	return json.Marshal(raw)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (a *Correction) UnmarshalJSON(data []byte) error {
	var raw correctionJSON
	if err := strict(data, &raw); err != nil {
		return err
	}
	*a = Correction{Of: raw.Of, Reason: raw.Reason, At: raw.At}
	if raw.Kind == "" && len(raw.Act) == 0 {
		return nil
	}
	if raw.Kind == (Correction{}).Kind() {
		return Problem{ErrForm, phrase.Say("An entry cannot be replaced with a correction"), phrase.Say("Record what was really done")}
	}
	act, err := DecodeAct(raw.Kind, raw.Act)
	a.Instead = act
	return err
}

// correctable says whether the entry, if it is a correction, corrects one of the entries before it.
func correctable(before list[Entry], e Entry) error {
	c, ok := e.Act.(Correction)
	if !ok {
		return nil
	}
	at := sort.Search(before.len(), func(i int) bool { return before.at(i).Number >= c.Of })
	if at == before.len() || before.at(at).Number != c.Of {
		return Problem{ErrUnknown, phrase.Say("There is no entry %d", c.Of), phrase.Say("Choose the entry to correct")}
	}
	if _, nested := before.at(at).Act.(Correction); nested {
		return Problem{ErrForm, phrase.Say("Entry %d is a correction itself", c.Of), phrase.Say("Correct the original entry again")}
	}
	if c.At.After(e.Entered) {
		return Problem{ErrTime, phrase.Say("The corrected time lies in the future"), phrase.Say("Check the date and the time")}
	}
	return nil
}
