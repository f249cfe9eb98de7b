package shelf

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

type shelfBody struct {
	Held     []shelfItem
	Empty    []web.Link
	Waste    []wasteLine
	Silver   []silverLine
	Lots     []web.Choice
	Stock    []stockLine
	Kinds    []kindGroup
	Failures []failureLine
	Recent   []recordLine
}

// kindGroup is the entries of one sort of work.
type kindGroup struct {
	Title string
	Kinds []web.Link
}

// WasteCalls says whether a waste container is to be collected now.
func (b shelfBody) WasteCalls() bool {
	return slices.ContainsFunc(b.Waste, func(w wasteLine) bool { return w.Call })
}

type shelfItem struct {
	Name, Href, Content string
	Mark                string // bottle or tray
	Amount, What        string
	Answer              cards.AnswerLine
	Age                 *ageBar
	Acts                []web.Link // the likeliest first
}

// ageBar is how much of the limit is used up that runs out first.
type ageBar struct {
	Width int // per cent of the bar
	Words string
	Past  bool
}

type wasteLine struct {
	Name, Stream, Level, First, Act string
	Call                            bool
	Silver                          []string
	Acts                            []web.Link
}

type failureLine struct{ Href, Text, Tell string }

// recordLine is one entry of the book in words.
type recordLine struct {
	Href, When, By, Text, Note string
	Number                     uint64
	Late, Corrected            bool
}

// stockPart is what the shelf and its passports tell of what is there.
type stockPart struct{ shelfContext }

func (s *Pages) shelfList(w http.ResponseWriter, r *http.Request, on shelfContext) {
	c := stockPart{on}
	body := shelfBody{Lots: c.lots(false)}
	body.Lots = append(body.Lots, c.lots(true)...)
	body.Stock = c.stock()
	body.Held, body.Empty = c.vessels()
	for _, level := range c.book.Waste(c.book.At) {
		body.Waste = append(body.Waste, c.waste(level))
	}
	body.Silver = c.silverLog()
	for _, f := range slices.Backward(c.book.Failures()) {
		body.Failures = append(body.Failures, c.failure(f))
	}
	for _, work := range works() {
		group := kindGroup{Title: work.title}
		for _, k := range work.kinds {
			group.Kinds = append(group.Kinds, web.Link{Href: "/shelf/enter/" + slug(k.act.Kind()), Text: k.word})
		}
		body.Kinds = append(body.Kinds, group)
	}
	body.Recent = c.recordLines(cards.Newest(c.book.Records, listedRecords))
	p := s.shelfPage(r, web.Head{Name: "shelf", Title: "Shelf"})
	p.Title = "Shelf"
	s.Show(w, r, http.StatusOK, p.With(body))
}

// listedRecords is how many of the last entries the shelf lists.
const listedRecords = 12

// vessels are the containers that hold something, first those on the wet side, and the empty ones.
func (c stockPart) vessels() (held []shelfItem, empty []web.Link) {
	var stored []shelfItem
	for _, id := range c.book.Containers() {
		k, _ := c.book.Container(id)
		switch {
		case k.Vessel == ledger.WasteContainer:
		case k.Liquid == nil:
			empty = append(empty, web.Link{Href: shelfHref(id), Text: fmt.Sprintf("%s, %s", id, c.Volume(k.Capacity))})
		case k.Vessel.Working():
			held = append(held, c.item(id))
		default:
			stored = append(stored, c.item(id))
		}
	}
	return append(held, stored...), empty
}

func shelfHref(name string) string { return "/shelf/" + url.PathEscape(name) }

func (c stockPart) item(id string) shelfItem {
	held, _ := c.book.Contents(id, c.book.At)
	item := shelfItem{Name: id, Href: shelfHref(id), Content: c.contents(held), Answer: c.cards().Answer(id)}
	item.Acts = c.acts(id)
	item.Amount, item.What, item.Age = c.Volume(held.Volume), c.product(held.Product, c.Word(held.Class)), c.age(id)
	item.Mark = "bottle"
	if k, _ := c.book.Container(id); k.Vessel.Working() {
		item.Mark = "tray"
	}
	return item
}

// age draws the limit of which most is used up; nil where none runs.
func (c stockPart) age(id string) *ageBar {
	limit, share, known := c.book.MayPour(id, c.book.At).Furthest()
	if !known {
		return nil
	}
	bar := &ageBar{Width: int(math.Round(100 * min(share, 1))), Past: share >= 1}
	if !limit.Binds { // else the verdict beside it says so
		bar.Words = c.Text(limit.Words)
	}
	return bar
}

// contents says what a container holds: its name, its batches and how much.
func (c shelfContext) contents(held ledger.Contents) string {
	var origins []string
	for _, share := range held.Shares {
		origins = append(origins, share.Origin)
	}
	return fmt.Sprintf("%s of %s (%s)", c.Volume(held.Volume), c.product(held.Product, c.Word(held.Class)), strings.Join(origins, " + "))
}

// product is the name of a product as people know it, else its class, else what it is called in the book.
func (c shelfContext) product(id, class string) string {
	p, _ := c.book.Catalogue.Product(id)
	return cmp.Or(p.Name, class, id)
}

