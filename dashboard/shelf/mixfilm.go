package shelf

import (
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
		{do: "reuse", word: "mix.reuse", lead: said{word: "mix.reuse-lead"}, work: (*mixReader).reuse, fields: []field{
			{name: "first", kind: textField, word: "mix.first-time", needed: true},
			{name: "added", kind: textField, word: "mix.added", hint: said{word: "mix.added-hint"}, needed: true},
			{name: "every", kind: wholeField, word: "mix.every", needed: true},
			{name: "most", kind: wholeField, word: "mix.most", needed: true},
			{name: "nth", kind: wholeField, word: "mix.nth", needed: true},
			{name: "source", kind: textField, word: "mix.figure-source", needed: true}}},
		{do: "replenish", word: "mix.replenish", lead: said{word: "mix.replenish-lead"}, work: (*mixReader).replenish, fields: []field{
			{name: "rate", kind: volumeField, word: "mix.rate", needed: true},
			{name: "rolls", kind: textField, word: "mix.rolls", needed: true},
			{name: "source", kind: textField, word: "mix.figure-source", needed: true},
			{name: "tank", kind: volumeField, word: "mix.tank", hint: said{word: "mix.tank-hint"}},
			{name: "days", kind: textField, word: "mix.days"},
			{name: "share", kind: textField, word: "mix.idle-share", hint: said{word: "mix.idle-share-hint"}}}},
		{do: "machine", word: "mix.machine", lead: said{word: "mix.machine-lead"}, work: (*mixReader).machine, fields: []field{
			{name: "path", kind: textField, word: "mix.path", hint: said{word: "mix.path-hint"}, needed: true},
			{name: "dwell", kind: textField, word: "mix.dwell", hint: said{word: "mix.dwell-hint"}, needed: true},
			{name: "rate", kind: volumeField, word: "mix.machine-rate", needed: true},
			{name: "each", kind: textField, word: "mix.each", hint: said{word: "mix.each-hint"}, needed: true},
			{name: "source", kind: textField, word: "mix.figure-source", needed: true}}},
		{do: "silver", word: "mix.silver", lead: said{word: "mix.silver-lead"}, work: (*mixReader).silver, fields: []field{
			{name: "count", kind: wholeField, word: "shelf.count", needed: true},
			{name: "size", kind: choiceField, word: "shelf.size", needed: true, from: fromSizes},
			{name: "make", kind: volumeField, word: "mix.fixer-volume", needed: true},
			{name: "coating", kind: textField, word: "mix.coating", hint: said{word: "mix.coating-hint"}, needed: true},
			{name: "dissolved", kind: textField, word: "mix.dissolved", hint: said{word: "mix.dissolved-hint"}, needed: true}}},
	}
}

// share reads a number of per cent.
func (m *mixReader) share(name string) float64 {
	n, err := quantity.Number(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(m.values.Get(name)), "%")))
	m.refuse(name, err)
	return n
}

func (m *mixReader) reuse(out *calc) {
	first, ok := m.duration(out, "first")
	if !ok {
		return
	}
	rule := chem.Reuse{Added: m.share("added") / 100, Every: m.count("every", "mix.every"), Most: m.count("most", "mix.most"),
		Source: strings.TrimSpace(m.values.Get("source"))}
	nth := m.count("nth", "mix.nth")
	if m.problem != nil {
		return
	}
	factor, err := rule.Factor(nth)
	switch {
	case chem.IsRefusal(err):
		out.Verdict, out.Words = &verdictLine{m.Words.Say("verdict.discard"), "stopped"}, []string{m.ErrorText(err)}
		return
	case m.refuse("nth", err):
		return
	}
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(longer(first, factor)), Label: m.Words.Say("mix.develop")}}
	out.Words = []string{m.Words.Say("mix.reuse-is", nth, rule.Most, m.Number(100*(factor-1), 0), rule.Source)}
}

// longer is a time that has grown by a factor.
func longer(t time.Duration, factor float64) time.Duration {
	return time.Duration(float64(t) * factor).Round(time.Second)
}

