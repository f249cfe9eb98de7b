package shelf

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/locale"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// mixBody is the page of the mixing table.
type mixBody struct {
	Look  web.Look
	Calcs []calc
}

// calc is one calculator: what is typed, and what it comes to.
type calc struct {
	Do, Title, Lead string
	Fields          []drawnField
	Open            bool
	Big             []cards.Numeral
	Words           []string
	Ask             []web.Link // readings of a ratio to choose from
	Problem         string
	Verdict         *verdictLine
}

type verdictLine struct{ Word, Shape string }

// calculator works one of them out.
type calculator struct {
	do, word string
	lead     said
	fields   []field
	work     func(*mixReader, *calc)
}

func calculators() []calculator {
	parts := field{name: "parts", kind: textField, word: "shelf.parts", hint: said{word: "shelf.parts-hint"}, needed: true}
	total := field{name: "make", kind: volumeField, word: "mix.make", needed: true}
	return []calculator{
		{do: "plan", word: "mix.plan", lead: said{word: "mix.plan-lead"}, work: (*mixReader).plan, fields: []field{parts, total}},
		{do: "water", word: "mix.water", lead: said{word: "mix.water-lead"}, work: (*mixReader).water, fields: []field{
			{name: "make", kind: volumeField, word: "mix.water-volume", needed: true},
			{name: "hot", kind: temperatureField, word: "mix.hot", needed: true},
			{name: "cold", kind: temperatureField, word: "mix.cold", needed: true},
			{name: "target", kind: temperatureField, word: "mix.target", needed: true},
			{name: "concentrate", kind: volumeField, word: "mix.concentrate"},
			{name: "shelf", kind: temperatureField, word: "mix.shelf"}}},
		{do: "check", word: "mix.check", lead: said{word: "mix.check-lead"}, work: (*mixReader).check, fields: []field{parts,
			{name: "poured", kind: volumeField, word: "shelf.parent-poured", needed: true},
			{name: "water", kind: volumeField, word: "shelf.water-poured", needed: true},
			{name: "division", kind: volumeField, word: "mix.division", hint: said{word: "mix.division-hint"}},
			{name: "vessel", kind: volumeField, word: "mix.vessel"}}},
		{do: "percent", word: "mix.percent", work: (*mixReader).percent, fields: []field{
			{name: "stock", kind: textField, word: "mix.stock-percent", needed: true},
			{name: "wanted", kind: textField, word: "mix.wanted-percent", needed: true}, total}},
		{do: "session", word: "mix.session", lead: said{word: "mix.session-lead"}, work: (*mixReader).session, fields: []field{
			{name: "product", kind: choiceField, word: "shelf.product", needed: true, from: fromProducts},
			{name: "material", kind: choiceField, word: "shelf.material", needed: true, from: fromMaterial},
			{name: "students", kind: wholeField, word: "mix.students", needed: true},
			{name: "sheets", kind: wholeField, word: "mix.sheets", needed: true},
			{name: "size", kind: choiceField, word: "shelf.size", needed: true, from: fromSizes},
			{name: "tray", kind: volumeField, word: "mix.tray", needed: true}}},
	}
}

// mixPage answers with all calculators, the one that was asked worked out.
func (s *Pages) mixPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	body, v := mixBody{Look: web.LookOf(r)}, r.URL.Query()
	for _, each := range slices.Concat(calculators(), timeCalculators(), filmCalculators(), fixCalculators()) {
		asked := v.Get("do") == each.do
		drawn := calc{Do: each.do, Title: s.Words.Say(each.word), Open: asked || v.Get("do") == "" && each.do == "plan"}
		if each.lead.word != "" {
			drawn.Lead = s.Words.Say(each.lead.word)
		}
		given := url.Values{}
		if asked {
			given = v
		}
		reader := &mixReader{entryReader{shelfContext: c, values: given}}
		for _, f := range each.fields {
			drawn.Fields = append(drawn.Fields, c.drawField(f, given))
		}
		if asked {
			reader.answer(each, &drawn)
		}
		body.Calcs = append(body.Calcs, drawn)
	}
	p := s.shelfPage(r, "mix")
	p.Title, p.Body = s.Words.Say("title.mix"), body
	s.Show(w, r, http.StatusOK, p)
}

// mixReader reads the fields of a calculator and works it out.
type mixReader struct{ entryReader }

func (m *mixReader) answer(each calculator, out *calc) {
	for _, f := range each.fields {
		if strings.TrimSpace(m.values.Get(f.name)) == "" && f.needed {
			m.fail(f.name, "form.empty", m.Words.Say(f.word))
		}
	}
	if m.problem == nil {
		each.work(m, out)
	}
	if m.problem != nil {
		out.Problem, out.Big, out.Verdict = m.problem.Sentence, nil, nil
		for i := range out.Fields {
			out.Fields[i].Wrong = out.Fields[i].Name == m.problem.Field
		}
	}
}

