package shelf

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/dashboard/labels"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

// What a label may be asked for: the batch that is in a bottle, or the bottle or tray itself.
const (
	labelOfBatch  = "batch:"
	labelOfVessel = "vessel:"
	mostCopies    = 20
	mostLabels    = 500
)

type labelsBody struct {
	Look             web.Look
	Batches, Vessels []web.Choice
	Chosen           bool // one of the vessels is ticked
	Sheets           []web.Choice
}

func (s *Pages) labelsPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	wanted := r.URL.Query()["label"]
	body := labelsBody{Look: web.LookOf(r)}
	here := map[string]bool{}
	for _, id := range c.book.Containers() {
		held, _ := c.book.Contents(id, c.book.At)
		for _, share := range held.Shares {
			here[share.Origin] = true
		}
	}
	for _, id := range c.book.Batches() {
		b, _ := c.book.Batch(id)
		if b.Mixed.IsZero() || !here[id] && !slices.Contains(wanted, labelOfBatch+id) {
			continue // nobody knows what a label would have to say, or it is used up
		}
		name := labelOfBatch + id
		body.Batches = append(body.Batches, web.Choice{Value: name, Text: fmt.Sprintf("%s, %s, %s", b.Name, id, c.Date(b.Mixed)),
			Checked: slices.Contains(wanted, name)})
	}
	for _, id := range c.book.Containers() {
		k, _ := c.book.Container(id)
		name := labelOfVessel + id
		body.Vessels = append(body.Vessels, web.Choice{Value: name, Text: s.vesselName(id, c.Word(k.Vessel)),
			Checked: slices.Contains(wanted, name)})
		body.Chosen = body.Chosen || slices.Contains(wanted, name)
	}
	usual := map[bool]string{false: "a4-8", true: "letter-6"}[c.Letter]
	for _, sheet := range labels.Sheets() {
		body.Sheets = append(body.Sheets, web.Choice{Value: sheet.ID, Text: c.sheetWords(sheet), Checked: sheet.ID == usual})
	}
	s.Show(w, r, http.StatusOK, s.shelfPage(r, web.Head{Name: "labels", Title: "Labels"}).With(body))
}

func (f figures) sheetWords(s labels.Sheet) string {
	return fmt.Sprintf("%s, %d labels of %s\u00a0×\u00a0%s\u00a0mm", s.Paper, s.Count(), f.Plain(s.Wide), f.Plain(s.High))
}

// labelsPDF answers with the labels that were ticked.
func (s *Pages) labelsPDF(w http.ResponseWriter, r *http.Request) {
	query, site := r.URL.Query(), s.View.Now()
	f := s.figures(site)
	sheet, err := labels.Find(query.Get("sheet"))
	from, copies := count(query.Get("from"), 1), count(query.Get("copies"), 1)
	wanted := query["label"]
	switch {
	case err != nil:
		s.Fail(w, r, web.Failure{Status: http.StatusBadRequest, Sentence: f.ErrorText(err)})
		return
	case len(wanted) == 0 || copies < 1 || copies > mostCopies || len(wanted)*copies > mostLabels || from < 1 || from > sheet.Count():
		s.Fail(w, r, web.Failure{Status: http.StatusBadRequest,
			Sentence: fmt.Sprintf("Tick at least one label; up to %d copies each, and the first label from 1 to %d.", mostCopies, sheet.Count())})
		return
	}
	list, missing := s.reads().labelsOf(wanted, copies)
	if len(missing) > 0 {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound,
			Sentence: fmt.Sprintf("%s is not recorded here. Reload the page.", web.Clip(missing[0]))})
		return
	}
	p := labels.Print{Sheet: sheet, From: from, Made: f.Now.Wall, Title: "Labels"}
	for i := range list {
		if list[i].Address = site.Address + list[i].Address; site.Address == "" {
			list[i].Address = "" // a path alone leads nowhere
		}
	}
	if site.Simulated {
		p.Simulated = "SIMULATED - NOT A REAL BATCH"
	}
	var out bytes.Buffer
	if err := labels.WritePDF(&out, p, list); err != nil {
		s.Log.Error("labels can't be drawn", zap.Error(err))
		s.Fail(w, r, web.Failure{Status: http.StatusInternalServerError, Sentence: web.NotDrawn})
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
func (c shelfContext) labelsOf(wanted []string, copies int) (list []labels.Label, missing []string) {
	for _, name := range wanted {
		l, known := c.labelOf(name)
		if !known {
			missing = append(missing, name)
			continue
		}
		list = append(list, slices.Repeat([]labels.Label{l}, copies)...)
	}
	return list, missing
}

// labelOf is the label of a batch or vessel; its address is a path on this site.
func (c shelfContext) labelOf(name string) (l labels.Label, known bool) {
	id, is := strings.CutPrefix(name, labelOfBatch)
	if is {
		text, err := c.book.Label(id, c.book.At)
		l, known = c.printed(text), err == nil
	} else if id, is = strings.CutPrefix(name, labelOfVessel); is {
		var k ledger.Container
		k, known = c.book.Container(id)
		l = c.vesselLabel(k)
	}
	l.Address = shelfHref(id)
	return l, known
}

// printed is the label of a batch as the place reads it.
func (f figures) printed(l ledger.Label) labels.Label {
	return labels.Label{Code: l.Code, Name: f.Text(l.Name), Lines: f.Texts([]phrase.Sentence{l.Parts, l.Mixed, l.Who}),
		By: f.Text(phrase.Say("Discard by: %s", l.DiscardBy)), Cautions: f.Texts(l.Cautions)}
}

// vesselName names a vessel with its kind, unless its name says it already.
func (s *Pages) vesselName(id, kind string) string {
	if strings.Contains(strings.ToLower(id), kind) {
		return id
	}
	return fmt.Sprintf("%s (%s)", id, kind)
}

// vesselLabel is what stays on a bottle or tray while its batches come and go.
func (c shelfContext) vesselLabel(k ledger.Container) labels.Label {
	l := labels.Label{Name: k.ID, Lines: []string{fmt.Sprintf("%s, holds %s", c.Word(k.Vessel), c.Volume(k.Capacity))}}
	switch {
	case k.Stream != "":
		l.By = fmt.Sprintf("Waste: %s", c.Word(k.Stream))
	case k.KeptFor != "":
		l.By, l.Cautions = fmt.Sprintf("Only for %s", c.Word(k.KeptFor)), c.Texts(ledger.CautionsFor(k.KeptFor))
	}
	if k.Bath != "" {
		l.Lines = append(l.Lines, fmt.Sprintf("Place: %s", k.Bath))
	}
	return l
}
