package audit

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"unique"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
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
	w.data.Chemistry = slices.Grow(w.data.Chemistry, len(w.entries))
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
	// A part of the text of a record would keep all of it in the memory, and what repeats is kept once.
	kept := func(text string) string { return unique.Make(text).Value() }
	e := report.Entry{Record: r.Number, Happened: history.Told(r).When(), Entered: r.At, Kind: kept(r.Kind), Person: kept(r.Person),
		Room: kept(r.Room)}
	content, err := ledger.Read(r.Kind, r.Content)
	written := content.Written
	if written == nil {
		written = r.Content // an entry of an older book
	}
	e.What, e.Act = fields(written), content.Act
	act := content.Act
	if c, is := act.(ledger.Correction); is {
		act = c.Instead
	}
	switch {
	case err != nil:
		e.Counts = e.Kind // an entry of an older book, which the ledger does not know
	case act != nil:
		e.Counts = act.Kind()
		if counted, is := act.(ledger.Counted); is {
			v := float64(counted.Amount())
			e.Volume = &v
		}
	}
	return bookEntry{e, act}
}

// withUnit gives a number with the unit that its key ends in; nothing where the end is no unit.
func withUnit(number json.RawMessage, end string) phrase.Sentence {
	var value float64
	if json.Unmarshal(number, &value) != nil {
		return phrase.Sentence{}
	}
	switch end {
	case "ml":
		return phrase.Say("%s", quantity.Millilitre(value).To(0))
	case "c":
		return phrase.Say("%s", quantity.Celsius(value).To(0))
	case "m2":
		return phrase.Say("%s m²", quantity.Decimal(number))
	case "seconds":
		return phrase.Say("%s s", quantity.Decimal(number))
	}
	return phrase.Sentence{}
}

// fields are the content of an act, which is kept as it was written: in words those of ten years would
// fill the memory.
type fields json.RawMessage

// Said writes the content as a line that a person can read.
func (f fields) Said() phrase.Sentence {
	object := json.RawMessage(bytes.TrimSpace(f))
	if len(object) == 0 || object[0] != '{' {
		return phrase.Plain(string(object))
	}
	var parts []phrase.Sentence
	for _, m := range members(object) {
		parts = append(parts, partInWords(m))
	}
	return phrase.Join("; ", parts...)
}

func partInWords(m member) phrase.Sentence {
	spaced := func(key string) string { return strings.ReplaceAll(key, "_", " ") }
	if at := strings.LastIndexByte(m.key, '_'); at >= 0 {
		if figure := withUnit(m.value, m.key[at+1:]); !figure.IsZero() {
			return phrase.Say("%s %s", spaced(m.key[:at]), figure)
		}
	}
	var values []string
	flatten("", m.value, func(name, value string) {
		values = append(values, strings.TrimSpace(strings.ReplaceAll(name, " / ", " ")+" "+value))
	})
	return phrase.Plain(strings.TrimSpace(spaced(m.key) + " " + strings.Join(values, ", ")))
}
