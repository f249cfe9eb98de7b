package agreement_test

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// shelf enters an act on the shelf by the form of its kind. Once the clock was set the book may
// refuse it, since a bath may have been mixed at a time to come.
func (e *evening) shelf(kind string, typed entry) {
	path := "/shelf/enter/" + kind
	problem := e.tries(path, entry{"action": path}, typed)
	require.True(e, problem == "" || len(e.stepped) > 0, "%s: %v: %s", path, typed, problem)
}

// mixesFixers brings two fresh fixing baths of two litres into their trays.
func (e *evening) mixesFixers() {
	e.shelf("lot-received", entry{"product": "two-bath-fixer", "units": "1", "unit_ml": "1000 mL", "lot": e.mark + "FX lot"})
	e.shelf("lot-opened", entry{"lot": e.mark + "FX lot", "container": e.mark + "FX bottle"})
	for i, tray := range e.fixers() {
		e.shelf("batch-mixed", entry{"product": "two-bath-fixer", "meant": "concentrate", "from": e.mark + "FX bottle", "aim": "1+4",
			"parent_ml": "400 mL", "water_ml": "1600 mL", "into": tray, "batch": fmt.Sprintf("%sFX-%d", e.mark, i+1), "name": "Fixer"})
	}
	e.mixed = e.clock.Now().Wall
}

// fixes enters sheets that went through both fixing baths.
func (e *evening) fixes(sheets int) { e.shelf("sheets-used", e.fixed(sheets)) }

// fixesLate enters sheets that went through earlier.
func (e *evening) fixesLate(sheets int, at time.Time) {
	late := e.fixed(sheets)
	late["happened"], late["because"] = at.Format("2006-01-02T15:04"), "noted on paper (invented)"
	e.shelf("sheets-used", late)
}

func (e *evening) fixed(sheets int) entry {
	return entry{"containers": strings.Join(e.fixers(), "|"), "count": strconv.Itoa(sheets), "sheet_m2": "8x10in",
		"material": string(ledger.ResinCoated)}
}

// session is the open session of the room, or else one of another room.
func (e *evening) session() (id string) {
	b := e.daemon.Shelf().Book()
	for _, r := range b.Records {
		opened, is := r.Act.(ledger.SessionOpened)
		if known, _ := b.Session(opened.Session); is && known.Closed.IsZero() && (id == "" || r.Room == e.id) {
			id = opened.Session
		}
	}
	return id
}

// sheets is the newest entry of sheets that is not corrected; false without one.
func (e *evening) sheets() (number uint64, found bool) {
	b := e.daemon.Shelf().Book()
	corrected := map[uint64]bool{}
	for _, r := range slices.Backward(b.Records) {
		switch act := r.Act.(type) {
		case ledger.Correction:
			corrected[act.Of] = true
		case ledger.SheetsUsed:
			if !corrected[r.Number] && !found {
				number, found = r.Number, true
			}
		}
	}
	return number, found
}

// correctsSheets corrects how many sheets went through. The book may refuse that: their baths
// may have been poured away since.
func (e *evening) correctsSheets(count int) {
	if number, found := e.sheets(); found {
		e.tries(fmt.Sprintf("/shelf/enter/sheets-used?corrects=%d", number), entry{"action": "/shelf/enter/sheets-used"},
			entry{"count": strconv.Itoa(count), "because": "counted again (invented)"})
	}
}

// withdrawsSheets takes the newest entry of sheets back.
func (e *evening) withdrawsSheets() {
	if number, found := e.sheets(); found {
		e.tries(fmt.Sprintf("/shelf/entry/%d", number), entry{"because": ""}, entry{"because": "of another evening (invented)"})
	}
}

// emptiesLate enters that a bath was poured away two minutes ago. The book may refuse that.
func (e *evening) emptiesLate(bath string) {
	p := e.bath(bath).Portion
	if p == nil || !e.mixed.IsZero() && bath != "developer" {
		return
	}
	path := "/shelf/enter/discarded"
	e.tries(path, entry{"action": path}, entry{"container": e.tray(bath), "volume_ml": fmt.Sprintf("%.0f mL", float64(p.Volume)),
		"emptied": "on",
		"reason":  "end of the session", "route": "collected (invented)", "because": "noted on paper (invented)",
		"happened": e.clock.Now().Wall.Add(-2 * time.Minute).Format("2006-01-02T15:04")})
}

// held lists the containers of the shelf that hold something to be poured, with the book's answer to each.
func (e *evening) held() answers[string] {
	out := answers[string]{}
	b := e.daemon.Shelf().Book()
	for _, id := range b.Containers() {
		if _, holds := b.Contents(id, b.At); holds {
			out[id] = string(b.MayPour(id, b.At).Verdict)
		}
	}
	return out
}

// tray is the tray of a bath of the room, as the shelf calls it.
func (e *evening) tray(bath string) string {
	tray := map[string]string{"developer": e.mark + "developer tray", "fixer-1": "First fixer tray", "fixer-2": "Second fixer tray"}[bath]
	return tray + e.called
}

func (e *evening) fixers() []string { return []string{e.tray("fixer-1"), e.tray("fixer-2")} }

