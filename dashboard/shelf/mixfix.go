package shelf

import (
	"fmt"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// fixCalculators are the questions of fixing and washing.
func fixCalculators() []calculator {
	return []calculator{
		{do: "two-bath", word: "Two fixing baths",
			lead: "How many times the second bath should have moved up since both were fresh. A test of the first bath counts more.",
			work: (*mixReader).twoBath, fields: []field{
				{name: "product", kind: choiceField, word: "Product", from: fromProducts},
				{name: "material", kind: choiceField, word: "Material", from: fromMaterial},
				{name: "count", kind: wholeField, word: "How many", needed: true},
				{name: "size", kind: choiceField, word: "Size", needed: true, from: fromSizes},
				{name: "make", kind: volumeField, word: "Volume of each bath", needed: true}}},
		{do: "residue", word: "Fixer left after washing",
			lead: "A laboratory's figure for thiosulfate, against the limit for microfilm meant to be kept. Two coated sides give about double.",
			work: (*mixReader).residue, fields: []field{
				{name: "residue", kind: textField, word: "Thiosulfate, µg/cm²", needed: true},
				{name: "days", kind: textField, word: "Days from processing to the test", needed: true}}},
	}
}

// twoBath says how often the second bath must have moved up by now.
func (m *mixReader) twoBath(out *calc) {
	sheets, area, volume := m.count("count"), m.size("size", m.values.Get("size")), m.millilitres("make")
	if m.form.Problem != nil {
		return
	}
	capacity, ok := m.firstOfTwo()
	if !ok {
		m.form.Fail("product", "No capacity is known for this product and material. Add it to the catalogue with its source.")
		return
	}
	step, ok := capacity.TwoBaths(area*quantity.SquareMetre(sheets), volume)
	switch {
	case !ok:
		m.form.Fail("make", "Write a volume above zero.")
		return
	case step.Discard:
		out.Verdict = &verdictLine{"DISCARD", "stopped"}
		out.Words = []string{fmt.Sprintf("The second bath has moved up four times, each time after %s, and the first bath is spent again: "+
			"discard both as silver-bearing waste and make both fresh. %s.", m.Text(capacity.Words()),
			m.Sourced(capacity.Source, capacity.Standing))}
		return
	}
	out.Big = []cards.Numeral{{Value: web.Plain(float64(step.Rotations)), Label: "times moved up by now"}}
	out.Words = []string{fmt.Sprintf("After each %s the first bath is discarded, the second moves up, and a fresh second is made; after "+
		"four rotations both are discarded. %s. The Darkroom Cookbook, 3rd ed., p. 107, discards both after the third rotation. Record the "+
		"rotation on the shelf: the history moves with the liquid.", m.Text(capacity.Words()), m.Sourced(capacity.Source, capacity.Standing))}
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
	figure, days := m.number("residue"), m.number("days")
	if m.form.Problem != nil {
		return
	}
	if figure < 0 || days < 0 {
		m.form.Fail("residue", "A residue and its days are zero or more: check the sign.")
		return
	}
	within, valid := ledger.JudgeThiosulfate(ledger.MicrogramPerSquareCentimetre(figure), days)
	out.Words = []string{"Limit 1.4 µg/cm², that is 0.014 g/m², tested within 14 days [a laboratory page that cites ISO 18917:1999; " +
		"secondary]."}
	switch {
	case !valid:
		out.Verdict = &verdictLine{"NO VERDICT: tested too late", "low"}
	case within:
		out.Verdict = &verdictLine{"WITHIN THE LIMIT", "moving"}
	default:
		out.Verdict = &verdictLine{"OVER THE LIMIT: wash again", "stopped"}
	}
}
