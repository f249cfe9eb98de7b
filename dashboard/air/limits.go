package air

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/dashboard/web"
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
func (f figures) limitTable(snap *rules.Snapshot) web.DatedTable {
	t := web.DatedTable{Label: "gas-limits", Head: "Limit", Figure: "Limit"}
	for _, l := range limitsOf(snap.Breathing) {
		row := web.DatedRow{Name: l.Agent, Sub: f.limitName(l), Figure: f.Plain(l.Value) + " " + l.Unit.Symbol(), Standing: f.Word(l.Standing),
			Source: l.Source, Edition: l.Edition}
		if !l.Holds(snap.At.Wall) {
			row.Standing = "not in force yet" + "; " + row.Standing
		}
		t.Rows = append(t.Rows, f.InTerm(row, l.Term, "no date given"))
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
		kind = fmt.Sprintf("%s over %s", kind, f.length(l.Window))
	}
	return fmt.Sprintf("%s, %s", l.Jurisdiction, kind)
}

// limitForms enter a limit, which takes the place of its earlier edition, and take one
// off; none where no gas is read.
func (f figures) limitForms(l web.Look, snap *rules.Snapshot, a web.Attempt) []web.AskForm {
	var agents []string
	for _, b := range snap.Breathing {
		if !slices.Contains(agents, b.Agent) {
			agents = append(agents, b.Agent)
		}
	}
	if len(agents) == 0 {
		return nil
	}
	whose, edition, from, why := f.AmendmentAsks()
	whose.Hint, edition.Hint = "Where you read the figure: the code, list or decision, and where in it.", "Such as its year."
	forms := []web.AskForm{f.Asking(l, web.About{Act: actLimit, Summary: "Enter a limit", Button: "Enter the limit"}, a,
		web.Ask{Field: agentField, Choices: web.Alternatives(agents...)},
		web.Ask{Field: jurisdictionField,
			Hint: "Who set it, such as OSHA, or your own place. A limit with the same gas, jurisdiction, kind and averaging time is replaced."},
		web.Ask{Field: limitField, Choices: web.Alternatives(breathing.Kinds()...)},
		web.Ask{Field: windowField, Hint: "Such as 8 h or 15 min; leave empty for a ceiling."},
		web.Ask{Field: figureField, Hint: "In the published unit: ppm, ppb, mg/m3 or ug/m3, such as 10 ppm.", Mode: "text"},
		web.Ask{Field: standingField, Choices: web.Alternatives(breathing.Standings()...)},
		whose, edition, from)}
	var which []web.Choice
	for _, row := range limitsOf(snap.Breathing) {
		key := strings.Join([]string{row.Agent, row.Jurisdiction, string(row.Kind), strconv.Itoa(int(row.Window.Minutes()))}, "|")
		which = append(which, web.Choice{Value: key, Text: row.Agent + ", " + f.limitName(row)})
	}
	if len(which) == 0 {
		return forms
	}
	return append(forms, f.Asking(l, web.About{Act: actLimitOff, Summary: "Remove a limit", Button: "Remove the limit"},
		a, f.whichRow(limitRowField, which), why, from))
}

// whichRow asks for one of the rows, each offered once however many versions of it are on the way.
func (f figures) whichRow(field web.Field, rows []web.Choice) web.Ask {
	q := web.Ask{Field: field}
	for _, c := range rows {
		if !slices.ContainsFunc(q.Choices, func(o web.Choice) bool { return o.Value == c.Value }) {
			q.Choices = append(q.Choices, c)
		}
	}
	return q
}

func readLimit(f *web.FormReader, t web.Typed) rules.LimitGas {
	if t.Act == actLimitOff {
		return readLimitOff(f)
	}
	a := rules.LimitGas{Agent: f.Name(agentField, true),
		Jurisdiction: f.Name(jurisdictionField, true)}
	a.Limit = web.PickOf(f, limitField, breathing.Kinds()...)
	if a.Limit != breathing.Ceiling {
		a.Minutes = readWindow(f)
	}
	a.Value, a.Unit = readConcentration(f)
	a.Standing = web.PickOf(f, standingField, breathing.Standings()...)
	a.Amendment = f.Amendment(false, "")
	if a.Edition == "" {
		f.Missing(web.EditionField())
	}
	return a
}

