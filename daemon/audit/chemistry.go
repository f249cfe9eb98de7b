package audit

import (
	"bytes"
	"encoding/json"
	"strings"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
)

// bookEntry is an entry of the book of chemistry with the act that it stands for; nil where the
// ledger knows none.
type bookEntry struct {
	report.Entry
	act ledger.Act
}

func chemistryKinds() []string { return append(ledger.KindNames(), rules.TrayKinds()...) }

// chemistry lists what was entered of batches, tests, discards and waste in the
// time, with what later corrected it.
func (w *walking) chemistry() {
	for _, e := range w.entries {
		if e.CorrectedBy = w.corrected[e.Record]; e.CorrectedBy != 0 {
			e.Counts, e.Volume = "", nil
		}
		w.data.Chemistry = append(w.data.Chemistry, e.Entry)
		if a, is := e.act.(ledger.SilverMeasured); is && e.CorrectedBy == 0 {
			w.data.Silver = append(w.data.Silver, report.Silver{Record: e.Record, Sampled: a.Sampled, Of: a.Of(), Figure: a.Silver.String(),
				Line: a.Silver.Line().Said(), Method: a.Method.Said(), Reference: a.Reference, Person: e.Person})
		}
	}
}

// entryOf gives the entry of a record, as it counts while nothing corrects it.
func entryOf(r history.Record) bookEntry {
	e := report.Entry{Record: r.Number, Happened: r.At, Entered: r.At, Kind: r.Kind, Person: r.Person, Room: r.Room}
	if !r.Happened.IsZero() {
		e.Happened = r.Happened
	}
	text := r.Content
	var content struct{ Act json.RawMessage }
	if json.Unmarshal(r.Content, &content) == nil && content.Act != nil {
		text = content.Act
	}
	e.What = inWords(text)
	act, err := ledger.DecodeAct(r.Kind, text)
	if c, is := act.(ledger.Correction); is {
		act = c.Instead
	}
	switch {
	case err != nil:
		e.Counts = r.Kind // an entry of an older book, which the ledger does not know
	case act != nil:
		e.Counts = act.Kind()
		if counted, is := act.(ledger.Counted); is {
			v := float64(counted.Amount())
			e.Volume = &v
		}
	}
	return bookEntry{e, act}
}

// units are the ends of keys that say in which unit a figure is, with how people write it.
func units() map[string]string {
	return map[string]string{"ml": " mL", "c": " °C", "m2": " m²", "seconds": " s"}
}

// inWords writes the content of an act as a line that a person can read.
func inWords(object json.RawMessage) string {
	object = bytes.TrimSpace(object)
	if len(object) == 0 || object[0] != '{' {
		return string(object)
	}
	var parts []string
	for _, m := range members(object) {
		key, unit := strings.ReplaceAll(m.key, "_", " "), ""
		if at := strings.LastIndexByte(m.key, '_'); at >= 0 && units()[m.key[at+1:]] != "" {
			key, unit = strings.ReplaceAll(m.key[:at], "_", " "), units()[m.key[at+1:]]
		}
		var values []string
		flatten("", m.value, func(name, value string) {
			values = append(values, strings.TrimSpace(strings.ReplaceAll(name, " / ", " ")+" "+value))
		})
		parts = append(parts, strings.TrimSpace(key+" "+strings.Join(values, ", ")+unit))
	}
	return strings.Join(parts, "; ")
}