// vesselAct is an entry about what a container holds; first is set for the likeliest.
type vesselAct struct {
	kind, field, word string
	wanted, first     bool
}

func (a vesselAct) rank() int {
	if a.first {
		return 0
	}
	return 1
}

// acts are what can be done with a container that holds something, the likeliest first.
func (c stockPart) acts(id string) []web.Link {
	k, _ := c.book.Container(id)
	held, _ := c.book.Contents(id, c.book.At)
	verdict := c.book.MayPour(id, c.book.At).Verdict
	_, mixes := c.book.Stored([]ledger.Class{held.Class})
	concentrate := slices.Contains(mixes, id)
	var links []web.Link
	acts := []vesselAct{
		{kind: "batch-mixed", field: "from", word: "Mix", wanted: concentrate && verdict != ledger.Discard, first: verdict == ledger.Pour},
		{kind: "portion-poured", field: "from", word: "Pour", wanted: !k.Vessel.Working() && !concentrate && verdict != ledger.Discard,
			first: verdict == ledger.Pour},
		{kind: "returned", field: "from", word: "Return", wanted: k.Vessel.Working(), first: verdict == ledger.Pour && k.FilledFrom != ""},
		{kind: "test-done", field: "container", word: "Test", wanted: true, first: verdict == ledger.TestFirst},
		{kind: "topped-up", field: "container", word: "Top up", wanted: true},
		{kind: "discarded", field: "container", word: "Discard", wanted: true, first: verdict == ledger.Discard},
	}
	slices.SortStableFunc(acts, func(a, b vesselAct) int { return a.rank() - b.rank() })
	for _, a := range acts {
		if a.wanted {
			q := url.Values{a.field: {id}}
			switch a.kind {
			case "batch-mixed":
				q.Set("product", held.Product)
				q.Set("meant", string(ledger.FromConcentrate))
			case "returned":
				q.Set("to", k.FilledFrom)
			case "discarded":
				q = c.discards(id)
			}
			links = append(links, web.Link{Href: "/shelf/enter/" + a.kind + "?" + q.Encode(), Text: a.word})
		}
	}
	return links
}

// discards is a vessel that is emptied for good, as far as the book knows it: all that it holds, and why where a test says so.
func (c shelfContext) discards(id string) url.Values {
	held, _ := c.book.Contents(id, c.book.At)
	q := url.Values{"container": {id}, "volume_ml": {c.TypedVolume(held.Volume)}, "emptied": {"on"}}
	for _, result := range held.Tests {
		if !result.Passed && c.book.MayPour(id, c.book.At).Verdict == ledger.Discard {
			q.Set("reason", "it failed its test")
		}
	}
	return q
}

func (c shelfContext) waste(level ledger.WasteLevel) wasteLine {
	percent := int(math.Round(100 * level.Fraction))
	line := wasteLine{Name: level.Container, Stream: c.Word(level.Stream), Call: level.CallNow,
		Level: c.Text(phrase.Say("%s of %s, %d %%", level.Volume.Litres(100), level.Capacity.Litres(100), percent))}
	if strings.Contains(strings.ToLower(line.Name), line.Stream) {
		line.Stream = "" // the name says it
	}
	if !level.FirstDrop.IsZero() {
		line.First = fmt.Sprintf("First drop %s.", c.Brief(level.FirstDrop))
	}
	if !level.ThreeQuart.IsZero() {
		line.Act = fmt.Sprintf("Three quarters full about %s.", c.Date(level.ThreeQuart))
	}
	q := url.Values{"container": {level.Container}}.Encode()
	line.Acts = []web.Link{{Href: "/shelf/enter/waste-added?" + q, Text: "Add waste"},
		{Href: "/shelf/enter/waste-collected?" + q, Text: "Record collection"}}
	if level.Volume > 0 {
		line.Silver = c.silverIn(level)
		line.Acts = append(line.Acts, c.enterSilver(level.Container))
	}
	return line
}

func (c stockPart) failure(f ledger.Failure) failureLine {
	line := failureLine{Href: "/shelf/entry/" + web.Plain(float64(f.Entry)),
		Text: fmt.Sprintf("The %s test of %s failed, %s.", c.Word(f.Test), cmp.Or(f.Container, "finished prints"), c.Brief(f.At))}
	if a, err := c.book.Affected(f.Entry); err == nil {
		line.Tell = strings.Join(a.Tell, ", ")
	}
	return line
}

func (c stockPart) recordLines(records []cards.ShelfRecord) []recordLine {
	corrected := map[uint64]bool{}
	for _, r := range c.book.Records {
		if of, ok := r.Act.(ledger.Correction); ok {
			corrected[of.Of] = true
		}
	}
	lines := make([]recordLine, 0, len(records))
	for _, r := range records {
		lines = append(lines, recordLine{Number: r.Number, Href: "/shelf/entry/" + web.Plain(float64(r.Number)), When: c.Brief(r.At), By: r.By,
			Text: c.Text(r.Act.Sentence()), Note: r.Reason, Late: r.Late(), Corrected: corrected[r.Number]})
	}
	return lines
}
