package dashboard

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/sensors/quantity"
)

// The acts on the limits that gases are set against.
const (
	actLimit    = "limit"
	actLimitOff = "limit-off"
)

// limitTable shows the limits of every gas, as they are published.
func (f figures) limitTable(snap *rules.Snapshot) datedTable {
	t := datedTable{Label: "gas-limits", Head: f.words.Say("breathing.head-limit"), Figure: f.words.Say("limit.head-figure")}
	for _, l := range limitsOf(snap.Breathing) {
		row := datedRow{Name: l.Agent, Sub: f.limitName(l), Figure: f.plain(l.Value) + " " + l.Unit.Symbol(), Standing: f.word(l.Standing), Source: l.Source, Edition: l.Edition}
		if !l.Holds(snap.At.Wall) {
			row.Standing = f.words.Say("required.later") + "; " + row.Standing
		}
		t.Rows = append(t.Rows, f.inTerm(row, l.Term, f.words.Say("limit.undated")))
	}
	return t
}

// limitsOf are the limits of all gases, each once however many probes read its agent.
func limitsOf(list []rules.BreathingView) []breathing.Limit {
	var rows []breathing.Limit
	for _, b := range list {
		for _, l := range b.Limits {
			if !slices.Contains(rows, l) {
				rows = append(rows, l)
			}
		}
	}
	return rows
}

// limitName says whose limit of which kind, and over what time it is averaged.
func (f figures) limitName(l breathing.Limit) string {
	kind := string(l.Kind)
	if l.Window > 0 {
		kind = f.words.Say("breathing.window", kind, f.length(l.Window))
	}
	return f.words.Say("limit.name", l.Jurisdiction, kind)
}

// limitForms enter a limit, which takes the place of its earlier edition, and take one
// off; none where no gas is read.
func (f figures) limitForms(l look, snap *rules.Snapshot, a attempt) []askForm {
	var agents []string
	for _, b := range snap.Breathing {
		if !slices.Contains(agents, b.Agent) {
			agents = append(agents, b.Agent)
		}
	}
	if len(agents) == 0 {
		return nil
	}
	whose, edition, from, why := f.amendmentAsks()
	whose.Hint, edition.Hint = f.words.Say("hint.limit-whose"), f.words.Say("hint.limit-edition")
	forms := []askForm{f.asking(l, about{act: actLimit, summary: f.words.Say("limit.add"), button: f.words.Say("button.limit")}, a,
		ask{Name: "agent", Label: f.words.Say("field.agent"), Choices: alternatives(agents...)},
		ask{Name: "jurisdiction", Label: f.words.Say("field.jurisdiction"), Hint: f.words.Say("hint.jurisdiction")},
		ask{Name: "limit", Label: f.words.Say("field.limit"), Choices: alternatives(breathing.Kinds()...)},
		ask{Name: "window", Label: f.words.Say("field.window"), Hint: f.words.Say("hint.window")},
		ask{Name: "figure", Label: f.words.Say("limit.head-figure"), Hint: f.words.Say("hint.limit-figure"), Mode: "text"},
		ask{Name: "standing", Label: f.words.Say("breathing.head-standing"), Choices: alternatives(breathing.Standings()...)},
		whose, edition, from)}
	var which []choice
	for _, row := range limitsOf(snap.Breathing) {
		key := strings.Join([]string{row.Agent, row.Jurisdiction, string(row.Kind), strconv.Itoa(int(row.Window.Minutes()))}, "|")
		which = append(which, choice{Value: key, Text: row.Agent + ", " + f.limitName(row)})
	}
	if len(which) == 0 {
		return forms
	}
	return append(forms, f.asking(l, about{act: actLimitOff, summary: f.words.Say("limit.off"), button: f.words.Say("button.limit-off")}, a, f.whichRow(which), why, from))
}

// whichRow asks for one of the rows, each offered once however many versions of it are on the way.
func (f figures) whichRow(rows []choice) ask {
	q := ask{Name: "row", Label: f.words.Say("field.row")}
	for _, c := range rows {
		if !slices.ContainsFunc(q.Choices, func(o choice) bool { return o.Value == c.Value }) {
			q.Choices = append(q.Choices, c)
		}
	}
	return q
}

// readLimit reads a limit.
func readLimit(f *formReader, act string, get func(string) string) rules.Act {
	if act == actLimitOff {
		return readLimitOff(f, get)
	}
	a := rules.LimitGas{Agent: f.text("agent", get("agent"), longestName, true), Jurisdiction: f.text("jurisdiction", get("jurisdiction"), longestName, true)}
	a.Limit = pickOf(f, "limit", get("limit"), breathing.Kinds())
	if a.Limit != breathing.Ceiling {
		a.Minutes = readWindow(f, get("window"))
	}
	a.Value, a.Unit = readConcentration(f, get("figure"))
	a.Standing = pickOf(f, "standing", get("standing"), breathing.Standings())
	a.Amendment = f.amendment(false, "", get)
	if a.Edition == "" {
		f.fail("edition", "form.empty", f.words.Say("field.edition"))
	}
	return a
}

func readLimitOff(f *formReader, get func(string) string) rules.Act {
	const parts = 4
	key := strings.SplitN(get("row"), "|", parts)
	if len(key) < parts {
		f.pick("row", "")
		return rules.LimitGas{}
	}
	minutes, err := strconv.Atoi(key[3])
	if err != nil {
		f.pick("row", "")
	}
	return rules.LimitGas{Agent: key[0], Jurisdiction: key[1], Limit: breathing.LimitKind(key[2]), Minutes: float64(minutes), Amendment: f.amendment(true, "", get)}
}

// readWindow reads over what time a limit is averaged: 8 h, 15 min.
func readWindow(f *formReader, text string) float64 {
	d, err := time.ParseDuration(strings.NewReplacer(" ", "", "min", "m").Replace(strings.ToLower(text)))
	if err != nil || d < time.Minute || d > 24*time.Hour || d%time.Minute != 0 {
		f.fail("window", "form.window", clip(text))
	}
	return d.Minutes()
}

// readConcentration reads a limit in the unit in which it is published.
func readConcentration(f *formReader, text string) (value float64, unit string) {
	for _, d := range []quantity.Dimension{quantity.VolumeFraction, quantity.MassConcentration} {
		if base, u, err := quantity.Parse(d, text); err == nil && base > 0 {
			const digits = 9 // as it was written, without what the change of units leaves behind
			value, err = strconv.ParseFloat(strconv.FormatFloat(u.FromBase(base), 'g', digits, 64), 64)
			if err == nil {
				return value, u.Symbol()
			}
		}
	}
	f.fail("figure", "form.limit", clip(text))
	return 0, ""
}
