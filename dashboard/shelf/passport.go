package shelf

import (
	"cmp"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/labels"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

// passportBody is everything that is known of a container, a batch or a lot.
type passportBody struct {
	Look              web.Look
	Name, Code, Label string
	Facts             []cards.Fact
	Places            []place
	Parents, Kin      []web.Link
	Made, Where       []web.Link
	Sessions, People  []string
	Failures          []failureLine
	// History is the newest of its story, Earlier what came before, and Before leads to the rest.
	History, Earlier []recordLine
	Before           string
	before           uint64 // only what came before this entry is told; 0 for all
}

// place is a container with all of its clocks.
type place struct {
	shelfItem
	Limits []limitLine
}

type limitLine struct {
	Word, Shape, Name, Text, Due, Source string
	Binds                                bool
}

// passportPage finds a container, a batch, a lot or the short code of a label.
func (s *Pages) passportPage(w http.ResponseWriter, r *http.Request, on shelfContext) {
	c := stockPart{on}
	name := c.named(r.PathValue("name"))
	body := passportBody{Look: web.LookOf(r), Name: name}
	body.before, _ = strconv.ParseUint(r.URL.Query().Get("before"), 10, 64)
	_, isContainer := c.book.Container(name)
	batch, isBatch := c.book.Batch(name)
	lot, isLot := c.book.Lot(name)
	switch {
	case isBatch:
		body.batch(c, batch)
	case isLot:
		body.lot(c, lot)
	case isContainer:
		body.container(c, name)
	default:
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: "Nothing recorded has this name or code. Look on the Shelf page."})
		return
	}
	s.Show(w, r, http.StatusOK, s.shelfPage(r, web.Head{Name: "passport", Title: name}).With(body))
}

// named turns the short code of a label into the batch that it stands for.
func (c stockPart) named(text string) string {
	code := strings.ToUpper(strings.TrimSpace(text))
	for _, id := range c.book.Batches() {
		if ledger.ShortCode(id) == code {
			return id
		}
	}
	return text
}

func (b *passportBody) container(c stockPart, id string) {
	k, _ := c.book.Container(id)
	b.Facts = []cards.Fact{{Name: "Vessel", Text: c.Word(k.Vessel)}, {Name: "Capacity", Text: c.Volume(k.Capacity)}}
	if k.LastHeld != "" {
		b.Facts = append(b.Facts, cards.Fact{Name: "Last held", Text: c.Word(k.LastHeld)})
	}
	if held, ok := c.book.Contents(id, c.book.At); ok {
		b.Places = []place{c.place(id)}
		for _, share := range held.Shares {
			b.Parents = append(b.Parents, web.Link{Href: shelfHref(share.Origin), Text: share.Origin})
		}
	}
	b.tell(c, id)
}

// toldRecords is how many entries of a story a page tells: a tray that stands in every class has
// hundreds in a term and thousands in some years.
const toldRecords = 100

// tell lists a story, the newest first.
func (b *passportBody) tell(c stockPart, id string) {
	var story []cards.ShelfRecord
	reached := b.before == 0
	for e := range c.book.Backwards(id) {
		if len(story) == toldRecords {
			b.Before = b.Look.Keep(shelfHref(b.Name) + "?before=" + web.Plain(float64(story[toldRecords-1].Number)))
			break
		}
		if reached {
			story = append(story, c.book.AsKept(e))
		}
		reached = reached || e.Number == b.before
	}
	lines := c.recordLines(story)
	first := min(len(lines), listedRecords)
	if b.before > 0 {
		first = len(lines)
	}
	b.History, b.Earlier = lines[:first], lines[first:]
}

// shelfLinks lead to batches, lots and containers by their names.
func shelfLinks(names []string) (links []web.Link) {
	for _, name := range names {
		links = append(links, web.Link{Href: shelfHref(name), Text: name})
	}
	return links
}

// strength is a share of the intended strength, with what the graduates leave open.
func (c stockPart) strength(share, spread float64) string {
	if spread == 0 {
		return fmt.Sprintf("%s %% of the intended strength", c.Number(100*share, 1))
	}
	return fmt.Sprintf("%s %% (± %s) of the intended strength", c.Number(100*share, 1), c.Number(100*share*spread, 1))
}

