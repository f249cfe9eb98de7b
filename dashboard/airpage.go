package dashboard

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"

	"go.uber.org/zap"

	"wetside/dashboard/chart"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// airBody is the page on which the air of a room is proven, and its evening begun and ended.
type airBody struct {
	Look     look
	Receipt  string
	Problem  string
	Air      airCard
	Source   string
	Limits   ventilation.Limits
	Conflict []ventilation.Contradiction
	FanStop  string
	Airing   string
	Notices  []string

	ChartProblem string
	Wide, Narrow template.HTML

	Session    sessionCard
	Begin, End askForm
	Complain   askForm

	Breathing []breathingCard
	Mixtures  []rules.MixtureView
	Statement string
}

// sessionCard is the evening in words and counts.
type sessionCard struct {
	Phase, Line, Why, Since, Sentence string
	Coverage, LongestGap, Open        string
	Unproven, TrayUnproven            string
	Leader, Next                      string
	Running                           bool
}

// breathingCard is one gas channel with its rows.
type breathingCard struct {
	rules.BreathingView
	Rows []breathingRow
}

// breathingRow is one limit and how the air stands to it.
type breathingRow struct {
	Limit, Edition, Standing, Source string
	Average, Coverage                string
	Verdict                          string
	Shape                            string // moving for within, low for can't tell, stopped for over
}

