package dashboard

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/labels"
	"wetside/sensors/quantity/phrase"
)

// passportBody is everything that is known of a container, a batch or a lot.
type passportBody struct {
	Look              look
	Receipt           string
	Name, Code, Label string
	Facts             []fact
	Places            []place
	Parents, Kin      []link
	Made, Where       []link
	Sessions, People  []string
	Failures          []failureLine
	History           []recordLine
}

type fact struct{ Name, Text string }

// place is a container with all of its clocks.
type place struct {
	shelfItem
	Clocks []clockLine
}

type clockLine struct {
	Word, Shape, Name, Text, Due, Source string
	Binds                                bool
}

// passportPage finds a container, a batch, a lot or the short code of a label.
func (s *shelfPages) passportPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	name := c.named(r.PathValue("name"))
	body := passportBody{Look: lookOf(r), Name: name, Receipt: s.receipt(r)}
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
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("error.no-batch")})
		return
	}
	p := s.shelfPage(r, "passport")
	p.Title, p.Body = name, body
	s.show(w, r, http.StatusOK, p)
}

// named turns the short code of a label into the batch that it stands for.
func (c shelfContext) named(text string) string {
	code := strings.ToUpper(strings.TrimSpace(text))
	for _, id := range c.book.Batches() {
		if ledger.ShortCode(id) == code {
			return id
		}
	}
	return text
}

func (b *passportBody) container(c shelfContext, id string) {
	k, _ := c.book.Container(id)
	b.Facts = []fact{{c.words.Say("shelf.vessel"), c.word(k.Vessel)}, {c.words.Say("shelf.capacity"), c.volume(k.Capacity)}}
	if k.LastHeld != "" {
		b.Facts = append(b.Facts, fact{c.words.Say("passport.last-held"), c.word(k.LastHeld)})
	}
	if held, ok := c.book.Contents(id, c.book.At); ok {
		b.Places = []place{c.place(id)}
		for _, share := range held.Shares {
			b.Parents = append(b.Parents, link{Href: shelfHref(share.Origin), Text: share.Origin})
		}
	}
	story := c.book.Kept(c.book.Story(id))
	b.History = c.recordLines(newest(story, len(story)))
}

func (b *passportBody) batch(c shelfContext, batch ledger.Batch) {
	b.Code, b.Label = ledger.ShortCode(batch.ID), "/shelf/label/"+url.PathEscape(batch.ID)
	if label, err := c.book.Label(batch.ID, c.book.At); err == nil {
		b.Facts = []fact{{c.words.Say("passport.name"), c.tell(label.Name)}, {c.words.Say("passport.parts"), c.tell(label.Parts)},
			{c.words.Say("passport.mixed"), c.tell(label.MixedBy)}, {c.words.Say("passport.discard-by"), c.tell(label.DiscardBy)}}
	}
	if off, ok := batch.StrengthError(); ok {
		b.Facts = append(b.Facts, fact{c.words.Say("passport.strength"), c.words.Say("passport.strength-is", c.number(100*(1+off), 1))})
	}
	for _, parent := range batch.Parents {
		b.Parents = append(b.Parents, link{Href: shelfHref(parent), Text: parent})
	}
	if kin, err := c.book.Siblings(batch.ID); err == nil {
		for _, id := range kin {
			b.Kin = append(b.Kin, link{Href: shelfHref(id), Text: id})
		}
	}
	b.follow(c, batch.ID)
}

func (b *passportBody) lot(c shelfContext, lot ledger.Lot) {
	b.Facts = []fact{{c.words.Say("passport.name"), lot.Product + " (" + c.word(lot.Class) + ")"},
		{c.words.Say("passport.sealed"), c.words.Say("passport.sealed-of", lot.Units-lot.Opened, lot.Units, c.volume(lot.UnitVolume))},
		{c.words.Say("passport.received"), c.brief(lot.Received)}}
	if !lot.Expiry.IsZero() {
		b.Facts = append(b.Facts, fact{c.words.Say("shelf.expiry"), lot.Expiry.In(c.zone).Format("2 Jan 2006")})
	}
	b.follow(c, lot.ID)
}

// follow is where a liquid went: what was made of it, what holds it, who used it, and its story.
func (b *passportBody) follow(c shelfContext, id string) {
	t, err := c.book.Forward(id)
	if err != nil {
		return
	}
	for _, made := range t.Batches {
		if made != id {
			b.Made = append(b.Made, link{Href: shelfHref(made), Text: made})
		}
	}
	for _, where := range t.Containers {
		held, ok := c.book.Contents(where, c.book.At)
		if ok && slices.ContainsFunc(held.Shares, func(s ledger.Share) bool { return s.Origin == id }) {
			b.Places = append(b.Places, c.place(where))
			continue
		}
		b.Where = append(b.Where, link{Href: shelfHref(where), Text: where})
	}
	for _, session := range t.Sessions {
		if known, ok := c.book.Session(session); ok {
			b.Sessions = append(b.Sessions, known.Title+", "+c.brief(known.Opened))
		}
	}
	b.People = t.People
	story := c.book.Kept(c.book.Story(id))
	for _, f := range c.book.Failures() {
		if slices.ContainsFunc(story, func(r ShelfRecord) bool { return r.Number == f.Entry }) {
			b.Failures = append(b.Failures, c.failure(f))
		}
	}
	b.History = c.recordLines(newest(story, len(story)))
}

