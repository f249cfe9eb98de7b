package air

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

type airBody struct {
	Problem string
	Todo    cards.Todo
	Sound   cards.SoundBox
	Now     airNow
	Limits  ventilation.Limits
	Proof   web.Link // to the traverse of the duct
	Test    web.Link // to the tests by a gas
	More    web.Link // to the gases and their limits
	// Commissioned says what the newest traverse has proven; empty when there was none.
	Commissioned string
	Notices      []string

	ChartProblem string
	Flow         template.HTML

	Session    sessionCard
	Begin, End web.AskForm
	Complain   web.AskForm

	Gases []gasLine
}

// gasLine is a gas in one line: its newest reading and the worst verdict.
type gasLine struct{ Agent, Now, Verdict, Shape string }

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
	Key               string
	Limit             string
	Doubt             string // how sure the limit is; empty for a verified one
	Average, Coverage string
	Verdict, Why      string
	Shape             string // moving for within, low for can't tell, stopped for over
}

func (s *Pages) airPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l, lost, a := s.figures(in.Site), web.LookOf(r), s.Lost(in.Snap), s.Attempt(r)
	body := airBody{Problem: a.Sentence(), Sound: cards.SoundBoxOf(in.Snap.Room, l), Todo: f.Todo(in.Snap, lost),
		Now: f.airNow(in.Snap, lost), Session: f.sessionCard(in.Snap.Session), Notices: f.worthKnowing(in.Snap, lost),
		Gases: f.gasLines(in.Snap, lost), Limits: in.Snap.Air.Limits, Commissioned: f.commissioned(in.Snap.Air.Commissioned),
		Proof: l.Link("air/traverse", "Traverse of the duct"), Test: l.Link("air/test", "Test the air changes with a gas"),
		More: l.Link("air/limits", "Gases and limits")}
	body.Limits.Derivation = f.InUnits(body.Limits.Derivation)
	body.Begin, body.End = f.sessionForms(l, in.Snap.Session, a)
	smell := complaint()
	body.Complain = f.Asking(l, smell.about, a, smell.asks...)
	if err := s.drawFlow(r.Context(), &body, f, in.Snap); err != nil {
		s.Log.Warn("the flow of an evening could not be shown", zap.Error(err))
		body.ChartProblem = fmt.Sprintf("The history could not be read: %s", phrase.Error(err, f))
	}
	p := s.PageFor(web.Head{Name: "air", Title: "Air"}, l, in).Streamed("air")
	p.Styles, p.Scripts = append(p.Styles, "air.css"), []string{"sound.js"}
	s.Show(w, r, http.StatusOK, p.With(body))
}

// commissioned says in words what the newest traverse has proven.
func (f figures) commissioned(c rules.Commissioned) string {
	if c.Flow <= 0 {
		return ""
	}
	text := fmt.Sprintf("Commissioned at %s on %s with %s, certificate %s", f.flow(c.Flow), f.Day(c.Date), c.Instrument, c.Certificate)
	if !c.Traverse.IsZero() {
		text += ": " + f.Text(c.Traverse)
	}
	text += "."
	if c.Uncertainty > 0 {
		text += " " + fmt.Sprintf("Uncertainty ± %s %% (k = 2).", f.Number(float64(c.Uncertainty), 1))
	}
	if c.Design > 0 {
		text += " " + fmt.Sprintf("Design flow %s: %s %% of it.", f.flow(c.Design), f.Number(float64(100*c.Flow/c.Design), 0))
	}
	if !c.Next.IsZero() {
		text += " " + fmt.Sprintf("Next traverse due by %s.", f.Day(c.Next))
	}
	return text
}

// percent is never rounded up: what is not known of a session is not claimed.
func percent(share float64) string { return fmt.Sprintf("%.0f %%", math.Floor(100*share+1e-9)) }