func readLimitOff(f *web.FormReader) rules.LimitGas {
	const parts = 4
	key := strings.SplitN(f.Get(limitRowField), "|", parts)
	if len(key) < parts {
		f.Unchosen(limitRowField)
		return rules.LimitGas{}
	}
	minutes, err := strconv.Atoi(key[3])
	if err != nil {
		f.Unchosen(limitRowField)
	}
	return rules.LimitGas{Agent: key[0], Jurisdiction: key[1], Limit: breathing.LimitKind(key[2]), Minutes: float64(minutes),
		Amendment: f.Amendment(true, "")}
}

// readWindow reads over what time a limit is averaged: 8 h, 15 min.
func readWindow(f *web.FormReader) float64 {
	text := f.Get(windowField)
	d, err := time.ParseDuration(strings.NewReplacer(" ", "", "min", "m").Replace(strings.ToLower(text)))
	if err != nil || d < time.Minute || d > 24*time.Hour || d%time.Minute != 0 {
		f.Unread(windowField, err, "is not a whole number of minutes up to 24 h. Write it like 8 h or 15 min.")
	}
	return d.Minutes()
}

// readConcentration reads a limit in the unit in which it is published.
func readConcentration(f *web.FormReader) (value float64, unit string) {
	text := f.Get(figureField)
	var unread error
	for _, d := range []quantity.Dimension{quantity.VolumeFraction, quantity.MassConcentration} {
		base, u, err := quantity.Parse(d, text)
		unread = errors.Join(unread, err)
		if err == nil && base > 0 {
			const digits = 9 // as it was written, without what the change of units leaves behind
			value, err = strconv.ParseFloat(strconv.FormatFloat(u.FromBase(base), 'g', digits, 64), 64)
			if err == nil {
				return value, u.Symbol()
			}
		}
	}
	f.Unread(figureField, unread, "can't be used. Write a number above zero with ppm, ppb, mg/m3 or ug/m3, such as 10 ppm.")
	return 0, ""
}

type limitsBody struct {
	Problem             string
	Breath              breathNow
	Required, GasLimits web.DatedTable
	Require, Limit      []web.AskForm
	// Unexposed says whether time outside of a class counts as zero.
	Unexposed string
	Unexpose  []web.AskForm
	Statement string
}

func (s *Pages) limitsPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l, a := s.figures(in.Site), web.LookOf(r), s.Attempt(r)
	body := limitsBody{Problem: a.Sentence(), Statement: f.Text(breathing.Statement()), Breath: f.breathNow(in.Snap, s.Lost(in.Snap)),
		Required: f.requiredTable(in.Snap.Air.Rows), GasLimits: f.limitTable(in.Snap),
		Require: f.requiredForms(l, in.Snap.Air.Rows, a), Limit: f.limitForms(l, in.Snap, a),
		Unexposed: f.unexposed(in.Snap), Unexpose: f.unexposedForms(l, in.Snap, a)}
	p := s.PageFor(web.Head{Name: "limits", Title: "Gases and limits"}, l, in).Streamed("air/limits")
	s.Show(w, r, http.StatusOK, p.With(body, "air.css"))
}

func (s *Pages) limitsParts(d *web.Drawing, in web.Visit, _ web.Look) {
	d.Part("part-breathing", s.figures(in.Site).breathNow(in.Snap, s.Lost(in.Snap)), "breathing-now")
}

// gasLines are the gases in a line each, as long as somebody vouches for them.
func (f figures) gasLines(snap *rules.Snapshot, lost bool) []gasLine {
	if lost {
		return nil
	}
	var lines []gasLine
	for _, b := range snap.Breathing {
		line := gasLine{Agent: b.Agent, Now: f.Text(b.Now)}
		worst := breathing.Within
		for _, found := range b.Findings {
			if found.Verdict == breathing.Over || worst == breathing.Within {
				worst = found.Verdict
			}
		}
		if len(b.Findings) > 0 {
			line.Verdict, line.Shape = f.Word(worst), verdictShape(worst)
		}
		lines = append(lines, line)
	}
	return lines
}

func verdictShape(v breathing.Verdict) string {
	return cmp.Or(map[breathing.Verdict]string{breathing.Within: "moving", breathing.Over: "stopped"}[v], "unproven")
}
