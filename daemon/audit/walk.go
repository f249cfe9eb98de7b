package audit

import (
	"slices"
	"time"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/duty"
	"wetside/rules/past"
)

// walk walks the record book once: the chain is checked, and whoever needs a record takes
// what it needs from it.
func (g *gathering) walk() error {
	w := &walking{gathering: g, folded: kindsOf(past.Kinds()), ofProbes: kindsOf(rules.ProbeKinds()),
		ofChemistry: kindsOf(append(ledger.KindNames(), rules.TrayKinds()...)), dated: kindsOf(rules.DatedKinds()),
		correction: ledger.Correction{}.Kind(), people: map[[2]string]report.Person{}, corrected: map[uint64]uint64{}}
	after, err := w.earlier()
	if err != nil {
		return err
	}
	var trail history.Trail
	if after == 0 && !g.anew {
		if trail, err = w.chronicle.resume(g.ctx, g.Version); err != nil {
			return err
		}
	}
	if w.chronicled = trail.Last.Number; w.chronicled == 0 {
		w.chronicled = w.chronicle.last()
	}
	found, err := history.Walk(g.ctx, g.book, history.Steps[reading]{After: after, Trail: trail, Wants: w.wants, Read: w.read, Take: w.take})
	switch {
	case err != nil:
		return err
	case found.Broken != nil && trail.Last.Number > 0:
		return errOtherBook
	case len(found.Trail.Sums) > len(trail.Sums):
		w.chronicle.keep(g.Version, found.Trail)
	}
	g.data.Book.Checkpoint, g.data.Book.Holds = found.Last.String(), found.Broken == nil
	if found.Broken != nil {
		g.data.Book.Problem = found.Broken.Error()
	}
	w.listPeople()
	w.chemistry()
	return nil
}

// earlier takes what the report needs of the records before its time and gives the last of them,
// where an inspection found all of these to hold: only what follows is walked. Zero where none did.
func (w *walking) earlier() (uint64, error) {
	after, err := w.book.Before(w.ctx, w.From, w.Inspected)
	if err != nil || after == 0 {
		return 0, err
	}
	w.data.Book.Earlier, w.data.Book.EarlierAt = after, w.Inspected.At
	if _, err := w.chronicle.Settings(w.ctx, w.From, w.To); err != nil { // the chronicle reads on
		return 0, err
	}
	kinds := append(rules.ProbeKinds(), duty.Kind)
	for r, err := range w.book.EachRecord(w.ctx, history.Query{Kinds: kinds, UpTo: after}) {
		if err != nil {
			return 0, err
		}
		w.takeOne(reading{Walked: history.Walked{Record: r}})
	}
	return after, nil
}

// walking hands the records of a walk on by their kinds.
type walking struct {
	*gathering
	folded, ofProbes, ofChemistry, dated map[string]bool
	correction                           string
	people                               map[[2]string]report.Person
	entries                              []*bookEntry
	corrected                            map[uint64]uint64 // the record that corrects another
	chronicled                           uint64            // up to which record the chronicle was written already
}

func kindsOf(list []string) map[string]bool {
	set := map[string]bool{}
	for _, kind := range list {
		set[kind] = true
	}
	return set
}

// reading is what a report takes from one record of the book.
type reading struct {
	history.Walked
	told   past.Entry
	entry  *bookEntry
	folded bool
	of     samplesOf
}

// wants says whether a record has to be read that the chronicle need not take any more.
func (w *walking) wants(kind string, at time.Time) bool {
	return w.ofProbes[kind] || kind == duty.Kind || !at.Before(w.told())
}

// told is from when on records of the book may say something of the readings of the time.
func (g *gathering) told() time.Time { return g.From.AddDate(0, 0, -2) }

// read reads a record as far as that needs no other; it runs side by side.
func (w *walking) read(r history.Walked) reading {
	out := reading{Walked: r, folded: w.folded[r.Kind] && r.Number > w.chronicled}
	if r.Unreadable != nil {
		return out
	}
	out.of = w.samplesOf(r.Record)
	if out.folded {
		out.told = past.Read(history.Told(r.Record))
	}
	if w.ofChemistry[r.Kind] && w.inside(r.At) {
		e := entryOf(r.Record)
		out.entry = &e
	}
	return out
}

// take takes some records in their order. One that can't be read ends the report only if
// something rests on it.
func (w *walking) take(list []reading) error {
	if err := w.chronicle.take(list); err != nil {
		return err
	}
	for _, r := range list {
		switch inside := w.inside(r.At); {
		case r.Unreadable == nil:
			w.takeOne(r)
		case inside || w.ofProbes[r.Kind] || r.Kind == duty.Kind:
			return r.Unreadable
		}
	}
	return nil
}

func (w *walking) takeOne(r reading) {
	if w.ofProbes[r.Kind] {
		w.ofTheProbes = append(w.ofTheProbes, history.Told(r.Record))
	}
	if r.Kind == duty.Kind && r.At.Before(w.To) {
		w.dutiesDone = doneBy(w.dutiesDone, r.Record)
	}
	if r.Kind == w.correction && !r.At.Before(w.From) {
		w.corrected[r.Corrects] = r.Number
	}
	w.samples.take(r.of)
	if r.entry != nil {
		w.entries = append(w.entries, r.entry)
	}
	if w.inside(r.At) {
		w.record(r.Record)
	}
}

// take goes on with the records that nobody has read on meanwhile.
func (c *Chronicle) take(list []reading) error {
	if !slices.ContainsFunc(list, func(r reading) bool { return r.folded }) {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.unread {
		return errOtherBook
	}
	for _, r := range list {
		if !r.folded || r.Number <= c.fold.Last() {
			continue
		}
		if r.Unreadable != nil {
			return r.Unreadable
		}
		if err := c.fold.Take(r.told); err != nil {
			return err
		}
	}
	return nil
}