func (s *Server) airPage(w http.ResponseWriter, r *http.Request, in visit) {
	f, l := s.figures(in.site), lookOf(r)
	lost := s.hub.sightings.lost(in.snap)
	a := s.presses.attempt(r.URL.Query().Get("again"))
	body := airBody{Look: l, Receipt: s.presses.receipt(r.URL.Query().Get("done")), Air: f.airCard(in.snap.Air, lost), Statement: breathing.Statement}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	body.Source, body.Limits = in.snap.Air.Source, in.snap.Air.Limits
	body.Session = f.sessionCard(in.snap.Session)
	body.Begin, body.End = f.sessionForms(l, in.snap.Session, a)
	body.Complain = f.asking(l, about{act: actComplain, summary: f.words.Say("air.complain"), button: f.words.Say("button.complain")}, a,
		ask{Name: "complaint", Label: f.words.Say("field.complaint"), Hint: f.words.Say("hint.complaint")})
	if !lost {
		f.airNow(&body, in.snap)
	}
	if err := s.drawFlow(r.Context(), &body, f, in.snap); err != nil {
		s.log.Warn("the flow of an evening could not be shown", zap.Error(err))
		body.ChartProblem = s.words.Say("history.problem", err.Error())
	}
	p := s.pageFor("air", l, in)
	p.Styles = append(p.Styles, "air.css")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

// airNow fills in what holds at this moment alone.
func (f figures) airNow(body *airBody, snap *rules.Snapshot) {
	body.Conflict, body.Notices, body.Mixtures = snap.Air.Contradictions, snap.Notices, snap.Mixtures
	if snap.Air.FanStop != nil {
		body.FanStop = snap.Air.FanStop.Sentence
	}
	if snap.Purge != nil {
		body.Airing = snap.Purge.Sentence
	}
	for _, b := range snap.Breathing {
		card := breathingCard{BreathingView: b}
		for _, found := range b.Findings {
			card.Rows = append(card.Rows, f.breathingRow(found))
		}
		body.Breathing = append(body.Breathing, card)
	}
}

func (f figures) breathingRow(b breathing.Finding) breathingRow {
	l, unit := b.Limit, b.Limit.Unit.Symbol()
	kind := string(l.Kind)
	if l.Window > 0 {
		kind = f.words.Say("breathing.window", kind, f.length(l.Window))
	}
	row := breathingRow{Limit: f.words.Say("breathing.limit", l.Jurisdiction, kind, plain(l.Value), unit), Edition: l.Edition, Source: l.Source, Standing: string(l.Standing),
		Average: b.Average.Text(unit), Coverage: percent(b.Average.Coverage), Verdict: string(b.Verdict), Shape: "unproven"}
	switch b.Verdict {
	case breathing.Within:
		row.Shape = "moving"
	case breathing.Over:
		row.Shape = "stopped"
	}
	return row
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

func (f figures) sessionCard(v rules.SessionView) sessionCard {
	c := sessionCard{Phase: f.phaseWord(v.Phase), Line: f.sessionLine(v), Why: v.Why, Sentence: v.Sentence, Leader: v.Leader, Running: v.Phase.Running()}
	if !v.Since.IsZero() {
		c.Since = f.when(v.Since)
	}
	if v.Coverage != nil {
		c.Coverage, c.LongestGap = percent(*v.Coverage), rules.Age(v.LongestGap)
		c.Open, c.Unproven, c.TrayUnproven = rules.Age(v.Open), rules.Age(v.Unproven), rules.Age(v.TrayUnproven)
	}
	if v.Next != nil {
		c.Next = f.words.Say("session.planned", v.Next.Title, f.brief(v.Next.From), f.clock(v.Next.To))
	}
	return c
}

// sessionForms are for what a session can be brought to from where it stands.
func (f figures) sessionForms(l look, v rules.SessionView, a attempt) (begin, end askForm) {
	phase := func(p ...session.Phase) ask {
		q := ask{Name: "phase", Label: f.words.Say("field.phase"), Value: string(p[0])}
		for _, one := range p {
			q.Choices = append(q.Choices, choice{Value: string(one), Text: f.phaseWord(one)})
		}
		return q
	}
	title, people, until := v.Title, "", ""
	if v.People > 0 {
		people = fmt.Sprint(v.People)
	}
	if v.Phase.Running() && !v.To.IsZero() {
		until = f.clock(v.To)
	}
	begin = f.asking(l, about{act: actBegin, summary: f.words.Say("session.begin"), button: f.words.Say("button.begin")}, a,
		phase(session.Open, session.SetUp),
		ask{Name: "title", Label: f.words.Say("field.title"), Value: title},
		ask{Name: "people", Label: f.words.Say("field.people"), Hint: f.words.Say("hint.people"), Mode: "numeric", Value: people},
		ask{Name: "until", Label: f.words.Say("field.until"), Hint: f.words.Say("hint.until"), Value: until})
	end = f.asking(l, about{act: actEnd, summary: f.words.Say("session.end"), button: f.words.Say("button.end")}, a,
		phase(session.TakeDown, session.Closed), ask{Name: "note", Label: f.words.Say("field.note")})
	return begin, end
}

// drawFlow draws the flow of the evening against what it must be.
func (s *Server) drawFlow(ctx context.Context, body *airBody, f figures, snap *rules.Snapshot) error {
	probe, known := channelOf(snap, string(snap.Air.Probe))
	if snap.Air.Probe == "" || !known {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, seriesWithin)
	defer cancel()
	to := f.now.Wall
	sp := span{to.Add(-evening), to}
	series, err := s.view.Series(ctx, SeriesQuery{Channel: probe.ID, From: sp.from.UTC(), To: sp.to.UTC(), Points: chartPoints})
	if err != nil {
		return err
	}
	flow := probe
	flow.Name, flow.Dimension, flow.Resolution = f.words.Say("air.flow"), flowDimension, 1
	series.Points = flowPoints(snap.Air.Duct, probe.Kind, series.Points)
	d := drawHistory{f, snap, sp}
	c := d.chart(flow, series)
	if low := snap.Air.Limits.Low; low > 0 {
		unit := f.unit(flowDimension)
		c.Wanted = []chart.Band{{Low: unit.FromBase(float64(low)), High: math.Inf(1)}}
	}
	c.ID, c.Width, c.Height = "wide", 1120, 360
	if body.Wide, err = drawn(c); err != nil {
		return err
	}
	c.ID, c.Width, c.Height = "narrow", 420, 300
	body.Narrow, err = drawn(c)
	return err
}

// flowPoints turns readings of the probe into flows; one that can't be is left out
// as suspect.
func flowPoints(duct rules.Duct, kind sensors.Kind, points []SeriesPoint) []SeriesPoint {
	out := make([]SeriesPoint, 0, len(points))
	for _, p := range points {
		low, errLow := duct.FlowOf(kind, max(p.Min, 0))
		mean, errMean := duct.FlowOf(kind, max(p.Mean, 0))
		high, errHigh := duct.FlowOf(kind, max(p.Max, 0))
		p.Min, p.Mean, p.Max = float64(low), float64(mean), float64(high)
		p.Suspect = p.Suspect || errLow != nil || errMean != nil || errHigh != nil
		out = append(out, p)
	}
	return out
}
