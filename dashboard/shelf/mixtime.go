package shelf

import (
	"cmp"
	"errors"
	"fmt"
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
		{do: "time", word: "Developing time",
			lead: "From published points: wetside interpolates between them and gives no time outside them. Points in °F stay in °F.",
			work: (*mixReader).time, fields: []field{
				{name: "points", kind: textField, word: "Published points", hint: "such as 20C=7:45, 22C=6:30, 24C=5:30 or 68F=5:00, 75F=3:45",
					needed: true},
				{name: "bath", kind: temperatureField, word: "Temperature of the bath", needed: true},
				{name: "accuracy", kind: textField, word: "Accuracy of the thermometer, ± in kelvin", hint: "0.5 when left empty"},
				{name: "without", kind: yesField, word: "The developer has no hydroquinone " +
					"(with hydroquinone no time is given below 15.6 °C, 60 °F)"}}},
		{do: "factor", word: "Time by first appearance",
			lead: "The total time is a factor times the time of first appearance. No thermometer is needed, so this checks the other methods.",
			work: (*mixReader).factor, fields: []field{
				{name: "emergence", kind: textField, word: "First appearance", hint: "in seconds or as 0:45; several with commas, the median counts",
					needed: true},
				{name: "factor", kind: textField, word: "Factor", hint: "such as 10; a mixture as factor x parts, such as 6 x 4, 30 x 2",
					needed: true}}},
		{do: "window", word: "Shortest and longest time for a print",
			lead: "A full black needs a shortest time; from twice that time on, expect a stain.", work: (*mixReader).window, fields: []field{
				{name: "black", kind: textField, word: "Shortest time to full black", needed: true},
				{name: "developed", kind: textField, word: "Time in the developer", needed: true}}},
		{do: "jacket", word: "Hot jacket", lead: "How much hot water around a tray warms the bath up again.", work: (*mixReader).jacket,
			fields: []field{
				{name: "make", kind: volumeField, word: "Volume of the bath", needed: true},
				{name: "bath", kind: temperatureField, word: "Temperature of the bath", needed: true},
				{name: "target", kind: temperatureField, word: "Temperature wanted", needed: true},
				{name: "hot", kind: temperatureField, word: "Hot water", needed: true}}},
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
	m.form.Fail(name, "%s can be read in two ways, and both are in print. Choose which you mean:", two.Text)
	for _, reading := range two.Readings {
		text := chem.MinutesSeconds(reading)
		m.offer(out, name, web.Choice{Value: strings.Replace(m.values.Get(name), two.Text, text, 1),
			Text: fmt.Sprintf("%s (minutes and seconds)", text)})
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
	t, err := chem.NewTable("points as typed", points)
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
	if raw := m.raw("accuracy"); raw != "" {
		n, err := quantity.Number(raw)
		if err != nil || n < 0 || n > 10 {
			m.form.Fail("accuracy", "%s is not an accuracy: write kelvin between 0 and 10, such as 0.5.", web.Clip(raw))
		}
		accuracy = n
	}
	at := m.degrees("bath")
	if m.form.Problem != nil {
		return
	}
	r := chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(at, accuracy), HydroquinoneFloor: m.values.Get("without") == ""})
	t, given := r.Time()
	if !given {
		out.Verdict, out.Words = &verdictLine{"NO TIME", "stopped"}, []string{m.Text(r.Sentence())}
		return
	}
	low, high := r.Interval()
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(t), Label: "Develop"}}
	out.Words = append([]string{m.Text(r.Sentence()),
		fmt.Sprintf("Between %s and %s, from the %s; %s.", chem.MinutesSeconds(low), chem.MinutesSeconds(high),
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
			return chem.Factor{},
				phrase.Errorf("%s is not a factor: write a number such as 10, or factor x parts such as 6 x 4, 30 x 2.", web.Clip(text))
		}
		f, err := chem.NewFactor(v, phrase.Plain("as entered; published factors for one agent disagree, so find your own"))
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
		s := m.secondsOf(m.of("emergence"), strings.TrimSpace(text))
		emergence = append(emergence, time.Duration(s*float64(time.Second)))
	}
	f, err := m.typedFactor()
	if m.form.Problem != nil || m.refuse("factor", err) {
		return
	}
	t, err := f.Time(emergence...)
	if m.refuse("emergence", err) {
		return
	}
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(t), Label: "Develop"}}
	out.Words = []string{fmt.Sprintf("Factor %s (%s).", m.Number(f.Value, 1), m.Text(f.Source))}
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
	out.Big = []cards.Numeral{{Value: chem.MinutesSeconds(w.Below() - time.Second), Label: "Longest useful time"}}
	out.Words = []string{web.SentenceCase(m.Text(w.Sentence(developed))), "[Clerc, Photography: Theory and Practice, s. 556-557; verified]"}
	out.Verdict = &verdictLine{"PULLED EARLY", "low"}
	switch w.Judge(developed) {
	case chem.InWindow:
		out.Verdict = &verdictLine{"IN RANGE", "moving"}
	case chem.TooLong:
		out.Verdict = &verdictLine{"TOO LONG", "stopped"}
	}
}

func (m *mixReader) jacket(out *calc) {
	bath := chem.VolumeAt{Volume: m.millilitres("make"), Temperature: m.degrees("bath")}
	target, hot := m.degrees("target"), m.degrees("hot")
	if m.form.Problem != nil {
		return
	}
	v, err := chem.Jacket(bath, target, hot)
	if m.refuse("hot", err) {
		return
	}
	if v == 0 {
		out.Words = []string{"The bath is warm enough: no jacket is needed."}
		return
	}
	out.Big = []cards.Numeral{m.numeral("Hot water", v)}
	out.Words = []string{"At least this much: losses to the room and the vessel are not counted. Take the jacket away when the bath has " +
		"reached its temperature."}
}
