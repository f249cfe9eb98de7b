package shelf

import (
	"cmp"
	"errors"
	"net/url"
	"slices"
	"strings"
	"time"

	"wetside/chem"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// timeCalculators are the questions of the tray: how long, how long again, and until when.
func timeCalculators() []calculator {
	return []calculator{
		{do: "time", word: "mix.time", lead: said{word: "mix.time-lead"}, work: (*mixReader).time, fields: []field{
			{name: "points", kind: textField, word: "mix.points", hint: said{word: "mix.points-hint"}, needed: true},
			{name: "bath", kind: temperatureField, word: "mix.bath", needed: true},
			{name: "accuracy", kind: textField, word: "mix.accuracy", hint: said{word: "mix.accuracy-hint"}},
			{name: "without", kind: yesField, word: "mix.without"}}},
		{do: "factor", word: "mix.factor", lead: said{word: "mix.factor-lead"}, work: (*mixReader).factor, fields: []field{
			{name: "emergence", kind: textField, word: "mix.emergence", hint: said{word: "mix.emergence-hint"}, needed: true},
			{name: "factor", kind: textField, word: "mix.the-factor", hint: said{word: "mix.the-factor-hint"}, needed: true}}},
		{do: "window", word: "mix.window", lead: said{word: "mix.window-lead"}, work: (*mixReader).window, fields: []field{
			{name: "black", kind: textField, word: "mix.full-black", needed: true},
			{name: "developed", kind: textField, word: "mix.developed", needed: true}}},
		{do: "jacket", word: "mix.jacket", lead: said{word: "mix.jacket-lead"}, work: (*mixReader).jacket, fields: []field{
			{name: "make", kind: volumeField, word: "mix.bath-volume", needed: true},
			{name: "bath", kind: temperatureField, word: "mix.bath", needed: true},
			{name: "target", kind: temperatureField, word: "mix.target", needed: true},
			{name: "hot", kind: temperatureField, word: "mix.hot", needed: true}}},
	}
}

// duration reads a time; one such as 9.30 becomes a question with both readings.
func (m *mixReader) duration(out *calc, name string) (time.Duration, bool) {
	t, err := chem.ParseTime(m.values.Get(name))
	return t, !m.which(out, name, err)
}

// which asks for the reading of a time that can be read in two ways, or refuses it.
func (m *mixReader) which(out *calc, name string, err error) bool {
	var two *chem.AmbiguousTimeError
	if !errors.As(err, &two) {
		return m.refuse(name, err)
	}
	m.fail(name, "mix.two-readings", two.Text)
	for _, reading := range two.Readings {
		q := url.Values{}
		for field := range m.values {
			q.Set(field, m.values.Get(field))
		}
		q.Set(name, strings.Replace(m.values.Get(name), two.Text, chem.MinutesSeconds(reading), 1))
		out.Ask = append(out.Ask, web.Link{Href: "/mix?" + q.Encode() + "#" + out.Do,
			Text: m.Words.Say("mix.time-reading", chem.MinutesSeconds(reading))})
	}
	return true
}

// table reads published points, in any order, between commas or semicolons.
func (m *mixReader) table(out *calc) (chem.Table, bool) {
	var points []chem.Point
	separate := func(r rune) bool { return r == ',' || r == ';' || r == ' ' || r == '\n' }
	for _, text := range strings.FieldsFunc(strings.ReplaceAll(m.values.Get("points"), "°", ""), separate) {
		p, err := chem.ParsePoint(text)
		if m.which(out, "points", err) {
			return chem.Table{}, false
		}
		points = append(points, p)
	}
	slices.SortStableFunc(points, func(a, b chem.Point) int { return cmp.Compare(a.At, b.At) })
	t, err := chem.NewTable(m.Words.Say("mix.typed-points"), points)
	return t, !m.refuse("points", err)
}

// defaultAccuracy is the plus-or-minus of a plain thermometer in kelvin (common practice).
const defaultAccuracy = 0.5

func (m *mixReader) time(out *calc) {
	table, ok := m.table(out)
	if !ok {
		return
	}
	accuracy := defaultAccuracy
	if raw := strings.TrimSpace(m.values.Get("accuracy")); raw != "" {
		n, err := quantity.Number(raw)
		if err != nil || n < 0 || n > 10 {
			m.fail("accuracy", "mix.bad-accuracy", web.Clip(raw))
		}
		accuracy = n
	}
	at := m.degrees("bath", "mix.bath")
	if m.problem != nil {
		return
	}
	r := chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(at, accuracy), HydroquinoneFloor: m.values.Get("without") == ""})
	t, given := r.Time()
	if !given {
		out.Verdict, out.Words = &verdictLine{m.Words.Say("mix.no-time"), "stopped"}, []string{m.Text(r.Sentence())}
		return
	}
	low, high := r.Interval()
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(t), Label: m.Words.Say("mix.develop")}}
	out.Words = append([]string{m.Text(r.Sentence()), m.Words.Say("mix.between", chem.MinutesSeconds(low), chem.MinutesSeconds(high),
		m.Text(r.Basis()), m.Text(r.LeavesOut()))}, m.sentences(table.Doubts())...)
}