// mayPour asks of every container whether its content may be used.
func mayPour() question[string] {
	word := func(n *element) string {
		if n == nil {
			return "nothing"
		}
		switch said := strings.ToLower(n.words()); said {
		case "in use": // in a tray: it is poured already
			return string(ledger.Pour)
		case "tested", "test again", "not known": // to be tested first, with a word on how its last test stands
			return string(ledger.TestFirst)
		default:
			return said
		}
	}
	return question[string]{asks: "may a bath be poured", same: equal[string], readers: []reader[string]{
		{name: "the book of the shelf", read: func(e *evening) answers[string] { return e.held() }},
		{name: "the passport", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for id := range e.held() {
				out[id] = word(e.page("/shelf/" + url.PathEscape(id)).classed("answer").classed("answer-word"))
			}
			return out
		}},
		{name: "/api/now", partial: true, read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, b := range e.api().Baths {
				if tray := e.tray(strings.TrimPrefix(b.ID, e.mark)); b.Content != nil && b.Content.Verdict != nil {
					out[tray] = *b.Content.Verdict
				}
			}
			return out
		}},
		{name: "/metrics", partial: true, read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, verdict := range []ledger.Verdict{ledger.Pour, ledger.TestFirst, ledger.Discard} {
				for _, bath := range baths() {
					if e.metricOf("bath_verdict", e.mark+bath, string(verdict)) == 1 {
						out[e.tray(bath)] += string(verdict)
					}
				}
			}
			return out
		}},
		{name: "Chemicals", read: func(e *evening) answers[string] {
			out := answers[string]{}
			held := e.page("/shelf").classed("vessels").first("tbody")
			if held == nil {
				return out // nothing is in any vessel
			}
			for _, row := range held.inner {
				if answer := row.classed("answer-word"); answer != nil {
					out[row.first("a").words()] = word(answer)
				}
			}
			return out
		}},
	}}
}

// inTrays asks which batch is in each tray.
func inTrays() question[string] {
	return question[string]{asks: "batch in a tray", same: equal[string], readers: []reader[string]{
		{name: "the book of the shelf", read: func(e *evening) answers[string] {
			return e.filled(func(_ *cards.ShelfBook, c ledger.Contents) string {
				var batches []string
				for _, share := range c.Shares {
					batches = append(batches, share.Origin)
				}
				return strings.Join(batches, " with ")
			})
		}},
		{name: "the board", read: func(e *evening) answers[string] { return batches(e.snapshot()) }},
		{name: "/api/now", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, b := range e.api().Baths {
				if b.Content != nil {
					out[b.ID] = b.Content.Batch
				}
			}
			return out
		}},
	}}
}

// batches are those that the board shows, by bath.
func batches(s *rules.Snapshot) answers[string] {
	out := answers[string]{}
	for _, b := range s.Baths {
		if b.Portion != nil {
			out[b.Bath.ID] = b.Portion.Batch
		}
	}
	return out
}

// filled asks the book of every tray that holds something, by bath.
func (e *evening) filled(what func(*cards.ShelfBook, ledger.Contents) string) answers[string] {
	out := answers[string]{}
	b := e.daemon.Shelf().Book()
	for _, bath := range baths() {
		if c, holds := b.Contents(e.tray(bath), b.At); holds {
			out[e.mark+bath] = what(b, c)
		}
	}
	return out
}

// sheetsThrough asks how many sheets of 8 x 10 in went through each bath that is in a tray.
func sheetsThrough() question[string] {
	return question[string]{asks: "sheets through a bath", same: equal[string], readers: []reader[string]{
		{name: "the entries of the book, gone through again", read: func(e *evening) answers[string] {
			return e.filled(func(b *cards.ShelfBook, c ledger.Contents) string {
				again, sheets := ledger.New(ledger.Settings{Catalogue: b.Catalogue}), quantity.SquareMetre(0)
				entries := make([]ledger.Entry, len(b.Records))
				for i, r := range b.Records {
					entries[i] = r.Entry
				}
				require.NoError(e, again.Replay(entries))
				for _, u := range again.Uses() {
					if k, _ := again.Container(c.Container); u.Container == c.Container && !u.At.Before(k.Filled.At) {
						sheets += u.Area
					}
				}
				return ledger.SheetsOf(sheets).String()
			})
		}},
		{name: "the board", partial: true, read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, b := range e.snapshot().Baths {
				if b.Portion != nil && b.Portion.Known != nil && !b.Portion.Known.Use.Words.IsZero() {
					out[b.Bath.ID] = b.Portion.Known.Use.Words.String()
				}
			}
			return out
		}},
	}}
}

// fixersSpent asks which of two fixing baths is at its end after so many sheets in two litres
// each, while the second has moved up so often.
func fixersSpent(sheets, movedUp int) question[string] {
	spent := func(yes bool) string {
		if yes {
			return "at its end"
		}
		return "goes on"
	}
	return question[string]{asks: fmt.Sprintf("two fixing baths after %d sheets", sheets), same: equal[string], readers: []reader[string]{
		{name: "the calculator", read: func(e *evening) answers[string] {
			page := e.page("/mix?do=two-bath&size=8x10in&make=2+L&count=" + strconv.Itoa(sheets))
			if page.classed("answer-stopped") != nil {
				return answers[string]{e.tray("fixer-1"): spent(true), e.tray("fixer-2"): spent(true)}
			}
			numeral := page.classed("numeral")
			require.NotNil(e, numeral, page.words())
			due, err := strconv.Atoi(numeral.first("strong").words())
			require.NoError(e, err)
			return answers[string]{e.tray("fixer-1"): spent(due > movedUp), e.tray("fixer-2"): spent(false)}
		}},
		{name: "the passport", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, id := range e.fixers() {
				out[id] = spent(e.page("/shelf/"+url.PathEscape(id)).classed("answer").classed("answer-stopped") != nil)
			}
			return out
		}},
	}}
}
