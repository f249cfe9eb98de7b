package air

import (
	"cmp"
	"net/http"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/breathing"
)

type limitsBody struct {
	Look                web.Look
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
	body := limitsBody{Look: l, Statement: f.Text(breathing.Statement()), Breath: f.breathNow(in.Snap, s.Lost(in.Snap)),
		Required: f.requiredTable(in.Snap.Air.Rows), GasLimits: f.limitTable(in.Snap),
		Require: f.requiredForms(l, in.Snap.Air.Rows, a), Limit: f.limitForms(l, in.Snap, a),
		Unexposed: f.unexposed(in.Snap), Unexpose: f.unexposedForms(l, in.Snap, a)}
	body.Problem = a.Sentence()
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
		line := gasLine{Agent: b.Agent, Name: b.Name, Now: f.Text(b.Now)}
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
