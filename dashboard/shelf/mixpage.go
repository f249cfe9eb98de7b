package shelf

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

type mixBody struct {
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

type calculator struct {
	do, word string
	lead     string
	fields   []field
	work     func(*mixReader, *calc)
}

func calculators() []calculator {
	parts := field{name: "parts", kind: textField, word: "Parts", hint: "parts of concentrate + parts of water, such as 1+9", needed: true}
	total := field{name: "make", kind: volumeField, word: "Total", needed: true}
	return []calculator{
		{do: "plan", word: "Dilution", lead: "Parts and total. Water goes in first.", work: (*mixReader).plan, fields: []field{parts, total}},
		{do: "water", word: "Hot and cold water", lead: "How much from each tap, so that the mix reaches the temperature you want.",
			work: (*mixReader).water, fields: []field{
				{name: "make", kind: volumeField, word: "Water needed", needed: true},
				{name: "hot", kind: temperatureField, word: "Hot water", needed: true},
				{name: "cold", kind: temperatureField, word: "Cold water", needed: true},
				{name: "target", kind: temperatureField, word: "Temperature wanted", needed: true},
				{name: "concentrate", kind: volumeField, word: "Concentrate to be added, if any"},
				{name: "shelf", kind: temperatureField, word: "Its temperature"}}},
		{do: "check", word: "Check what was poured", lead: "The true strength, and how to correct the mix.", work: (*mixReader).check,
			fields: []field{parts,
				{name: "water", kind: volumeField, word: "Water poured", needed: true},
				{name: "poured", kind: volumeField, word: "Concentrate or stock poured", needed: true},
				{name: "division", kind: volumeField, word: "Smallest mark on the graduate",
					hint: "so that no correction is smaller than the graduate can show"},
				{name: "vessel", kind: volumeField, word: "Capacity of the vessel"}}},
		{do: "percent", word: "Percent solution", work: (*mixReader).percent, fields: []field{
			{name: "stock", kind: textField, word: "You have, in %", needed: true},
			{name: "wanted", kind: textField, word: "You want, in %", needed: true}, total}},
		{do: "session", word: "How much for a session", lead: "What the sheets use up by the lowest published capacity, plus the tray fill.",
			work: (*mixReader).session, fields: []field{
				{name: "product", kind: choiceField, word: "Product", needed: true, from: fromProducts},
				{name: "material", kind: choiceField, word: "Material", needed: true, from: fromMaterial},
				{name: "students", kind: wholeField, word: "People who print", needed: true},
				{name: "sheets", kind: wholeField, word: "Sheets each", needed: true},
				{name: "size", kind: choiceField, word: "Size", needed: true, from: fromSizes},
				{name: "tray", kind: volumeField, word: "Tray fill", needed: true}}},
	}
}

// mixPage answers with all calculators, the one that was asked worked out.
func (s *Pages) mixPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	body, v := mixBody{}, r.URL.Query()
	for _, each := range slices.Concat(calculators(), timeCalculators(), filmCalculators(), fixCalculators()) {
		asked := v.Get("do") == each.do
		drawn := calc{Do: each.do, Title: each.word, Lead: each.lead, Open: asked || v.Get("do") == "" && each.do == "plan"}
		given := url.Values{}
		if asked {
			given = v
		}
		reader := &mixReader{c.reader(given), each.fields}
		for _, f := range each.fields {
			drawn.Fields = append(drawn.Fields, c.drawField(f, given))
		}
		if asked {
			reader.answer(each, &drawn)
		}
		body.Calcs = append(body.Calcs, drawn)
	}
	s.Show(w, r, http.StatusOK, s.shelfPage(r, web.Head{Name: "mix", Title: "Mixing table"}).With(body))
}

type mixReader struct {
	*entryReader
	fields []field
}

func (m *mixReader) of(name string) web.Field {
	at := slices.IndexFunc(m.fields, func(f field) bool { return f.name == name })
	if at < 0 {
		return web.Field{Name: name, Label: name}
	}
	return web.Field{Name: name, Label: m.fields[at].word}
}

func (m *mixReader) answer(each calculator, out *calc) {
	for _, f := range each.fields {
		if of := m.of(f.name); m.form.Get(of) == "" && f.needed {
			m.form.Missing(of)
		}
	}
	if m.form.Problem == nil {
		each.work(m, out)
	}
	if m.form.Problem != nil {
		out.Problem, out.Big, out.Verdict = m.form.Problem.Sentence, nil, nil
		for i := range out.Fields {
			out.Fields[i].Wrong = out.Fields[i].Name == m.form.Problem.Field
		}
	}
}