func (m *mixReader) replenish(out *calc) {
	rolls, err := quantity.Number(strings.TrimSpace(m.values.Get("rolls")))
	m.refuse("rolls", err)
	rule := chem.Replenisher{PerRoll: m.millilitres("rate", "mix.rate"), Source: strings.TrimSpace(m.values.Get("source"))}
	if m.problem != nil {
		return
	}
	what, err := rule.After(quantity.SquareMetre(rolls) * chem.FilmRoll().Area)
	if m.refuse("rolls", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.replenisher"), what.Add)}
	out.Words = append(m.sentences(what.Steps), m.Words.Say("shelf.source-only", rule.Source))
	if strings.TrimSpace(m.values.Get("days")+m.values.Get("tank")+m.values.Get("share")) != "" {
		m.idle(out)
	}
}

// idleDays is for how many days without use an idle share is stated.
const idleDays = 2

func (m *mixReader) idle(out *calc) {
	tank, share := m.millilitres("tank", "mix.tank"), m.share("share")
	days, err := quantity.Number(strings.TrimSpace(m.values.Get("days")))
	if m.refuse("days", err) {
		return
	}
	add, err := chem.Idle{Share: quantity.Percent(share), Days: idleDays}.Add(tank, days)
	if m.refuse("days", err) {
		return
	}
	out.Big = append(out.Big, m.numeral(m.Words.Say("mix.idle-add"), add))
	out.Words = append(out.Words, m.Words.Say("mix.idle-source"))
}

// machine is the rate at which a machine must be replenished while film runs.
func (m *mixReader) machine(out *calc) {
	path, each := m.length("path"), m.length("each")
	dwell, ok := m.duration(out, "dwell")
	rate := m.millilitres("rate", "mix.machine-rate")
	if m.problem != nil || !ok {
		return
	}
	perMinute, err := chem.Machine{Path: path, Dwell: dwell, PerMetre: rate / quantity.Millilitre(each)}.PerMinute()
	if m.refuse("path", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.each-minute"), perMinute)}
	out.Words = []string{m.Words.Say("mix.machine-while"), m.Words.Say("shelf.source-only", strings.TrimSpace(m.values.Get("source")))}
}

// length reads a length of film, more than nothing.
func (m *mixReader) length(name string) quantity.Metre {
	v, err := quantity.ParseMetre(m.values.Get(name))
	if !m.refuse(name, err) && v <= 0 {
		m.fail(name, "mix.no-length")
	}
	return v
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
	sheets, area := m.count("count", "shelf.count"), m.size("size", m.values.Get("size"))
	volume := m.millilitres("make", "mix.fixer-volume")
	coatingLow, coatingHigh := m.span("coating")
	dissolvedLow, dissolvedHigh := m.span("dissolved")
	if m.problem != nil {
		return
	}
	area *= quantity.SquareMetre(sheets)
	low, okLow := ledger.SilverInputs{Coating: quantity.GramPerSquareMetre(coatingLow), Dissolved: dissolvedLow / 100}.SilverLoad(area, volume)
	high, okHigh := ledger.SilverInputs{Coating: quantity.GramPerSquareMetre(coatingHigh), Dissolved: dissolvedHigh / 100}.SilverLoad(area,
		volume)
	if !okLow || !okHigh {
		m.fail("dissolved", "mix.bad-silver")
		return
	}
	text := m.Number(float64(low), 2)
	if high > low {
		text = m.Words.Say("mix.span", text, m.Number(float64(high), 2))
	}
	out.Big = []cards.Numeral{{Value: text, Unit: "g/L", Label: m.Words.Say("mix.silver-load")}}
	out.Words = []string{m.Words.Say("mix.silver-limits", m.Plain(float64(singleBathSilver)), m.Plain(float64(firstBathSilver))),
		m.Words.Say("mix.silver-inputs")}
	out.Verdict = &verdictLine{m.Words.Say("mix.silver-under"), "moving"}
	switch {
	case high >= firstBathSilver:
		out.Verdict = &verdictLine{m.Words.Say("mix.silver-over-both"), "stopped"}
	case high >= singleBathSilver:
		out.Verdict = &verdictLine{m.Words.Say("mix.silver-over-one", m.Plain(float64(singleBathSilver))), "low"}
	}
}
