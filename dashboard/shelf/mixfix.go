package shelf

import (
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// fixCalculators are the questions of fixing and washing.
func fixCalculators() []calculator {
	return []calculator{
		{do: "two-bath", word: "mix.two-bath", lead: said{word: "mix.two-bath-lead"}, work: (*mixReader).twoBath, fields: []field{
			{name: "product", kind: choiceField, word: "shelf.product", from: fromProducts},
			{name: "material", kind: choiceField, word: "shelf.material", from: fromMaterial},
			{name: "count", kind: wholeField, word: "shelf.count", needed: true},
			{name: "size", kind: choiceField, word: "shelf.size", needed: true, from: fromSizes},
			{name: "make", kind: volumeField, word: "mix.each-bath", needed: true}}},
		{do: "residue", word: "mix.residue", lead: said{word: "mix.residue-lead"}, work: (*mixReader).residue, fields: []field{
			{name: "residue", kind: textField, word: "mix.thiosulfate", needed: true},
			{name: "days", kind: textField, word: "mix.days-after", needed: true}}},
	}
}

// twoBath says how often the second bath must have moved up by now.
func (m *mixReader) twoBath(out *calc) {
	sheets, area, volume := m.count("count", "shelf.count"), m.size("size", m.values.Get("size")), m.millilitres("make", "mix.each-bath")
	if m.problem != nil {
		return
	}
	capacity, ok := m.firstOfTwo()
	if !ok {
		m.fail("product", "mix.no-capacity")
		return
	}
	step, ok := capacity.TwoBaths(area*quantity.SquareMetre(sheets), volume)
	switch {
	case !ok:
		m.fail("make", "mix.more-than-nothing")
		return
	case step.Discard:
		out.Verdict = &verdictLine{m.Words.Say("verdict.discard"), "stopped"}
		out.Words = []string{m.Words.Say("mix.two-bath-end", m.Text(capacity.Words()), m.Sourced(capacity.Source, capacity.Standing))}
		return
	}
	out.Big = []cards.Numeral{{Value: web.Plain(float64(step.Rotations)), Label: m.Words.Say("mix.moved-up")}}
	out.Words = []string{m.Words.Say("mix.two-bath-rule", m.Text(capacity.Words()), m.Sourced(capacity.Source, capacity.Standing))}
}

// firstOfTwo is the capacity of the first of two baths: of the product that is named, or the published one.
func (m *mixReader) firstOfTwo() (ledger.Capacity, bool) {
	id := m.values.Get("product")
	if id == "" {
		return ledger.PublishedTwoBath(), true
	}
	p, _ := m.book.Catalogue.Product(id)
	if p.Class != ledger.Fixer {
		return ledger.Capacity{}, false
	}
	return p.FirstOfTwo(ledger.Material(m.values.Get("material")))
}

// residue sets a laboratory's figure for thiosulfate against the published limit.
func (m *mixReader) residue(out *calc) {
	figure, err := quantity.Number(strings.TrimSpace(m.values.Get("residue")))
	m.refuse("residue", err)
	days, err := quantity.Number(strings.TrimSpace(m.values.Get("days")))
	if m.refuse("days", err) || m.problem != nil {
		return
	}
	if figure < 0 || days < 0 {
		m.fail("residue", "mix.residue-negative")
		return
	}
	within, valid := ledger.JudgeThiosulfate(ledger.MicrogramPerSquareCentimetre(figure), days)
	out.Words = []string{m.Words.Say("mix.residue-rule")}
	switch {
	case !valid:
		out.Verdict = &verdictLine{m.Words.Say("mix.residue-late"), "low"}
	case within:
		out.Verdict = &verdictLine{m.Words.Say("mix.residue-within"), "moving"}
	default:
		out.Verdict = &verdictLine{m.Words.Say("mix.residue-over"), "stopped"}
	}
}