// refuse notes an error of the chemistry, which is a sentence already.
func (m *mixReader) refuse(field string, err error) bool {
	if err != nil && m.form.Problem == nil {
		m.form.Problem = &web.Problem{Field: field, Sentence: m.ErrorText(err)}
	}
	return m.form.Problem != nil
}

// raw is what was typed into a field, without blanks around.
func (m *mixReader) raw(name string) string { return strings.TrimSpace(m.values.Get(name)) }

func (m *mixReader) number(name string) float64 {
	n, err := quantity.Number(m.raw(name))
	m.refuse(name, err)
	return n
}

func (m *mixReader) millilitres(name string) quantity.Millilitre {
	if raw := m.raw(name); raw != "" {
		return m.volumeOf(m.of(name), raw)
	}
	return 0
}

func (m *mixReader) degrees(name string) quantity.Celsius {
	return m.temperatureOf(m.of(name), m.raw(name))
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
	m.form.Fail("parts", "%s does not say what its parts are. Choose which you mean:", colon.Text)
	for _, plan := range plans {
		m.offer(out, "parts", web.Choice{Value: plan.Parts.String(), Text: m.reading(plan)})
	}
	return p, false
}

// offer leads to the same question with another value in one field.
func (m *mixReader) offer(out *calc, name string, c web.Choice) {
	q := maps.Clone(m.values)
	q.Set(name, c.Value)
	out.Ask = append(out.Ask, web.Link{Href: "/mix?" + q.Encode() + "#" + out.Do, Text: c.Text})
}

// reading is one reading of a ratio in the units of the place.
func (f figures) reading(p chem.Plan) string {
	return fmt.Sprintf("%s: %s concentrate + %s water = %s", p.Parts.String(), f.shortly(p.Concentrate), f.shortly(p.Water),
		f.shortly(p.Total))
}

// shortly writes a volume of the place to a tenth, as short as it is.
func (f figures) shortly(v quantity.Millilitre) string {
	u := f.Unit(web.VolumeDimension)
	return f.Sign(strings.TrimSuffix(web.Number(u.FromBase(float64(v)), 1), ".0")) + " " + u.Label()
}

// numeral is a volume in the unit of the place, with millilitres beside it.
func (f figures) numeral(label string, v quantity.Millilitre) cards.Numeral {
	n := cards.Numeral{Value: f.Value(web.VolumeDimension, float64(v), cards.VolumeGrain), Unit: f.Unit(web.VolumeDimension).Label(),
		Label: label}
	if f.Unit(web.VolumeDimension).Symbol() != "mL" {
		n.Other = f.Number(float64(v), 0) + " mL"
	}
	return n
}

// planned are the numerals of a plan: water first, as it is poured.
func (f figures) planned(p chem.Plan) []cards.Numeral {
	return []cards.Numeral{
		f.numeral("Water first", p.Water),
		f.numeral("Then concentrate", p.Concentrate),
		f.numeral("Make up to", p.Total),
	}
}