// refuse notes an error of the chemistry, which is a sentence already.
func (m *mixReader) refuse(field string, err error) bool {
	if err != nil && m.problem == nil {
		m.problem = &web.Problem{Field: field, Sentence: m.ErrorText(err)}
	}
	return m.problem != nil
}

func (m *mixReader) millilitres(name, word string) quantity.Millilitre {
	raw := strings.TrimSpace(m.values.Get(name))
	if raw == "" {
		return 0
	}
	return m.volumeOf(name, m.Words.Say(word), raw)
}

func (m *mixReader) degrees(name, word string) quantity.Celsius {
	return m.temperatureOf(name, m.Words.Say(word), strings.TrimSpace(m.values.Get(name)))
}

// dilution reads the parts; a bare colon ratio becomes a question with both readings.
func (m *mixReader) dilution(out *calc, total quantity.Millilitre) (chem.Parts, bool) {
	p, err := chem.ParseParts(m.values.Get("parts"))
	var colon *chem.ColonRatioError
	if !errors.As(err, &colon) {
		return p, !m.refuse("parts", err)
	}
	plans, err := colon.For(total)
	if m.refuse("make", err) {
		return p, false
	}
	m.fail("parts", "mix.colon", colon.Text)
	for _, plan := range plans {
		q := url.Values{}
		for name := range m.values {
			q.Set(name, m.values.Get(name))
		}
		q.Set("parts", plan.Parts.String())
		out.Ask = append(out.Ask, web.Link{Href: "/mix?" + q.Encode() + "#" + out.Do,
			Text: m.reading(plan)})
	}
	return p, false
}

// reading is one reading of a ratio in the units of the place.
func (f figures) reading(p chem.Plan) string {
	return f.Words.Say("mix.reading", p.Parts.String(), f.shortly(p.Concentrate), f.shortly(p.Water), f.shortly(p.Total))
}

// shortly writes a volume of the place to a tenth, as short as it is.
func (f figures) shortly(v quantity.Millilitre) string {
	u := f.Unit(web.VolumeDimension)
	return f.Localized(strings.TrimSuffix(web.Number(u.FromBase(float64(v)), 1), ".0")) + " " + locale.Symbol(u)
}

// numeral is a volume in the unit of the place, with millilitres beside it.
func (f figures) numeral(label string, v quantity.Millilitre) cards.Numeral {
	n := cards.Numeral{Value: f.Value(web.VolumeDimension, float64(v), cards.VolumeGrain), Unit: locale.Symbol(f.Unit(web.VolumeDimension)),
		Label: label}
	if f.Unit(web.VolumeDimension).Symbol() != "mL" {
		n.Other = f.Number(float64(v), 0) + " mL"
	}
	return n
}

// planned are the numerals of a plan: water first, as it is poured.
func (f figures) planned(p chem.Plan) []cards.Numeral {
	return []cards.Numeral{
		f.numeral(f.Words.Say("mix.water-first"), p.Water),
		f.numeral(f.Words.Say("mix.then-concentrate"), p.Concentrate),
		f.numeral(f.Words.Say("mix.makes"), p.Total),
	}
}

func (m *mixReader) plan(out *calc) {
	total := m.millilitres("make", "mix.make")
	if m.problem != nil {
		return
	}
	p, ok := m.dilution(out, total)
	if !ok {
		return
	}
	plan, err := p.Plan(total)
	if m.refuse("make", err) {
		return
	}
	out.Big = m.planned(plan)
	out.Words = append([]string{m.Words.Say("mix.plan-is", m.figures.Parts(p.Concentrate, p.Water))}, m.inEveryUnit(plan)...)
}

// inEveryUnit writes a plan in each unit that stands on a graduate.
func (f figures) inEveryUnit(p chem.Plan) []string {
	var lines []string
	for _, u := range quantity.UnitsOf(web.VolumeDimension) {
		if u.FromBase(float64(p.Concentrate)) >= 1 { // less of a unit is not read off a graduate
			lines = append(lines, f.withSigns(strings.TrimSuffix(p.In(u), u.Symbol())+locale.Symbol(u)))
		}
	}
	return lines
}

// withSigns puts the decimal sign of the place into every number of a line.
func (f figures) withSigns(line string) string {
	words := strings.Fields(line)
	for i, word := range words {
		words[i] = f.Localized(word)
	}
	return strings.Join(words, " ")
}

