package dashboard

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/chart"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

// airBody is the page on which the air of a room is proven, and its evening begun and ended.
type airBody struct {
	Look                look
	Receipt             string
	Problem             string
	Todo                todo
	Sound               soundBox
	Now                 airNow
	Limits              ventilation.Limits
	Required, GasLimits datedTable
	Require, Limit      []askForm
	// Unexposed says whether time outside of a class counts as zero.
	Unexposed string
	Unexpose  []askForm
	Proof     link // to the traverse of the duct
	Test      link // to the tests by a gas
	// Commissioned says what the newest traverse has proven; empty when there was none.
	Commissioned string
	Notices      []string

	ChartProblem string
	Wide, Narrow template.HTML

	Session    sessionCard
	Begin, End askForm
	Complain   askForm

	Breath    breathNow
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
	// Key names the limit as the report does.
	Key                              string
	Limit, Edition, Standing, Source string
	Average, Coverage                string
	Verdict                          string
	Shape                            string // moving for within, low for can't tell, stopped for over
}

func (s *airPages) airPage(w http.ResponseWriter, r *http.Request, in visit) {
	f, l := s.figures(in.site), lookOf(r)
	lost := s.lost(in.snap)
	a := s.attempt(r)
	body := airBody{Look: l, Receipt: s.receipt(r), Statement: f.tell(breathing.Statement()), Sound: soundBoxOf(in.snap.Room, l),
		Todo: f.todo(in.snap, lost), Now: f.airNow(in.snap, lost), Session: f.sessionCard(in.snap.Session),
		Notices: f.worthKnowing(in.snap, lost), Breath: f.breathNow(in.snap, lost)}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	body.Limits, body.Required, body.GasLimits = in.snap.Air.Limits, f.requiredTable(in.snap.Air.Rows), f.limitTable(in.snap)
	body.Limits.Derivation = f.told(body.Limits.Derivation)
	body.Commissioned = f.commissioned(in.snap.Air.Commissioned)
	body.Proof, body.Test = f.below(l, "air/traverse", f.words.Say("air.to-traverse")), f.below(l, "air/test", f.words.Say("air.to-test"))
	body.Begin, body.End = f.sessionForms(l, in.snap.Session, a)
	body.Complain, body.Require, body.Limit = f.complainForm(l, a), f.requiredForms(l, in.snap.Air.Rows, a), f.limitForms(l, in.snap, a)
	body.Unexposed, body.Unexpose = f.unexposed(in.snap), f.unexposedForms(l, in.snap, a)
	if err := s.drawFlow(r.Context(), &body, f, in.snap); err != nil {
		s.Log.Warn("the flow of an evening could not be shown", zap.Error(err))
		body.ChartProblem = s.words.Say("history.problem", phrase.Error(err, f))
	}
	p := s.pageFor("air", l, in).streamed("air")
	p.Styles, p.Scripts = append(p.Styles, "air.css"), []string{"sound.js"}
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

// below leads to a page below one of the room's, in the same look.
func (f figures) below(l look, href, text string) link {
	if l == red {
		href += "?look=red"
	}
	return link{Href: href, Text: text}
}

// commissioned says in words what the newest traverse has proven.
func (f figures) commissioned(c rules.Commissioned) string {
	if c.Flow <= 0 {
		return ""
	}
	text := f.words.Say("air.commissioned-at", f.flow(c.Flow), c.Date.In(f.zone).Format(time.DateOnly), c.Instrument, c.Certificate)
	if c.Record != 0 {
		text += " " + f.words.Say("air.commissioned-record", c.Record)
	}
	if c.Uncertainty > 0 {
		text += " " + f.words.Say("air.uncertainty", f.number(float64(c.Uncertainty), 0))
	}
	if c.Design > 0 {
		text += " " + f.words.Say("air.design", f.flow(c.Design), f.number(float64(100*c.Flow/c.Design), 0))
	}
	if !c.Next.IsZero() {
		text += " " + f.words.Say("air.next-traverse", c.Next.In(f.zone).Format(time.DateOnly))
	}
	return text
}

func (f figures) complainForm(l look, a attempt) askForm {
	return f.asking(l, about{act: actComplain, summary: f.words.Say("air.complain"), button: f.words.Say("button.complain")}, a,
		ask{Name: "complaint", Label: f.words.Say("field.complaint"), Hint: f.words.Say("hint.complaint")})
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

func (f figures) sessionCard(v rules.SessionView) sessionCard {
	c := sessionCard{Phase: f.phaseWord(v.Phase), Line: f.sessionLine(v), Why: f.tell(v.Why), Sentence: f.tell(v.Sentence), Leader: v.Leader, Running: v.Phase.Running()}
	if !v.Since.IsZero() {
		c.Since = f.when(v.Since)
	}
	if v.Coverage != nil {
		c.Coverage, c.LongestGap = percent(*v.Coverage), f.tell(rules.Age(v.LongestGap))
		c.Open, c.Unproven, c.TrayUnproven = f.tell(rules.Age(v.Open)), f.tell(rules.Age(v.Unproven)), f.tell(rules.Age(v.TrayUnproven))
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
func (s *airPages) drawFlow(ctx context.Context, body *airBody, f figures, snap *rules.Snapshot) error {
	if snap.Air.Probe == "" || s.flows == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, seriesWithin)
	defer cancel()
	to := f.now.Wall
	sp := span{to.Add(-evening), to}
	series, err := s.flows.Flow(ctx, snap.Room, SeriesQuery{From: sp.from.UTC(), To: sp.to.UTC(), Points: chartPoints})
	if err != nil {
		return err
	}
	flow := f.airFlow()
	flow.Name = f.words.Say("air.flow")
	d := channelChart{figures: f, span: sp}
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
