package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// chemistryPart lays out what became of the chemicals.
type chemistryPart struct{ composer }

// blocks tell what was done with chemicals: how often and how much on each day, each batch that was
// mixed, and what the tests showed. A term has a thousand entries, which nobody reads one by one.
func (d chemistryPart) blocks() []Block {
	if len(d.Chemistry) == 0 {
		return []Block{Grid{Empty: "Nothing was recorded about chemicals in this period."}}
	}
	blocks := []Block{d.chemistryDays(), Text("The table chemistry.csv has each entry, with everything that it holds.")}
	blocks = append(blocks, announced("Batches mixed, one by one:", d.batchesMixed())...)
	blocks = append(blocks, announced("Tests, by what they showed:", d.testsDone())...)
	return append(blocks, d.silverBlocks()...)
}

// daysWork is what was entered of a day, or of a month.
type daysWork struct {
	label            string
	kinds, people    []string
	times            map[string]int
	mixed, discarded float64 // mL
	first, last      uint64
}

// spoken is a kind of entry in the words of the page on which it is made.
func spoken(kind string) string {
	switch kind {
	case ledger.ContainerNamed{}.Kind():
		return "vessel added"
	case ledger.LotReceived{}.Kind():
		return "delivery recorded"
	case ledger.LotOpened{}.Kind():
		return "bottle opened"
	case ledger.PortionPoured{}.Kind():
		return "poured into a tray"
	case ledger.Returned{}.Kind():
		return "returned to storage"
	case ledger.Merged{}.Kind():
		return "two combined"
	case ledger.Promoted{}.Kind():
		return "second fixer moved up"
	case ledger.PrintTimed{}.Kind():
		return "right print recorded"
	case ledger.SessionOpened{}.Kind():
		return "start of a session"
	case ledger.SessionClosed{}.Kind():
		return "end of a session"
	case ledger.WorkBooked{}.Kind():
		return "class booked"
	case ledger.AssumptionsStated{}.Kind():
		return "estimates set"
	case ledger.ProductNoted{}.Kind():
		return "product added"
	}
	return kind
}

// add counts an entry as the totals do: as the kind as which it holds, and not at all once it was corrected.
func (w *daysWork) add(e Entry) {
	kind := cmp.Or(e.Counts, "corrected since")
	if w.times[kind]++; w.times[kind] == 1 {
		w.kinds = append(w.kinds, kind)
	}
	if e.Volume != nil && kind == (ledger.BatchMixed{}).Kind() {
		w.mixed += *e.Volume
	}
	if e.Volume != nil && kind == (ledger.Discarded{}).Kind() {
		w.discarded += *e.Volume
	}
	if !slices.Contains(w.people, e.Person) {
		w.people = append(w.people, e.Person)
	}
	if w.first == 0 {
		w.first, w.last = e.Record, e.Record
	}
	w.first, w.last = min(w.first, e.Record), max(w.last, e.Record)
}

// workOf gathers the entries by their local day, or month, in the order in which those came.
func (d chemistryPart) workOf(layout string) []*daysWork {
	var list []*daysWork
	known := map[string]*daysWork{}
	for _, e := range d.Chemistry {
		label := e.Happened.In(d.zone()).Format(layout)
		w := known[label]
		if w == nil {
			w = &daysWork{label: label, times: map[string]int{}}
			known[label] = w
			list = append(list, w)
		}
		w.add(e)
	}
	return list
}

