package audit

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// record takes one record of the time: who wrote it, whether it was late or corrects another,
// and what it tells of the clock and of the program.
func (w *walking) record(r history.Record) {
	w.data.Book.Records++
	if r.At.After(w.latest) {
		w.latest = r.At
	}
	if r.Clock != history.ClockConfirmed {
		w.noClock++
	}
	if r.Kind == (rules.TestSounder{}).Kind() || r.Kind == (rules.RecordDrill{}).Kind() {
		w.sounders++
	}
	if r.Person != "" {
		key := [2]string{r.Person, r.Role}
		p, known := w.people[key]
		if !known {
			p = report.Person{Name: r.Person, Role: access.Role(r.Role).Said(), First: r.At}
		}
		p.Records, p.Last = p.Records+1, r.At
		w.people[key] = p
	}
	w.late(r)
	if what := clockEvent(r); !what.IsZero() {
		w.data.Clock = append(w.data.Clock, report.ClockEvent{At: r.At, Record: r.Number, What: what})
	}
}

// late notes a record that was written later than what it says, or that corrects another.
func (w *walking) late(r history.Record) {
	if !r.Happened.IsZero() || r.Corrects != 0 {
		w.data.Late = append(w.data.Late, report.Late{Record: r.Number, Corrects: r.Corrects, Kind: r.Kind, Happened: r.Happened,
			Written: r.At, Person: r.Person, Reason: r.Reason})
	}
	if !r.Happened.IsZero() || !w.dated[r.Kind] {
		return
	}
	if since, late := rules.Backdated(record.Record{Number: r.Number, Kind: r.Kind, At: r.At, Content: r.Content}); late {
		w.data.Late = append(w.data.Late, report.Late{Record: r.Number, Kind: r.Kind, Happened: since, Written: r.At, Person: r.Person,
			Reason: r.Reason})
	}
}

func (w *walking) listPeople() {
	w.data.People = slices.SortedFunc(maps.Values(w.people), func(a, b report.Person) int {
		return strings.Compare(a.Name+"\x00"+a.Role.String(), b.Name+"\x00"+b.Role.String())
	})
}

// ahead takes the newest record for now where it lies ahead: a clock ran ahead, or the room is
// only pretended.
func (g *gathering) ahead() error {
	if g.latest.After(g.Now) {
		g.Now = g.latest
	}
	return nil
}

// clockEvent says what a record tells of the clock or of the program; nothing for another record.
func clockEvent(r history.Record) phrase.Sentence {
	switch r.Kind {
	case history.KindBookOpened, history.KindStarted, history.KindStopped, history.KindRestored, history.KindDeleted,
		history.KindImported, history.KindClockStepped, history.KindClockConfirmed:
	default:
		return phrase.Sentence{}
	}
	var c struct {
		Version  string
		Number   uint64
		From, To time.Time
	}
	_ = json.Unmarshal(r.Content, &c) // what is not in it is not said
	switch r.Kind {
	case history.KindBookOpened:
		return phrase.Say("The record book was opened.")
	case history.KindStarted:
		if c.Version == "" {
			return phrase.Say("wetside started.")
		}
		return phrase.Say("wetside started, version %s.", c.Version)
	case history.KindStopped:
		return phrase.Say("wetside stopped.")
	case history.KindRestored:
		return phrase.Say("The history was restored from a copy that ended at record %d.", c.Number)
	case history.KindDeleted:
		var d history.Deleted
		_ = json.Unmarshal(r.Content, &d)
		return phrase.Say("%d samples of %s from %s up to, not including, %s were deleted by %s after being kept for %s.", d.Samples,
			d.Channel, d.From, d.Before, r.Person, d.KeptFor)
	case history.KindImported:
		return phrase.Say("%s imported past readings: %s. They are marked, and no total here counts them.", r.Person, r.Reason)
	case history.KindClockStepped:
		return phrase.Say("The clock was set from %s to %s.", c.From.Format(time.RFC3339), c.To.Format(time.RFC3339))
	case history.KindClockConfirmed:
		if r.Person == "" {
			return phrase.Say("The time was confirmed.")
		}
		return phrase.Say("The time was confirmed by %s.", r.Person)
	}
	return phrase.Sentence{}
}
