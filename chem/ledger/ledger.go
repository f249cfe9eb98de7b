package ledger

import (
	"cmp"
	"errors"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Person is somebody on the list of those who may write. Left is zero while
// they are there.
type Person struct {
	Name string
	Left time.Time
}

// Settings are the choices of a room. The zero value is usable.
type Settings struct {
	Catalogue Catalogue
	People    []Person // not checked when empty
}

// TestCounts is how long a passed test counts at most (common practice).
const TestCounts = 24 * time.Hour

// Ledger is the fold of all entries so far.
type Ledger struct {
	settings Settings
	entries  list[Entry] // by number
	now      *state
	moments  []moment // as it was after every so many entries
	every    int
}

// New gives an empty ledger.
func New(settings Settings) *Ledger {
	return &Ledger{settings: settings, now: newState(), every: keepEvery}
}

// Check says whether the entry would be taken: nil, or a [Problem] that says
// what is wrong and what to do. A number of 0 stands for the next one.
func (l *Ledger) Check(e Entry) error {
	e.Number = cmp.Or(e.Number, l.Version()+1)
	if err := first(checkForm(e), checkTimes(e), l.settings.checkPerson(e), l.checkSeen(e), l.settings.checkClass(e.Act),
		checkAsked(e.Act), l.now.checkWaste(e.Act)); err != nil {
		return err
	}
	_, err := l.with(e)
	return err
}

// Apply takes an entry that was accepted into the book. Who may write and what
// they had seen was a matter of [Ledger.Check]; an entry that is impossible
// even so is refused and changes nothing.
func (l *Ledger) Apply(e Entry) error { return l.Replay([]Entry{e}) }

// Replay takes the entries of a book that was accepted, in the order of their
// numbers, and gives the same ledger as applying them one by one. When one is
// refused, those before it stay.
func (l *Ledger) Replay(entries []Entry) error {
	for len(entries) > 0 {
		part := entries[:min(len(entries), l.every-l.entries.len()%l.every)]
		if err := l.replay(part); err != nil {
			return err
		}
		l.keep()
		entries = entries[len(part):]
	}
	return nil
}

func (l *Ledger) replay(entries []Entry) error {
	if !l.inOrder(entries) && l.replayAtOnce(entries) {
		return nil
	}
	for _, e := range entries {
		if err := checkForm(e); err != nil {
			return phrase.Errorf("entry %d: %w", e.Number, err)
		}
		next, err := l.with(e)
		if err != nil {
			return phrase.Errorf("entry %d: %w", e.Number, err)
		}
		if next == l.now {
			next.step(e)
		}
		l.entries.add(e)
		l.now = next
	}
	return nil
}

// inOrder says whether the entries can be taken one after another, as none of them changes what was before.
func (l *Ledger) inOrder(entries []Entry) bool {
	last := l.now.last
	for _, e := range entries {
		if _, is := e.Act.(Correction); is || e.At.Before(last) {
			return false
		}
		last = e.At
	}
	return true
}

// replayAtOnce folds all entries in one go; false, with nothing changed, when one of them does not fit.
func (l *Ledger) replayAtOnce(entries []Entry) bool {
	all := l.entries.copy()
	for _, e := range entries {
		if checkForm(e) != nil || numbered(all, e) != nil || correctable(all, e) != nil {
			return false
		}
		all.add(e)
	}
	s, _, err := l.fold(entries)
	if err != nil {
		return false
	}
	l.entries, l.now = all, s
	return true
}

// Version is the number of the last entry taken, for [Entry.Seen].
func (l *Ledger) Version() uint64 { return version(l.entries) }

// with is the state in which the entry is possible: the present one, to be
// stepped, when the entry comes last; otherwise a new fold that has it already.
func (l *Ledger) with(e Entry) (*state, error) {
	if err := first(numbered(l.entries, e), correctable(l.entries, e)); err != nil {
		return nil, err
	}
	correction, isCorrection := e.Act.(Correction)
	if !isCorrection && !e.At.Before(l.now.last) {
		return l.now, l.explain(e, e.Act.check(l.now, e))
	}
	s, failed, err := l.fold([]Entry{e})
	switch {
	case err == nil:
		return s, nil
	case failed.Number == e.Number || (isCorrection && failed.Number == correction.Of):
		return nil, l.explain(failed, err)
	}
	var why any = err
	if p, ok := errors.AsType[Problem](err); ok {
		why = p.Wrong
	}
	return nil, Problem{ErrLater, phrase.Say("Entry %d (%s, %s) would become impossible: %s", failed.Number, failed.Act.Kind(),
		when(failed.At), why),
		phrase.Say("Check the time, or correct entry %d first", failed.Number)}
}

// explain puts a reason into words that only the whole ledger knows: a parent that came later.
func (l *Ledger) explain(e Entry, err error) error {
	mixed, ok := e.Act.(BatchMixed)
	if !ok || !(errors.Is(err, ErrUnknown) || errors.Is(err, ErrNotEnough)) {
		return err
	}
	born, parent := time.Time{}, mixed.From
	if c, ok := l.now.containers[mixed.From]; ok && c.Liquid != nil {
		born = c.Liquid.oldest
	} else if lot, ok := l.now.lots[mixed.Lot]; ok {
		born, parent = lot.Received, mixed.Lot
	}
	if !born.After(e.At) {
		return err
	}
	return Problem{ErrOlder, phrase.Say("The batch is dated %s and %s, which it is mixed from, is dated %s: a batch cannot be older "+
		"than what "+
		"it is mixed from", when(e.At), parent, when(born)),
		phrase.Say("Check the time of the batch, or correct the earlier entry")}
}