func (b *passportBody) batch(c stockPart, batch ledger.Batch) {
	b.Code, b.Label = ledger.ShortCode(batch.ID), "/shelf/label/"+url.PathEscape(batch.ID)
	if label, err := c.book.Label(batch.ID, c.book.At); err == nil {
		b.Facts = []cards.Fact{{Name: "Contents", Text: c.Text(label.Name)}, {Name: "Dilution", Text: c.Text(label.Parts)},
			{Name: "Mixed", Text: c.Text(label.MixedBy)}, {Name: "Discard by", Text: c.Text(label.DiscardBy)}}
	}
	if off, ok := batch.StrengthError(); ok {
		b.Facts = append(b.Facts, cards.Fact{Name: "Strength", Text: c.strength(1+off, batch.StrengthSpread)})
	}
	b.Parents = shelfLinks(batch.Parents)
	if kin, err := c.book.Siblings(batch.ID); err == nil {
		b.Kin = shelfLinks(kin)
	}
	b.follow(c, batch.ID)
}

func (b *passportBody) lot(c stockPart, lot ledger.Lot) {
	b.Facts = []cards.Fact{{Name: "Contents", Text: lot.Product + " (" + c.Word(lot.Class) + ")"},
		{Name: "Still closed", Text: fmt.Sprintf("%d of %d, %s each", lot.Units-lot.Opened, lot.Units, c.Volume(lot.UnitVolume))},
		{Name: "Received", Text: c.Brief(lot.Received)}}
	if !lot.Expiry.IsZero() {
		b.Facts = append(b.Facts, cards.Fact{Name: "Date on the pack", Text: c.Date(lot.Expiry)})
	}
	b.follow(c, lot.ID)
}

// follow is where a liquid went: what was made of it, what holds it, who used it, and its story.
func (b *passportBody) follow(c stockPart, id string) {
	t, err := c.book.Forward(id)
	if err != nil {
		return
	}
	b.Made = shelfLinks(slices.DeleteFunc(t.Batches, func(made string) bool { return made == id }))
	for _, where := range t.Containers {
		held, ok := c.book.Contents(where, c.book.At)
		if ok && slices.ContainsFunc(held.Shares, func(s ledger.Share) bool { return s.Origin == id }) {
			b.Places = append(b.Places, c.place(where))
			continue
		}
		b.Where = append(b.Where, web.Link{Href: shelfHref(where), Text: where})
	}
	for _, session := range t.Sessions {
		if known, ok := c.book.Session(session); ok {
			b.Sessions = append(b.Sessions, known.Title+", "+c.Brief(known.Opened))
		}
	}
	b.People = t.People
	story := c.book.Story(id)
	for _, f := range c.book.Failures() {
		if slices.ContainsFunc(story, func(e ledger.Entry) bool { return e.Number == f.Entry }) {
			b.Failures = append(b.Failures, c.failure(f))
		}
	}
	b.tell(c, id)
}

func (c stockPart) place(id string) place {
	p := place{shelfItem: c.item(id)}
	a := c.book.MayPour(id, c.book.At)
	for _, limit := range a.Limits {
		line := limitLine{Name: c.Text(limit.Name), Text: phrase.Capital(c.Text(limit.BesideName())),
			Source: c.Sourced(c.Text(limit.Source), limit.Standing), Binds: limit.Binds}
		line.Word, line.Shape = c.cards().VerdictOn(id, limit.Verdict, limit.Tested)
		if !limit.Due.IsZero() {
			line.Due = fmt.Sprintf("runs out %s", c.Brief(limit.Due))
		}
		p.Limits = append(p.Limits, line)
	}
	return p
}

type labelBody struct {
	labels.Label
	Href  string
	Sheet string // where it is printed on a sheet of labels
	// Square leads a camera to the batch; empty while the place has no address of its own.
	Square template.HTML
}

func (s *Pages) labelPage(w http.ResponseWriter, r *http.Request, on shelfContext) {
	c := stockPart{on}
	id := c.named(r.PathValue("batch"))
	label, err := c.book.Label(id, c.book.At)
	if err != nil {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: c.ErrorText(err)})
		return
	}
	p := s.shelfPage(r, web.Head{Name: "label", Title: "Label " + label.Code})
	body := labelBody{Label: c.printed(label), Href: shelfHref(id), Sheet: "/labels?label=" + url.QueryEscape(labelOfBatch+id)}
	if address := s.View.Now().Address; address != "" { // a path alone leads nowhere
		if square, err := report.NewSquare(address + shelfHref(id)); err == nil {
			body.Square = square.SVG(address + shelfHref(id))
		} else {
			s.Log.Warn("a label has no square: its address is too long", zap.Error(err))
		}
	}
	s.Show(w, r, http.StatusOK, p.With(body))
}

// recordBody is one entry of the book, and what follows from it.
type recordBody struct {
	Look     web.Look
	Problem  string
	Line     recordLine
	Entered  string
	Affected *affectedBody
	Right    string // where the entry can be put right
	Back     entryForm
	Trace    *traceBody
}

