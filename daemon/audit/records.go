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

// records walks the records of the time once: who wrote, what was late, what
// corrects another, and what happened to the clock and to the program.
func (g *gathering) records() error {
	people, dated := map[[2]string]report.Person{}, rules.DatedKinds()
	for r, err := range g.book.EachRecord(g.ctx, g.within(0)) {
		if err != nil {
			return err
		}
		g.data.Book.Records++
		if r.At.After(g.Now) {
			g.Now = r.At // a clock that ran ahead, or a room that is only pretended
		}
		if r.Clock != history.ClockConfirmed {
			g.noClock++
		}
		if r.Kind == (rules.TestSounder{}).Kind() || r.Kind == (rules.RecordDrill{}).Kind() {
			g.sounders++
		}
		if r.Person != "" {
			key := [2]string{r.Person, r.Role}
			p, known := people[key]
			if !known {
				p = report.Person{Name: r.Person, Role: access.Role(r.Role).Said(), First: r.At}
			}
			p.Records, p.Last = p.Records+1, r.At
			people[key] = p
		}
		if !r.Happened.IsZero() || r.Corrects != 0 {
			g.data.Late = append(g.data.Late, report.Late{Record: r.Number, Corrects: r.Corrects, Kind: r.Kind, Happened: r.Happened, Written: r.At, Person: r.Person, Reason: r.Reason})
		}
		if r.Happened.IsZero() && slices.Contains(dated, r.Kind) {
			if since, late := rules.Backdated(record.Record{Number: r.Number, Kind: r.Kind, At: r.At, Content: r.Content}); late {
				g.data.Late = append(g.data.Late, report.Late{Record: r.Number, Kind: r.Kind, Happened: since, Written: r.At, Person: r.Person, Reason: r.Reason})
			}
		}
		if what := clockEvent(r); !what.IsZero() {
			g.data.Clock = append(g.data.Clock, report.ClockEvent{At: r.At, Record: r.Number, What: what})
		}
	}
	g.data.People = slices.SortedFunc(maps.Values(people), func(a, b report.Person) int {
		return strings.Compare(a.Name+"\x00"+a.Role.String(), b.Name+"\x00"+b.Role.String())
	})
	return nil
}

// clockEvent says what a record tells of the clock or of the program; nothing for another record.
func clockEvent(r history.Record) phrase.Sentence {
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
		return phrase.Say("%d samples of %s from %s up to, not including, %s were deleted by %s after being kept for %s.", d.Samples, d.Channel, d.From, d.Before, r.Person, d.KeptFor)
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
