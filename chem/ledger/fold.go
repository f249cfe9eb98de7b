package ledger

import (
	"cmp"
	"slices"

	"wetside/sensors/quantity/phrase"
)

// fold makes a state of the entries in the order in which things happened.
func fold(entries []Entry) (*state, Entry, error) {
	s := newState()
	for _, e := range effective(entries) {
		if err := e.Act.check(s, e); err != nil {
			return nil, e, err
		}
		s.step(e)
	}
	s.markCorrected(entries)
	return s, Entry{}, nil
}

// markCorrected counts a correction as a change of the containers that it is about.
func (s *state) markCorrected(entries []Entry) {
	for _, e := range entries {
		c, ok := e.Act.(Correction)
		if !ok {
			continue
		}
		if at, found := slices.BinarySearchFunc(entries, c.Of, byNumber); found {
			s.changed(e, touches(entries[at].Act))
		}
		if c.Instead != nil {
			s.changed(e, touches(c.Instead))
		}
	}
}

func byNumber(e Entry, number uint64) int { return cmp.Compare(e.Number, number) }

func version(entries []Entry) uint64 {
	if len(entries) == 0 {
		return 0
	}
	return entries[len(entries)-1].Number
}

// numbered says whether the entry comes after those before it.
func numbered(before []Entry, e Entry) error {
	if e.Number > version(before) {
		return nil
	}
	return Problem{ErrForm, phrase.Say("Entry %d does not come after entry %d", e.Number, version(before)),
		phrase.Say("Number the entries upwards")}
}

// effective applies the corrections and sorts by time; the number decides between equals.
func effective(entries []Entry) []Entry {
	said := make(map[uint64]Correction)
	for _, e := range entries {
		if c, ok := e.Act.(Correction); ok {
			said[c.Of] = c
		}
	}
	var valid []Entry
	for _, e := range entries {
		c, corrected := said[e.Number]
		if _, is := e.Act.(Correction); is || (corrected && c.Instead == nil) {
			continue
		}
		if corrected {
			e.Act = c.Instead
			if !c.At.IsZero() {
				e.At = c.At
			}
		}
		valid = append(valid, e)
	}
	slices.SortStableFunc(valid, func(a, b Entry) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Number, b.Number)) })
	return valid
}

func (s *state) changed(e Entry, ids []string) {
	for _, id := range ids {
		if c := s.containers[id]; c != nil && e.Number > c.Changed {
			c.Changed, c.ChangedBy = e.Number, e.By
		}
	}
}
