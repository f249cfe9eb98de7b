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
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// bookEntry is an entry of the book of chemistry with the act that it stands for; nil where the
// ledger knows none.
type bookEntry struct {
	report.Entry
	act ledger.Act
}

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
				Line: a.Silver.Line(), Method: a.Method.Said(), Reference: a.Reference, Person: e.Person})
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

// fields are the content of an act, which is kept as it was written: in words those of ten years would
// fill the memory.
type fields json.RawMessage

// Said writes the content as a line that a person can read.
func (f fields) Said() phrase.Sentence {
	d := decoderOf(json.RawMessage(f))
	if t, _ := d.Token(); t != json.Delim('{') {
		return phrase.Plain(string(bytes.TrimSpace(f)))
	}
	var form []byte
	var figures []any
	for d.More() {
		words, figure, err := member(d)
		if err != nil { // it was read already
			break
		}
		if len(form) > 0 {
			form = append(form, "; "...)
		}
		if form = append(form, strings.ReplaceAll(words, "%", "%%")...); figure != nil {
			form, figures = append(form, " %s"...), append(figures, figure)
		}
	}
	return phrase.Say(string(form), figures...)
}

// member is what comes next in an object, in words; of a number whose key ends in its unit the words are its name.
func member(d *json.Decoder) (words string, figure any, err error) {
	t, err := d.Token()
	if err != nil {
		return "", nil, err
	}
	key := inText(t)
	at := strings.LastIndexByte(key, '_')
	var values []string
	_, err = flatten(d, "", func(name string, value json.Token) {
		if number, is := value.(json.Number); is && name == "" && at >= 0 {
			figure = withUnit(number, key[at+1:])
		}
		values = append(values, strings.TrimSpace(strings.ReplaceAll(name, " / ", " ")+" "+inText(value)))
	})
	if figure != nil {
		return spaced(key[:at]), figure, err
	}
	return strings.TrimSpace(spaced(key) + " " + strings.Join(values, ", ")), nil, err
}

// withUnit gives a number with the unit that its key ends in; nil where the end is no unit.
func withUnit(number json.Number, end string) any {
	value, err := number.Float64()
	switch {
	case err != nil:
	case end == "ml":
		return quantity.Millilitre(value).To(0)
	case end == "c":
		return quantity.Celsius(value).To(0)
	case end == "m2":
		return phrase.Say("%s m²", quantity.Decimal(number))
	case end == "seconds":
		return phrase.Say("%s s", quantity.Decimal(number))
	}
	return nil
}