func (c shelfContext) place(id string) place {
	p := place{shelfItem: c.item(id)}
	a := c.book.MayPour(id, c.book.At)
	for _, clock := range a.Clocks {
		line := clockLine{Name: c.tell(clock.Name), Text: phrase.Capital(c.tell(clock.BesideName())), Source: c.sourced(c.tell(clock.Source), clock.Standing), Binds: clock.Words.String() == a.Because.Words.String()}
		line.Word, line.Shape = c.verdict(clock.Verdict)
		if !clock.Due.IsZero() {
			line.Due = c.words.Say("passport.runs-out", c.brief(clock.Due))
		}
		p.Clocks = append(p.Clocks, line)
	}
	return p
}

// labelBody is a label to be printed.
type labelBody struct {
	labels.Label
	Href  string
	Sheet string // where it is printed on a sheet of labels
}

func (s *shelfPages) labelPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	id := c.named(r.PathValue("batch"))
	label, err := c.book.Label(id, c.book.At)
	if err != nil {
		s.fail(w, r, failure{http.StatusNotFound, c.sentenceOf(err)})
		return
	}
	p := s.shelfPage(r, "label")
	p.Title, p.Body = s.words.Say("title.label", label.Code), labelBody{c.printed(label), shelfHref(id), "/labels?label=" + url.QueryEscape(labelOfBatch+id)}
	s.show(w, r, http.StatusOK, p)
}

// recordBody is one entry of the book, and what follows from it.
type recordBody struct {
	Look     look
	Receipt  string
	Problem  string
	Line     recordLine
	Session  string
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
}

type affectedLine struct {
	Title, When     string
	Sheets, Percent int
}

// traceBody is what the prints of a session went through.
type traceBody struct {
	Batches, Lots []link
	People        []string
}

func (s *shelfPages) recordPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	s.showRecord(w, r, c, attemptAt{values: url.Values{}})
}

func (s *shelfPages) showRecord(w http.ResponseWriter, r *http.Request, c shelfContext, a attemptAt) {
	number, _ := strconv.ParseUint(r.PathValue("number"), 10, 64)
	at := slices.IndexFunc(c.book.Records, func(rec ShelfRecord) bool { return rec.Number == number })
	if at < 0 {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("error.no-entry")})
		return
	}
	rec := c.book.Records[at]
	body := recordBody{Look: lookOf(r), Line: c.recordLines([]ShelfRecord{rec})[0], Entered: c.moment(rec.Entered), Session: rec.Session,
		Receipt: s.receipt(r), Affected: c.affected(number), Trace: c.trace(rec)}
	if _, is := rec.Act.(ledger.Correction); !is {
		body.Right = "/shelf/enter/" + slug(rec.Act.Kind()) + "?corrects=" + plain(float64(number))
		body.Back = entryForm{Token: newToken(), Who: a.values.Get("who"), Reason: a.values.Get("because"), Version: plain(float64(c.book.Version()))}
	}
	status := http.StatusOK
	if a.problem != nil {
		status, body.Problem = http.StatusUnprocessableEntity, a.problem.Sentence
		body.Back.Token, body.Back.Wrong = a.values.Get("token"), a.problem.Field
	}
	p := s.shelfPage(r, "entry")
	p.Title, p.Body = s.words.Say("title.entry", number), body
	s.show(w, r, status, p)
}

// affected names the prints that a failed test throws doubt on; nil when the entry is none.
func (c shelfContext) affected(number uint64) *affectedBody {
	a, err := c.book.Affected(number)
	if err != nil {
		return nil
	}
	body := &affectedBody{Instruction: c.tell(a.Instruction), Tell: a.Tell, LastPass: c.words.Say("affected.never-passed")}
	if !a.LastPass.IsZero() {
		body.LastPass = c.words.Say("affected.last-pass", c.brief(a.LastPass))
	}
	for _, session := range a.Sessions {
		title := session.Title
		if title == "" {
			title = c.words.Say("affected.no-session")
		}
		line := affectedLine{Title: title, Sheets: session.Sheets, Percent: int(100*session.Weight + 0.5)}
		if !session.Opened.IsZero() {
			line.When = c.brief(session.Opened)
		}
		body.Sessions = append(body.Sessions, line)
	}
	return body
}

// trace is what the prints of a session went through; nil for an entry that opened none.
func (c shelfContext) trace(rec ShelfRecord) *traceBody {
	opened, ok := rec.Act.(ledger.SessionOpened)
	if !ok {
		return nil
	}
	t, err := c.book.Back(opened.Session)
	if err != nil {
		return nil
	}
	body := &traceBody{People: t.People}
	for _, id := range t.Batches {
		body.Batches = append(body.Batches, link{Href: shelfHref(id), Text: id})
	}
	for _, id := range t.Lots {
		body.Lots = append(body.Lots, link{Href: shelfHref(id), Text: id})
	}
	return body
}

// takeBackPost takes an entry back, with a reason; the entry itself stays in the book.
func (s *shelfPages) takeBackPost(w http.ResponseWriter, r *http.Request) {
	if s.shelf == nil {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("error.no-shelf")})
		return
	}
	number, _ := strconv.ParseUint(r.PathValue("number"), 10, 64)
	s.press(w, r, pressed{
		read: func(c shelfContext) (ShelfEntry, *problem) {
			reader := &entryReader{shelfContext: c, values: r.PostForm}
			e := ShelfEntry{Person: reader.text("who", s.words.Say("field.who"), true)}
			reason := reader.text("because", s.words.Say("shelf.reason"), true)
			e.Seen, _ = strconv.ParseUint(r.PostForm.Get("version"), 10, 64)
			e.Act = ledger.Correction{Of: number, Reason: reason}
			return e, reader.problem
		},
		again: func(w http.ResponseWriter, c shelfContext, p *problem) {
			s.showRecord(w, r, c, attemptAt{r.PostForm, p})
		},
	})
}