// sentences begin with a capital and end with a full stop, in the units of the place.
func (f figures) sentences(clauses []phrase.Sentence) []string {
	out := make([]string, len(clauses))
	for i, c := range clauses {
		out[i] = web.SentenceCase(f.Text(c))
	}
	return out
}

// factor is a development factor that was typed: one number, or agents as "6 x 4, 30 x 2",
// each with its parts.
func (m *mixReader) typedFactor() (chem.Factor, error) {
	var shares []chem.Share
	for text := range strings.SplitSeq(strings.ReplaceAll(m.values.Get("factor"), "×", "x"), ",") {
		value, parts, mixture := strings.Cut(text, "x")
		if !mixture {
			parts = "1"
		}
		v, err := quantity.Number(strings.TrimSpace(value))
		n, errParts := quantity.Number(strings.TrimSpace(parts))
		if err := errors.Join(err, errParts); err != nil {
			return chem.Factor{}, errors.New(m.Words.Say("mix.bad-factor", web.Clip(text)))
		}
		f, err := chem.NewFactor(v, phrase.Plain(m.Words.Say("mix.typed-factor")))
		if err != nil {
			return chem.Factor{}, err
		}
		shares = append(shares, chem.Share{Factor: f, Parts: n})
	}
	if len(shares) == 1 {
		return shares[0].Factor, nil
	}
	return chem.Mixed(shares...)
}

func (m *mixReader) factor(out *calc) {
	var emergence []time.Duration
	for text := range strings.SplitSeq(m.values.Get("emergence"), ",") {
		s := m.secondsOf("emergence", m.Words.Say("mix.emergence"), strings.TrimSpace(text))
		emergence = append(emergence, time.Duration(s*float64(time.Second)))
	}
	f, err := m.typedFactor()
	if m.problem != nil || m.refuse("factor", err) {
		return
	}
	t, err := f.Time(emergence...)
	if m.refuse("emergence", err) {
		return
	}
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(t), Label: m.Words.Say("mix.develop")}}
	out.Words = []string{m.Words.Say("mix.factor-is", m.Number(f.Value, 1), m.Text(f.Source))}
}

func (m *mixReader) window(out *calc) {
	black, ok := m.duration(out, "black")
	if !ok {
		return
	}
	developed, ok := m.duration(out, "developed")
	if !ok {
		return
	}
	w := chem.PrintWindow{FullBlack: black}
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(w.Below() - time.Second), Label: m.Words.Say("mix.longest")}}
	out.Words = []string{web.SentenceCase(m.Text(w.Sentence(developed))), m.Words.Say("mix.window-source")}
	out.Verdict = &verdictLine{m.Words.Say("mix.pulled-early"), "low"}
	switch w.Judge(developed) {
	case chem.InWindow:
		out.Verdict = &verdictLine{m.Words.Say("mix.in-window"), "moving"}
	case chem.TooLong:
		out.Verdict = &verdictLine{m.Words.Say("mix.too-long"), "stopped"}
	}
}

func (m *mixReader) jacket(out *calc) {
	bath := chem.VolumeAt{Volume: m.millilitres("make", "mix.bath-volume"), Temperature: m.degrees("bath", "mix.bath")}
	target, hot := m.degrees("target", "mix.target"), m.degrees("hot", "mix.hot")
	if m.problem != nil {
		return
	}
	v, err := chem.Jacket(bath, target, hot)
	if m.refuse("hot", err) {
		return
	}
	if v == 0 {
		out.Words = []string{m.Words.Say("mix.no-jacket")}
		return
	}
	out.Big = []cards.Numeral{m.numeral(m.Words.Say("mix.hot-water"), v)}
	out.Words = []string{m.Words.Say("mix.jacket-is")}
}
