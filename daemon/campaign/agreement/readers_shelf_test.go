package agreement_test

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
)

const (
	firstFixer  = "First fixer tray"
	secondFixer = "Second fixer tray"
)

// shelf enters an act on the shelf by the form of its kind.
func (e *evening) shelf(kind string, typed entry) {
	path := "/shelf/enter/" + kind
	e.enters(path, entry{"action": path}, typed)
}

// mixesFixers brings two fresh fixing baths of two litres into their trays.
func (e *evening) mixesFixers() {
	e.shelf("lot-received", entry{"product": "two-bath-fixer", "units": "1", "unit_ml": "1000 mL", "lot": "FX lot"})
	e.shelf("lot-opened", entry{"lot": "FX lot", "container": "FX bottle"})
	for i, tray := range []string{firstFixer, secondFixer} {
		e.shelf("batch-mixed", entry{"product": "two-bath-fixer", "meant": "concentrate", "from": "FX bottle", "aim": "1+4",
			"parent_ml": "400 mL", "water_ml": "1600 mL", "into": tray, "batch": fmt.Sprintf("FX-%d", i+1), "name": "Fixer"})
	}
	e.mixed = e.clock.Now().Wall
}

// fixes enters sheets that went through both fixing baths.
func (e *evening) fixes(sheets int) { e.shelf("sheets-used", fixed(sheets)) }

// fixesLate enters sheets that went through earlier.
func (e *evening) fixesLate(sheets int, at time.Time) {
	late := fixed(sheets)
	late["happened"], late["because"] = at.Format("2006-01-02T15:04"), "noted on paper (invented)"
	e.shelf("sheets-used", late)
}

func fixed(sheets int) entry {
	return entry{"containers": firstFixer + "|" + secondFixer, "count": strconv.Itoa(sheets), "sheet_m2": "8x10in",
		"material": string(ledger.ResinCoated)}
}

// held lists the containers of the shelf that hold something to be poured, with the book's answer to each.
func (e *evening) held() answers[string] {
	out := answers[string]{}
	e.daemon.Shelf().Look(func(b *cards.ShelfBook) {
		for _, id := range b.Containers() {
			if _, holds := b.Contents(id, b.At); holds {
				out[id] = string(b.MayPour(id, b.At).Verdict)
			}
		}
	})
	return out
}

// trayOf is the tray of each bath, as the shelf calls it.
func trayOf() map[string]string {
	return map[string]string{"developer": "developer tray", "fixer-1": firstFixer, "fixer-2": secondFixer}
}

// mayPour asks of every container whether its content may be used.
func mayPour() question[string] {
	word := func(n *element) string {
		if n == nil {
			return "nothing"
		}
		return strings.ToLower(n.words())
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
				if tray := trayOf()[b.ID]; b.Content != nil && b.Content.Verdict != nil {
					out[tray] = *b.Content.Verdict
				}
			}
			return out
		}},
		{name: "/metrics", partial: true, read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, verdict := range []ledger.Verdict{ledger.Pour, ledger.TestFirst, ledger.Discard} {
				for bath, tray := range trayOf() {
					if e.metricOf("bath_verdict", bath, string(verdict)) == 1 {
						out[tray] += string(verdict)
					}
				}
			}
			return out
		}},
		{name: "Chemicals", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, card := range e.page("/shelf").all("class") {
				if answer := card.classed("answer"); card.attrs["class"] == "card" && answer != nil {
					out[card.first("h3").words()] = word(answer.classed("answer-word"))
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
				return answers[string]{firstFixer: spent(true), secondFixer: spent(true)}
			}
			numeral := page.classed("numeral")
			require.NotNil(e, numeral, page.words())
			due, err := strconv.Atoi(numeral.first("strong").words())
			require.NoError(e, err)
			return answers[string]{firstFixer: spent(due > movedUp), secondFixer: spent(false)}
		}},
		{name: "the passport", read: func(e *evening) answers[string] {
			out := answers[string]{}
			for _, id := range []string{firstFixer, secondFixer} {
				out[id] = spent(e.page("/shelf/"+url.PathEscape(id)).classed("answer").classed("answer-stopped") != nil)
			}
			return out
		}},
	}}
}
