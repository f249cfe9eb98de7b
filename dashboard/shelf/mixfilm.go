package shelf

import (
	"fmt"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/sensors/quantity"
)

// filmCalculators are the questions of a developer that is used again, and of the silver in a fixer.
func filmCalculators() []calculator {
	return []calculator{
		{do: "reuse", word: "Film after film in one developer",
			lead: "The time grows with each film. Take the figures from your developer's data sheet; otherwise they are common practice.",
			work: (*mixReader).reuse, fields: []field{
				{name: "first", kind: textField, word: "Time of the first film", needed: true},
				{name: "added", kind: textField, word: "Increase, in %", hint: "of the first time, at each step", needed: true},
				{name: "every", kind: wholeField, word: "Increase after this many films", needed: true},
				{name: "most", kind: wholeField, word: "Films this volume can develop", needed: true},
				{name: "nth", kind: wholeField, word: "This film is number", needed: true},
				{name: "source", kind: textField, word: "Source of the figures", needed: true}}},
		{do: "replenish", word: "Replenish a film developer",
			lead: "A roll is 80 square inches: one 36-frame roll, one 120, four sheets 4x5 or one 8x10.", work: (*mixReader).replenish,
			fields: []field{
				{name: "rate", kind: volumeField, word: "Replenisher per roll", needed: true},
				{name: "rolls", kind: textField, word: "Rolls since the last replenishment", needed: true},
				{name: "source", kind: textField, word: "Source of the figures", needed: true},
				{name: "tank", kind: volumeField, word: "Tank volume, if the tank was idle", hint: "leave empty if the tank was not idle"},
				{name: "days", kind: textField, word: "Idle days"},
				{name: "share", kind: textField, word: "Share for 2 idle days, in %", hint: "3 in one army course, for a colour process"}}},
		{do: "machine", word: "Replenish a machine",
			lead: "A roller or cine machine gets replenisher as long as film runs: the faster, the more.", work: (*mixReader).machine,
			fields: []field{
				{name: "path", kind: textField, word: "Film path in the developer", hint: "length of the path, such as 84 ft or 25.6 m", needed: true},
				{name: "dwell", kind: textField, word: "Time in the developer", hint: "such as 1:10 or 70s", needed: true},
				{name: "rate", kind: volumeField, word: "Replenisher", needed: true},
				{name: "each", kind: textField, word: "Per length of film", hint: "such as 1 ft or 1 m", needed: true},
				{name: "source", kind: textField, word: "Source of the figures", needed: true}}},
		{do: "silver", word: "Silver in the fixer",
			lead: "An estimate: enter coating weight and dissolved share yourself, they are not constants. Write a figure, or a range such as " +
				"0.5-1.6.", work: (*mixReader).silver, fields: []field{
				{name: "count", kind: wholeField, word: "How many", needed: true},
				{name: "size", kind: choiceField, word: "Size", needed: true, from: fromSizes},
				{name: "make", kind: volumeField, word: "Volume of the fixer", needed: true},
				{name: "coating", kind: textField, word: "Silver on the material, g/m²",
					hint: "forum posts say 0.5 to 1.6 for paper, some 3.2; film often more (unverified)", needed: true},
				{name: "dissolved", kind: textField, word: "Share the fixer dissolves, in %", hint: "half to 80, from memory; depends on the picture",
					needed: true}}},
	}
}

func (m *mixReader) share(name string) float64 {
	n, err := quantity.Number(strings.TrimSpace(strings.TrimSuffix(m.raw(name), "%")))
	m.refuse(name, err)
	return n
}

func (m *mixReader) reuse(out *calc) {
	first, ok := m.duration(out, "first")
	if !ok {
		return
	}
	rule := chem.Reuse{Added: m.share("added") / 100, Every: m.count("every"), Most: m.count("most"),
		Source: m.raw("source")}
	nth := m.count("nth")
	if m.form.Problem != nil {
		return
	}
	factor, err := rule.Factor(nth)
	switch {
	case chem.IsRefusal(err):
		out.Verdict, out.Words = &verdictLine{"DISCARD", "stopped"}, []string{m.ErrorText(err)}
		return
	case m.refuse("nth", err):
		return
	}
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(time.Duration(float64(first) * factor).Round(time.Second)), Label: "Develop"}}
	out.Words = []string{fmt.Sprintf("Film %d of %d: %s %% longer than the first (%s).", nth, rule.Most, m.Number(100*(factor-1), 0),
		rule.Source)}
}

