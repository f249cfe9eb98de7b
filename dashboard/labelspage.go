package dashboard

import (
	"bytes"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/dashboard/labels"
	"wetside/sensors/quantity/phrase"
)

// What a label may be asked for: the batch that is in a bottle, or the bottle or tray itself.
const (
	labelOfBatch  = "batch:"
	labelOfVessel = "vessel:"
	mostCopies    = 20
	mostLabels    = 500
)

// labelsBody is the page that prints labels on sheets of them.
type labelsBody struct {
	Look             look
	Batches, Vessels []choice
	Sheets           []choice
}

func (s *shelfPages) labelsPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	wanted := r.URL.Query()["label"]
	body := labelsBody{Look: lookOf(r)}
	for _, id := range c.book.Batches() {
		b, _ := c.book.Batch(id)
		name := labelOfBatch + id
		body.Batches = append(body.Batches, choice{name, s.words.Say("labels.batch", b.Name, id, c.day(b.Mixed)), slices.Contains(wanted, name)})
	}
	for _, id := range c.book.Containers() {
		k, _ := c.book.Container(id)
		name := labelOfVessel + id
		body.Vessels = append(body.Vessels, choice{name, s.vesselName(id, c.word(k.Vessel)), slices.Contains(wanted, name)})
	}
	for i, sheet := range labels.Sheets() {
		body.Sheets = append(body.Sheets, choice{sheet.ID, c.sheetWords(sheet), i == 1})
	}
	p := s.shelfPage(r, "labels")
	p.Title, p.Body = s.words.Say("title.labels"), body
	s.show(w, r, http.StatusOK, p)
}

func (f figures) sheetWords(s labels.Sheet) string {
	paper, _, _ := strings.Cut(s.ID, "-")
	return f.words.Say("labels.sheet", f.words.Say("labels."+paper), s.Count(), f.plain(s.Wide), f.plain(s.High))
}

// labelsPDF answers with the labels that were ticked. It is drawn after the book is
// free again.
func (s *shelfPages) labelsPDF(w http.ResponseWriter, r *http.Request) {
	if s.shelf == nil {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("error.no-shelf")})
		return
	}
	query, f := r.URL.Query(), s.figures(s.View.Now())
	sheet, err := labels.Find(query.Get("sheet"))
	from, copies := count(query.Get("from"), 1), count(query.Get("copies"), 1)
	wanted := query["label"]
	switch {
	case err != nil:
		s.fail(w, r, failure{http.StatusBadRequest, f.sentenceOf(err)})
		return
	case len(wanted) == 0 || copies < 1 || copies > mostCopies || len(wanted)*copies > mostLabels || from < 1 || from > sheet.Count():
		s.fail(w, r, failure{http.StatusBadRequest, s.words.Say("labels.ask", mostCopies, sheet.Count())})
		return
	}
	list, missing := s.labelsOf(f, wanted, copies)
	if len(missing) > 0 {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("labels.missing", clip(missing[0]))})
		return
	}
	p := labels.Print{Sheet: sheet, From: from, Made: f.now.Wall, Title: s.words.Say("title.labels")}
	if s.View.Now().Simulated {
		p.Simulated = s.words.Say("labels.simulated")
	}
	var out bytes.Buffer
	if err := labels.WritePDF(&out, p, list); err != nil {
		s.Log.Error("labels can't be drawn", zap.Error(err))
		s.fail(w, r, failure{http.StatusInternalServerError, s.words.Say("error.page")})
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="labels.pdf"`)
	_, _ = w.Write(out.Bytes()) // the reader went away: nobody to tell
}

// count reads a small whole number; -1 for anything else.
func count(text string, fallback int) int {
	if strings.TrimSpace(text) == "" {
		return fallback
	}
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil {
		return -1
	}
	return n
}

// labelsOf gives the labels that were asked for, and the names of what there is not.
func (s *shelfPages) labelsOf(f figures, wanted []string, copies int) (list []labels.Label, missing []string) {
	s.shelf.Look(func(b *ShelfBook) {
		c := shelfContext{f, b}
		for _, name := range wanted {
			l, known := c.labelOf(name)
			if !known {
				missing = append(missing, name)
				continue
			}
			for range copies {
				list = append(list, l)
			}
		}
	})
	return list, missing
}

func (c shelfContext) labelOf(name string) (labels.Label, bool) {
	if id, is := strings.CutPrefix(name, labelOfBatch); is {
		l, err := c.book.Label(id, c.book.At)
		return c.printed(l), err == nil
	}
	id, is := strings.CutPrefix(name, labelOfVessel)
	k, known := c.book.Container(id)
	return c.vesselLabel(k), is && known
}

// printed is the label of a batch as the place reads it.
func (f figures) printed(l ledger.Label) labels.Label {
	return labels.Label{Code: l.Code, Name: f.tell(l.Name), Lines: f.tellAll([]phrase.Sentence{l.Parts, l.Mixed, l.Who}), By: f.tell(l.DiscardBy), Cautions: f.tellAll(l.Cautions)}
}

// vesselName names a vessel with its kind, unless its name says it already.
func (s *shelfPages) vesselName(id, kind string) string {
	if strings.Contains(strings.ToLower(id), kind) {
		return id
	}
	return s.words.Say("labels.vessel", id, kind)
}

// vesselLabel is what stays on a bottle or tray while its batches come and go.
func (c shelfContext) vesselLabel(k ledger.Container) labels.Label {
	l := labels.Label{Name: k.ID, Lines: []string{c.words.Say("shelf.empty-vessel", c.word(k.Vessel), c.volume(k.Capacity))}}
	switch {
	case k.Stream != "":
		l.By = c.words.Say("labels.waste", c.word(k.Stream))
	case k.KeptFor != "":
		l.By, l.Cautions = c.words.Say("labels.kept-for", c.word(k.KeptFor)), c.tellAll(ledger.CautionsFor(k.KeptFor))
	}
	if k.Bath != "" {
		l.Lines = append(l.Lines, c.words.Say("labels.serves", k.Bath))
	}
	return l
}