func (m *mixReader) plan(out *calc) {
	total := m.millilitres("make")
	if m.form.Problem != nil {
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
	out.Words = append([]string{m.figures.Parts(p.Concentrate, p.Water)}, m.inEveryUnit(plan)...)
}

// inEveryUnit writes a plan in each unit that stands on a graduate.
func (f figures) inEveryUnit(p chem.Plan) []string {
	var lines []string
	for _, u := range quantity.UnitsOf(web.VolumeDimension) {
		if u.FromBase(float64(p.Concentrate)) >= 1 { // less of a unit is not read off a graduate
			lines = append(lines, f.withSigns(strings.TrimSuffix(p.In(u), u.Symbol())+u.Label()))
		}
	}
	return lines
}

// withSigns puts the decimal sign of the place into every number of a line.
func (f figures) withSigns(line string) string {
	words := strings.Fields(line)
	for i, word := range words {
		words[i] = f.Sign(word)
	}
	return strings.Join(words, " ")
}

func (m *mixReader) water(out *calc) {
	taps := chem.Taps{Hot: m.degrees("hot"), Cold: m.degrees("cold"), Target: m.degrees("target")}
	total, concentrate := m.millilitres("make"), m.millilitres("concentrate")
	shelf := taps.Target
	if m.raw("shelf") != "" {
		shelf = m.degrees("shelf")
	}
	if m.form.Problem != nil {
		return
	}
	blend, err := taps.Blend(total)
	if concentrate > 0 {
		blend, err = taps.BlendFor(chem.Plan{Concentrate: concentrate, Water: total, Total: concentrate + total}, shelf)
	}
	if m.refuse("target", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral("Hot water", blend.Hot), m.numeral("Cold water", blend.Cold)}
	comes, err := chem.MixTemperature(chem.VolumeAt{Volume: blend.Hot, Temperature: taps.Hot},
		chem.VolumeAt{Volume: blend.Cold, Temperature: taps.Cold},
		chem.VolumeAt{Volume: concentrate, Temperature: shelf})
	if m.refuse("target", err) {
		return
	}
	out.Words = []string{fmt.Sprintf("The mix comes to %s %s.", m.Temperature(comes), m.figures.Degrees())}
}

// tolerated is the error of a strength that is let pass (common practice).
const tolerated = 0.05

func (m *mixReader) check(out *calc) {
	pour := chem.Pour{ParentStrength: 1, Tolerance: tolerated, Vessel: m.millilitres("vessel")}
	pour.Parent = chem.Measure{Volume: m.millilitres("poured"), Division: m.millilitres("division")}
	pour.Water = chem.Measure{Volume: m.millilitres("water"), Division: pour.Parent.Division}
	if m.form.Problem != nil {
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
	out.Words = []string{m.Text(phrase.Say("The strength is %s; intended: %s.", got.Strength.Percent(), pour.Target.Percent())),
		web.SentenceCase(m.Text(got.Reason))}
	out.Verdict = &verdictLine{"USE IT", "moving"}
	switch got.Remedy {
	case chem.AddWater:
		out.Verdict = &verdictLine{"CORRECT", "low"}
		out.Big = []cards.Numeral{m.numeral("Add water", got.Add)}
	case chem.AddConcentrate:
		out.Verdict = &verdictLine{"CORRECT", "low"}
		out.Big = []cards.Numeral{m.numeral("Add concentrate", got.Add)}
	case chem.NoVerdict:
		out.Verdict = &verdictLine{"NO VERDICT", "low"}
	case chem.DiscardAndStartAgain:
		out.Verdict = &verdictLine{"DISCARD", "stopped"}
	}
}

func (m *mixReader) percent(out *calc) {
	stock, wanted, total := quantity.Percent(m.share("stock")), quantity.Percent(m.share("wanted")), m.millilitres("make")
	if m.form.Problem != nil {
		return
	}
	plan, err := chem.PercentPlan(stock, wanted, total)
	if m.refuse("wanted", err) {
		return
	}
	out.Big = m.planned(plan)
}

func (m *mixReader) session(out *calc) {
	booking := chem.Booking{Students: m.count("students"), SheetsEach: m.count("sheets"),
		Sheet: chem.Sheet{Name: m.values.Get("size"), Area: m.size("size", m.values.Get("size"))}}
	tray := m.millilitres("tray")
	capacity, standing, ok := m.capacity()
	if !ok {
		m.form.Fail("product", "No capacity is known for this product and material. Add it to the catalogue with its source.")
	}
	if m.form.Problem != nil {
		return
	}
	need, err := booking.Need(capacity, tray)
	if m.refuse("students", err) {
		return
	}
	out.Big = []cards.Numeral{m.numeral("Mix", need.Mix)}
	out.Words = []string{fmt.Sprintf("%s for the sheets and %s to keep the tray full.", m.Volume(need.Worked), m.Volume(tray)),
		m.Sourced(need.Source, standing)}
}

func (m *mixReader) count(name string) int {
	n, _ := m.value(field{name: name, kind: wholeField, word: m.of(name).Label, needed: true}).(int)
	return n
}

// capacity is the smallest published one of the chosen product for the chosen material.
func (m *mixReader) capacity() (chem.Capacity, ledger.Standing, bool) {
	p, _ := m.book.Catalogue.Product(m.values.Get("product"))
	least, ok := p.CapacityFor(ledger.Contents{Class: p.Class}, ledger.Material(m.values.Get("material")))
	perLitre, _ := least.AreaPerLitre()
	return chem.Capacity{PerLitre: perLitre, Source: least.Source}, least.Standing, ok
}