func (m *mixReader) water(out *calc) {
	taps := chem.Taps{Hot: m.degrees("hot", "mix.hot"), Cold: m.degrees("cold", "mix.cold"), Target: m.degrees("target", "mix.target")}
	total, concentrate := m.millilitres("make", "mix.water-volume"), m.millilitres("concentrate", "mix.concentrate")
	shelf := taps.Target
	if strings.TrimSpace(m.values.Get("shelf")) != "" {
		shelf = m.degrees("shelf", "mix.shelf")
	}
	if m.problem != nil {
		return
	}
	blend, err := taps.Blend(total)
	if concentrate > 0 {
		blend, err = taps.BlendFor(chem.Plan{Concentrate: concentrate, Water: total, Total: concentrate + total}, shelf)
	}
	if m.refuse("target", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.hot-water"), blend.Hot), m.numeral(m.Words.Say("mix.cold-water"), blend.Cold)}
	comes, err := chem.MixTemperature(chem.VolumeAt{Volume: blend.Hot, Temperature: taps.Hot},
		chem.VolumeAt{Volume: blend.Cold, Temperature: taps.Cold},
		chem.VolumeAt{Volume: concentrate, Temperature: shelf})
	if m.refuse("target", err) {
		return
	}
	out.Words = []string{m.Words.Say("mix.comes-to", m.Temperature(comes), m.figures.Degrees())}
}

// tolerated is the error of a strength that is let pass (common practice).
const tolerated = 0.05

func (m *mixReader) check(out *calc) {
	pour := chem.Pour{ParentStrength: 1, Tolerance: tolerated, Vessel: m.millilitres("vessel", "mix.vessel")}
	pour.Parent = chem.Measure{Volume: m.millilitres("poured", "shelf.parent-poured"), Division: m.millilitres("division", "mix.division")}
	pour.Water = chem.Measure{Volume: m.millilitres("water", "shelf.water-poured"), Division: pour.Parent.Division}
	if m.problem != nil {
		return
	}
	p, ok := m.dilution(out, pour.Parent.Volume+pour.Water.Volume)
	if !ok {
		return
	}
	pour.Target = p.Strength()
	got, err := pour.Check()
	if m.refuse("poured", err) {
		return
	}
	out.Words = []string{m.LocalText(m.Words.Say("mix.strength", got.Strength.Percent(), pour.Target.Percent())),
		web.SentenceCase(m.Text(got.Reason))}
	out.Verdict = &verdictLine{m.Words.Say("mix.use"), "moving"}
	switch got.Remedy {
	case chem.AddWater:
		out.Verdict = &verdictLine{m.Words.Say("mix.repair"), "low"}
		out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.add-water"), got.Add)}
	case chem.AddConcentrate:
		out.Verdict = &verdictLine{m.Words.Say("mix.repair"), "low"}
		out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.add-concentrate"), got.Add)}
	case chem.NoVerdict:
		out.Verdict = &verdictLine{m.Words.Say("mix.no-verdict"), "low"}
	case chem.DiscardAndStartAgain:
		out.Verdict = &verdictLine{m.Words.Say("verdict.discard"), "stopped"}
	}
}

func (m *mixReader) percent(out *calc) {
	stock, wanted, total := quantity.Percent(m.share("stock")), quantity.Percent(m.share("wanted")), m.millilitres("make", "mix.make")
	if m.problem != nil {
		return
	}
	plan, err := chem.PercentPlan(stock, wanted, total)
	if m.refuse("wanted", err) {
		return
	}
	out.Big = m.planned(plan)
}

func (m *mixReader) session(out *calc) {
	booking := chem.Booking{Students: m.count("students", "mix.students"), SheetsEach: m.count("sheets", "mix.sheets"),
		Sheet: chem.Sheet{Name: m.values.Get("size"), Area: m.size("size", m.values.Get("size"))}}
	tray := m.millilitres("tray", "mix.tray")
	capacity, standing, ok := m.capacity()
	if !ok {
		m.fail("product", "mix.no-capacity")
	}
	if m.problem != nil {
		return
	}
	need, err := booking.Need(capacity, tray)
	if m.refuse("students", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.mix-this-much"), need.Mix)}
	out.Words = []string{m.Words.Say("mix.need", m.Volume(need.Worked), m.Volume(tray)), m.Sourced(need.Source, standing)}
}

func (m *mixReader) count(name, word string) int {
	n, _ := m.value(field{name: name, kind: wholeField, word: word, needed: true}).(int)
	return n
}

// capacity is the smallest published one of the chosen product for the chosen material.
func (m *mixReader) capacity() (chem.Capacity, ledger.Standing, bool) {
	p, _ := m.book.Catalogue.Product(m.values.Get("product"))
	least, ok := p.CapacityFor(ledger.Contents{Class: p.Class}, ledger.Material(m.values.Get("material")))
	perLitre, _ := least.AreaPerLitre()
	return chem.Capacity{PerLitre: perLitre, Source: least.Source}, least.Standing, ok
}