// affectedBody is what a failed test throws doubt on.
type affectedBody struct {
	LastPass, Instruction string
	Tell                  []string
	Sessions              []affectedLine
	// Bath says that a bath was tested: then how far it had gone by each session tells how likely its prints suffered.
	Bath bool
}

type affectedLine struct {
	Title, When     string
	Sheets, Percent int
}

// traceBody is what the prints of a session went through.
type traceBody struct {
	Batches, Lots []web.Link
	People        []string
}

func (s *Pages) recordPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	s.showRecord(w, r, c, attemptAt{values: url.Values{}})
}

func (s *Pages) showRecord(w http.ResponseWriter, r *http.Request, on shelfContext, a attemptAt) {
	c := stockPart{on}
	number, _ := strconv.ParseUint(r.PathValue("number"), 10, 64)
	rec, known := c.book.Record(number)
	if !known {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: "There is no entry with this number."})
		return
	}
	body := recordBody{Look: web.LookOf(r), Line: c.recordLines([]cards.ShelfRecord{rec})[0], Entered: c.Moment(rec.Entered),
		Affected: c.affected(number), Trace: c.trace(rec)}
	if _, is := rec.Act.(ledger.Correction); !is {
		body.Right = "/shelf/enter/" + slug(rec.Act.Kind()) + "?corrects=" + web.Plain(float64(number))
		body.Back = entryForm{Token: web.NewToken(), Who: a.values.Get("who"), Reason: a.values.Get("because"),
			Version: web.Plain(float64(c.book.Version()))}
	}
	status := http.StatusOK
	if a.problem != nil {
		status, body.Problem = http.StatusUnprocessableEntity, a.problem.Sentence
		body.Back.Token, body.Back.Wrong = a.values.Get("token"), a.problem.Field
	}
	s.Show(w, r, status, s.shelfPage(r, web.Head{Name: "entry", Title: fmt.Sprintf("Entry %d", number)}).With(body))
}

// affected names the prints that a failed test throws doubt on; nil when the entry is none.
func (c stockPart) affected(number uint64) *affectedBody {
	a, err := c.book.Affected(number)
	if err != nil {
		return nil
	}
	body := &affectedBody{Instruction: c.Text(a.Instruction), Tell: a.Tell, Bath: a.Container != ""}
	switch {
	case !a.LastPass.IsZero():
		body.LastPass = fmt.Sprintf("Last passed test: %s.", c.Brief(a.LastPass))
	case a.Container != "":
		body.LastPass = "This bath had never passed a test before."
	case a.Test == ledger.ResidualSilver:
		body.LastPass = "No bath that fixed these prints had passed a test before the session."
	}
	for _, session := range a.Sessions {
		title := cmp.Or(session.Title, "Outside a session")
		line := affectedLine{Title: title, Sheets: session.Sheets, Percent: int(100*session.Weight + 0.5)}
		if !session.Opened.IsZero() {
			line.When = c.Brief(session.Opened)
		}
		body.Sessions = append(body.Sessions, line)
	}
	return body
}

// trace is what the prints of a session went through; nil for an entry that opened none.
func (c stockPart) trace(rec cards.ShelfRecord) *traceBody {
	opened, ok := rec.Act.(ledger.SessionOpened)
	if !ok {
		return nil
	}
	t, err := c.book.Back(opened.Session)
	if err != nil {
		return nil
	}
	return &traceBody{People: t.People, Batches: shelfLinks(t.Batches), Lots: shelfLinks(t.Lots)}
}

// takeBackPost takes an entry back, with a reason, and others that one press entered with it; the
// entries themselves stay in the book.
func (s *Pages) takeBackPost(w http.ResponseWriter, r *http.Request) {
	number, _ := strconv.ParseUint(r.PathValue("number"), 10, 64)
	s.press(w, r, bookForm{
		read: func(c shelfContext) (cards.ShelfEntry, *web.Problem) {
			reader := c.reader(r.PostForm)
			e := cards.ShelfEntry{Person: reader.form.Who()}
			reason := reader.text("because", "Reason", true)
			e.Seen, _ = strconv.ParseUint(r.PostForm.Get("version"), 10, 64)
			e.Act = ledger.Correction{Of: number, Reason: reason}
			for _, also := range r.PostForm["also"] {
				of, _ := strconv.ParseUint(also, 10, 64) // 0 is refused
				e.Before, e.Act = append(e.Before, e.Act), ledger.Correction{Of: of, Reason: reason}
			}
			return e, reader.form.Problem
		},
		again: func(c shelfContext, p *web.Problem) { s.showRecord(w, r, c, attemptAt{r.PostForm, p}) },
	})
}