// chemistryDays has a row a day, or a month where the days are more than are printed, and their sum.
func (d chemistryPart) chemistryDays() Grid {
	g := Grid{File: "chemistry.csv", Columns: []Column{{"Day", 2, left}, {"Entered", 5.6, left}, {"Mixed", 1.9, right},
		{"Discarded", 1.9, right}, {"By", 2.2, left}, {"Records", 2, left}}}
	work := d.workOf("2 Jan 2006")
	if len(work) >= mostRows {
		g.Columns[0].Title, work = "Month", d.workOf("Jan 2006")
	}
	some := func(ml float64) string {
		if ml == 0 {
			return ""
		}
		return d.volume(ml)
	}
	mixed, discarded := 0.0, 0.0
	for _, w := range work {
		var entered []string
		for _, kind := range w.kinds {
			entered = append(entered, fmt.Sprintf("%s\u00a0×\u00a0%d", spoken(kind), w.times[kind]))
		}
		mixed, discarded = mixed+w.mixed, discarded+w.discarded
		records := reference(w.first)
		if w.last != w.first {
			records = d.say("%d to %d", w.first, w.last)
		}
		g.Rows = append(g.Rows, []string{w.label, phrase.Capital(strings.Join(entered, ", ")), some(w.mixed), some(w.discarded),
			strings.Join(w.people, ", "), records})
	}
	g.Rows = append(g.Rows, []string{"Together", counted(len(d.Chemistry), "entry"), some(mixed), some(discarded), "", ""})
	return g
}

// volume writes millilitres as the place reads them, for the table and the totals.
func (d composer) volume(ml float64) string { return d.say("%s", quantity.Millilitre(ml).Litres(10)) }

// batchesMixed has each batch, those that a correction put in the place of another as well.
func (d chemistryPart) batchesMixed() Grid {
	g := Grid{Empty: "No batch was mixed in this period.", File: "chemistry.csv", Columns: []Column{{"Record", 1, right},
		{"Happened", 2.6, left}, {"What", 9, left}, {"By", 1.8, left}}}
	kind := ledger.BatchMixed{}.Kind()
	for _, e := range d.Chemistry {
		if e.Kind != kind && e.Counts != kind || g.full() {
			continue
		}
		what := d.sentence(e)
		if e.CorrectedBy != 0 {
			what = d.say("%s (corrected by record %d)", what, e.CorrectedBy)
		}
		g.Rows = append(g.Rows, []string{reference(e.Record), d.moment(e.Happened), what, e.Person})
	}
	return g
}

// sentence says an entry in words.
func (d chemistryPart) sentence(e Entry) string {
	if e.Act != nil {
		return phrase.Capital(d.tell(e.Act.Sentence()))
	}
	return d.say("%s: %s", phrase.Capital(spoken(e.Kind)), d.tell(e.What.Said()))
}

// testsDone has a row for each bath or print with what its tests showed, and how often they did.
func (d chemistryPart) testsDone() Grid {
	g := Grid{Empty: "No test was recorded in this period.", File: "chemistry.csv", Columns: []Column{{"Test", 7, left},
		{"Times", 1, right}, {"First", 2.6, left}, {"Last", 2.6, left}}}
	type seen struct {
		words string
		times int
		first Entry
		last  Entry
	}
	var list []*seen
	known := map[string]*seen{}
	for _, e := range d.Chemistry {
		if e.Counts != (ledger.TestDone{}).Kind() {
			continue
		}
		words := d.sentence(e)
		if known[words] == nil {
			known[words] = &seen{words: words, first: e}
			list = append(list, known[words])
		}
		known[words].times++
		known[words].last = e
	}
	for _, s := range list {
		g.Rows = append(g.Rows, []string{s.words, d.say("%d", s.times), d.moment(s.first.Happened), d.moment(s.last.Happened)})
	}
	return g
}

func (d chemistryPart) silverBlocks() []Block {
	if len(d.Silver) == 0 {
		return []Block{Text("No silver result was recorded in this period.")}
	}
	g := Grid{File: "silver.csv", Columns: []Column{{"Sampled", 2, left}, {"Of", 3.5, left}, {"Silver", 2, right},
		{"Federal limit", 3, left}, {"Method", 3, left}, {"By", 2, left}}}
	for _, s := range d.Silver {
		g.Rows = append(g.Rows, []string{d.date(s.Sampled), s.Of, s.Figure, d.tell(s.Line.Said()),
			joined(d.tell(s.Method), s.Reference), s.Person})
	}
	return []Block{Text("Silver measured, against the federal limit in the United States (5.0 mg/L or more, 40 CFR 261.24). Local codes " +
		"come first."), g}
}