func (f figures) sessionCard(v rules.SessionView) sessionCard {
	c := sessionCard{Phase: f.PhaseWord(v.Phase), Line: f.SessionLine(v), Why: f.Text(v.Why), Sentence: f.Text(v.Sentence), Leader: v.Leader,
		Running: v.Phase.Running()}
	if !v.Since.IsZero() {
		c.Since = f.When(v.Since)
	}
	if v.Coverage != nil {
		c.Coverage, c.LongestGap = percent(*v.Coverage), report.Lasted(v.LongestGap)
		c.Open, c.Unproven, c.TrayUnproven = report.Lasted(v.Open), report.Lasted(v.Unproven), report.Lasted(v.TrayUnproven)
	}
	if v.Next != nil {
		c.Next = fmt.Sprintf("%s, %s to %s", v.Next.Title, f.Brief(v.Next.From), f.TimeOfDay(v.Next.To))
	}
	return c
}

// sessionForms are for what a session can be brought to from where it stands.
func (f figures) sessionForms(l web.Look, v rules.SessionView, a web.Attempt) (begin, end web.AskForm) {
	phase := func(p ...session.Phase) web.Ask {
		q := web.Ask{Field: phaseField, Value: string(p[0])}
		for _, one := range p {
			q.Choices = append(q.Choices, web.Choice{Value: string(one), Text: f.PhaseWord(one)})
		}
		return q
	}
	title, people, until := v.Title, "", ""
	if v.People > 0 {
		people = fmt.Sprint(v.People)
	}
	if v.Phase.Running() && !v.To.IsZero() {
		until = f.TimeOfDay(v.To)
	}
	begin = f.Asking(l, web.About{Act: actBegin, Summary: "Start or change the session", Button: "Start session"}, a,
		phase(session.Open, session.SetUp),
		web.Ask{Field: titleField, Value: title},
		web.Ask{Field: peopleField, Hint: "including you; leave empty if unknown", Mode: "numeric", Value: people},
		web.Ask{Field: untilField, Hint: "such as 21:00; left empty: as in the calendar", Value: until})
	end = f.Asking(l, web.About{Act: actEnd, Summary: "End the session", Button: "End session"}, a,
		phase(session.TakeDown, session.Closed), web.Ask{Field: web.NoteField()})
	return begin, end
}

// beforeSession is how much of the flow is shown from before a session: the fan comes first.
const beforeSession = 15 * time.Minute

// drawFlow draws the flow of the evening against what it must be.
func (s *Pages) drawFlow(ctx context.Context, body *airBody, f figures, snap *rules.Snapshot) error {
	if snap.Air.Probe == "" || s.Flows == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, cards.SeriesWithin)
	defer cancel()
	to := f.Now.Wall
	sp := coverage.Span{From: to.Add(-cards.Evening), To: to}
	if s := snap.Session; s.Phase.Running() && !s.Counted.Begun.IsZero() {
		sp.From = s.Counted.Begun.Add(-beforeSession)
	}
	series, err := s.Flows.Flow(ctx, snap.Room, web.SeriesQuery{From: sp.From.UTC(), To: sp.To.UTC(), Points: cards.ChartPoints})
	if err != nil {
		return err
	}
	flow := f.AirFlow()
	flow.Name = "Flow"
	d := cards.ChannelChart{Figures: f.Figures, Span: sp}
	c := d.Chart(flow, series)
	if low := snap.Air.Limits.Low; low > 0 {
		unit := f.Unit(cards.FlowDimension)
		c.Wanted = []chart.Band{{Low: unit.FromBase(float64(low)), High: math.Inf(1)}}
	}
	c.ID, c.Width, c.Height = "tonight", 420, 250
	body.Flow, err = cards.Drawn(c)
	return err
}

func readBegin(f *web.FormReader, _ web.Typed) rules.StartSession {
	act := rules.StartSession{Phase: web.PickOf(f, phaseField, session.SetUp, session.Open)}
	act.Title = f.Name(titleField, false)
	if f.Get(peopleField) != "" {
		act.People = readCrowd(f, peopleField)
	}
	act.Until = f.Until(f.Get(untilField))
	return act
}

func readCrowd(f *web.FormReader, field web.Field) int {
	n, err := strconv.Atoi(f.Get(field))
	if err != nil || n < 0 || n > web.MostPeople {
		f.Unread(field, err, "is not a whole number from 0 to %d.", web.MostPeople)
	}
	return n
}