func (m *mixReader) replenish(out *calc) {
	rolls := m.number("rolls")
	rule := chem.Replenisher{PerRoll: m.millilitres("rate"), Source: m.raw("source")}
	if m.form.Problem != nil {
		return
	}
	what, err := rule.After(quantity.SquareMetre(rolls) * chem.FilmRoll().Area)
	if m.refuse("rolls", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral("Add replenisher", what.Add)}
	out.Words = append(m.sentences(what.Steps), fmt.Sprintf("[%s]", rule.Source))
	if strings.TrimSpace(m.values.Get("days")+m.values.Get("tank")+m.values.Get("share")) != "" {
		m.idle(out)
	}
}

// idleDays is for how many days without use an idle share is stated.
const idleDays = 2

func (m *mixReader) idle(out *calc) {
	tank, share, days := m.millilitres("tank"), m.share("share"), m.number("days")
	if m.form.Problem != nil {
		return
	}
	add, err := chem.Idle{Share: quantity.Percent(share), Days: idleDays}.Add(tank, days)
	if m.refuse("days", err) {
		return
	}
	out.Big = append(out.Big, m.numeral("For the idle days", add))
	out.Words = append(out.Words, "[US Army course SS0514: 3 % for 2 idle days, a colour process; verified]")
}

// machine is the rate at which a machine must be replenished while film runs.
func (m *mixReader) machine(out *calc) {
	path, each := m.length("path"), m.length("each")
	dwell, ok := m.duration(out, "dwell")
	rate := m.millilitres("rate")
	if m.form.Problem != nil || !ok {
		return
	}
	perMinute, err := chem.Machine{Path: path, Dwell: dwell, PerMetre: rate / quantity.Millilitre(each)}.PerMinute()
	if m.refuse("path", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral("Replenisher per minute", perMinute)}
	out.Words = []string{"Only while film runs. Rate from path and time: [Kodak D-32, path in feet by seconds by 60; verified].",
		fmt.Sprintf("[%s]", m.raw("source"))}
}

// length reads a length of film, more than nothing.
func (m *mixReader) length(name string) quantity.Metre {
	v, _, err := quantity.Parse(quantity.Length, m.values.Get(name))
	if !m.refuse(name, err) && v <= 0 {
		m.form.Fail(name, "The length must be above zero: write it with its unit, such as 84 ft or 25.6 m.")
	}
	return quantity.Metre(v)
}

// span reads a figure, or a range of it such as 0.5-1.6.
func (m *mixReader) span(name string) (low, high float64) {
	first, second, isRange := strings.Cut(strings.NewReplacer("–", "-", "to", "-", "%", "").Replace(m.values.Get(name)), "-")
	low, err := quantity.Number(strings.TrimSpace(first))
	m.refuse(name, err)
	if !isRange {
		return low, low
	}
	high, err = quantity.Number(strings.TrimSpace(second))
	m.refuse(name, err)
	return min(low, high), max(low, high)
}

// The limits of silver in a fixing bath (darkside.photography, archival processing: a secondary source).
const (
	singleBathSilver quantity.GramPerLitre = 0.5
	firstBathSilver  quantity.GramPerLitre = 2
)

func (m *mixReader) silver(out *calc) {
	sheets, area := m.count("count"), m.size("size", m.values.Get("size"))
	volume := m.millilitres("make")
	coatingLow, coatingHigh := m.span("coating")
	dissolvedLow, dissolvedHigh := m.span("dissolved")
	if m.form.Problem != nil {
		return
	}
	area *= quantity.SquareMetre(sheets)
	low, okLow := ledger.SilverInputs{Coating: quantity.GramPerSquareMetre(coatingLow), Dissolved: dissolvedLow / 100}.SilverLoad(area, volume)
	high, okHigh := ledger.SilverInputs{Coating: quantity.GramPerSquareMetre(coatingHigh), Dissolved: dissolvedHigh / 100}.SilverLoad(area,
		volume)
	if !okLow || !okHigh {
		m.form.Fail("dissolved", "The share is between 0 and 100 %%, and nothing is less than zero.")
		return
	}
	text := m.Number(float64(low), 2)
	if high > low {
		text = fmt.Sprintf("%s to %s", text, m.Number(float64(high), 2))
	}
	out.Big = []cards.Numeral{{Value: text, Unit: "g/L", Label: "Silver"}}
	out.Words = []string{fmt.Sprintf("Single bath for keeping: under %s g/L; first of two baths: under %s g/L [darkside.photography, "+
		"archival processing; secondary].", m.Plain(float64(singleBathSilver)), m.Plain(float64(firstBathSilver))),
		"A test of the bath counts more than this estimate."}
	out.Verdict = &verdictLine{"UNDER BOTH", "moving"}
	switch {
	case high >= firstBathSilver:
		out.Verdict = &verdictLine{"USED UP", "stopped"}
	case high >= singleBathSilver:
		out.Verdict = &verdictLine{fmt.Sprintf("NOT AS A SINGLE BATH: %s g/L reached", m.Plain(float64(singleBathSilver))), "low"}
	}
}
