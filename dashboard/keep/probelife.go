package keep

import (
	"html/template"
	"math"
	"net/http"
	"strconv"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/locale"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors/quantity"
)

// probeBody is the life of one channel: its devices, checks, corrections and hand readings.
type probeBody struct {
	Look             web.Look
	Receipt, Problem string
	Row              channelRow
	Room             string
	// Fitted says what is fitted, and OutOfService that nothing is.
	Fitted       string
	OutOfService bool
	// Flat says after what time a value that stands still counts as a fault.
	Flat         string
	Last         string // check, in words
	LastShape    string
	Due          *cards.DueRow
	Ways         []web.Link // in which it can be checked
	Correctable  bool
	Forms        probeForms
	InForce      string
	Suggested    string
	Devices      []deviceRow
	Checks       []checkRow
	Corrections  []correctionRow
	Hands        []handRow
	Findings     []cards.FindingCard
	Back         string
	Wide, Narrow template.HTML
	Lines        []string // what the lines of the drawing are, where there are two
}

type probeForms struct{ Fit, TakeOut, Hand, Correct web.AskForm }

func (s *Pages) probePage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	c, known := cards.ChannelView(in.Snap, r.PathValue("channel"))
	if !known {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: s.Words.Say("history.no-channel")})
		return
	}
	f, l := s.figures(in.Site), web.LookOf(r)
	a := s.Attempt(r)
	body := probeBody{Look: l, Receipt: s.Receipt(r), Room: in.Snap.Room}
	if a.Problem != nil {
		body.Problem = a.Problem.Sentence
	}
	lost := s.Lost(in.Snap)
	body.Row = f.channelRow(c, lost)
	body.Row.History = "/rooms/" + in.Snap.Room + "/" + cards.HistoryHref(c.Channel.ID, l)
	life, _ := in.Snap.Probes.Life(c.Channel.ID)
	life.Channel = c.Channel
	d := probeDrawing{f, l, life, a}
	d.state(&body)
	body.Flat = f.flat(c)
	d.forms(&body)
	d.tables(&body)
	if err := d.chart(&body); err != nil {
		s.Log.Warn("the chart of a probe could not be drawn", zap.Error(err))
	}
	body.Findings = f.Findings(in, l, c.Channel.ID, web.Attempt{})
	for i := range body.Findings {
		body.Findings[i].Forms = nil // they are judged on the page of all probes
	}
	body.Back = "/rooms/" + in.Snap.Room + "/probes" + lookQuery(l)
	p := s.PageFor("probe", l, in)
	p.Title = c.Channel.Name + " · " + in.Snap.Name
	p.Styles = append(p.Styles, "office.css", "probe.css")
	p.Body = body
	s.Show(w, r, http.StatusOK, p)
}

func lookQuery(l web.Look) string {
	if l == web.Red {
		return "?look=red"
	}
	return ""
}

// probeDrawing is the page of one channel being drawn.
type probeDrawing struct {
	figures
	look web.Look
	life truth.Life
	a    web.Attempt
}

// reading writes a value finely enough for a check.
func (d probeDrawing) reading(v float64) string {
	return d.WithUnit(d.life.Channel.Dimension, v, d.life.Channel.Resolution/10)
}

// apart writes a difference with its sign.
func (d probeDrawing) apart(v float64) string {
	u := d.Unit(d.life.Channel.Dimension)
	v = u.FromBase(v) - u.FromBase(0)
	sign := "+"
	if v < 0 {
		sign, v = "−", -v
	}
	return sign + d.Number(v, max(2, locale.Decimals(d.life.Channel.Resolution/10))) + " " + locale.Symbol(u)
}

// size writes a difference without a sign.
func (d probeDrawing) size(v float64) string {
	u := d.Unit(d.life.Channel.Dimension)
	return d.Plain(round(u.FromBase(v)-u.FromBase(0))) + " " + locale.Symbol(u)
}

func round(v float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 4, 64), 64)
	if err != nil {
		return v
	}
	return short
}

// flat says how long a value may stand still, or that this can't be told; nothing for a contact.
func (f figures) flat(c rules.ChannelView) string {
	switch {
	case c.Channel.Dimension == quantity.Contact:
		return ""
	case c.FlatAfter == 0:
		return f.Words.Say("probe.flat-unknown")
	}
	return f.Words.Say("probe.flat-after", int(math.Ceil(c.FlatAfter.Minutes())))
}

func (d probeDrawing) state(b *probeBody) {
	l := d.life
	b.OutOfService = l.Out()
	switch now, fitted := l.Fitted(); {
	case fitted:
		b.Fitted = d.Words.Say("probe.fitted", now.Probe, d.Moment(now.From), now.By)
	case b.OutOfService:
		last := l.Fittings[len(l.Fittings)-1]
		b.Fitted = d.Words.Say("probe.out", d.Moment(last.To), last.By, last.Why)
	default:
		b.Fitted = d.Words.Say("probe.unknown")
	}
	b.Correctable = l.Channel.Dimension != quantity.Contact
	for _, m := range truth.Methods(l.Channel.Kind) {
		title, _ := d.methodTitle(m)
		b.Ways = append(b.Ways, web.Link{Href: d.checkHref(b.Room, m, 1), Text: title})
	}
	b.Last, b.LastShape = d.Words.Say("probe.never-checked"), "unknown"
	if c, checked := l.Last(); checked {
		b.LastShape = verdictShape(c.Verdict)
		b.Last = d.Words.Say("probe.last-check", d.day(c.At), d.apart(c.Verdict.Error), d.verdict(c.Verdict))
	}
	if due, overdue, ok := l.Due(d.Now.Wall); ok {
		b.Due = &cards.DueRow{Due: d.LastDay(due), State: d.Words.Say("duties.in-time"), Shape: "moving"}
		if overdue {
			b.Due.State, b.Due.Shape = d.Words.Say("duties.is-overdue"), "stopped"
		}
	}
	k := l.InForce(d.Now.Wall)
	b.InForce = d.Words.Say("probe.no-correction")
	if k.Slope != 1 || k.Offset != 0 {
		b.InForce = d.Words.Say("probe.in-force", d.Plain(round(k.Slope)), d.apart(k.Offset), d.Moment(k.From))
	}
	if slope, offset, ok := l.Suggested(); ok {
		b.Suggested = d.Words.Say("probe.suggested", d.Plain(round(slope)), d.apart(offset))
	}
}

func verdictShape(v truth.Verdict) string {
	switch {
	case !v.Known:
		return "unknown"
	case v.Passed():
		return "moving"
	}
	return "stopped"
}

func (d probeDrawing) verdict(v truth.Verdict) string {
	switch {
	case !v.Known:
		return d.Words.Say("check.not-judged")
	case v.Passed():
		return d.Words.Say("check.within", d.size(v.Allowed))
	}
	return d.Words.Say("check.beyond", d.size(v.Allowed))
}

func (d probeDrawing) forms(b *probeBody) {
	sign := locale.Symbol(d.Unit(d.life.Channel.Dimension))
	from := web.Ask{Name: "from", Label: d.Words.Say("field.from"), Hint: d.Words.Say("hint.from")}
	b.Forms.Fit = d.Asking(d.look, web.About{Act: actFit, Summary: d.Words.Say("probe.fit"), Button: d.Words.Say("button.fit")}, d.a,
		web.Ask{Name: "probe", Label: d.Words.Say("field.probe"), Hint: d.Words.Say("hint.probe")}, web.Ask{Name: "make",
			Label: d.Words.Say("field.make"), Hint: d.Words.Say("hint.may-be-empty")},
		web.Ask{Name: "accuracy", Label: d.Words.Say("field.accuracy") + " (" + sign + ")", Hint: d.Words.Say("hint.accuracy"),
			Mode: "decimal"}, from)
	b.Forms.TakeOut = d.Asking(d.look, web.About{Act: actTakeOut, Summary: d.Words.Say("probe.take-out"),
		Button: d.Words.Say("button.take-out")}, d.a,
		web.Ask{Name: "why", Label: d.Words.Say("field.why"), Hint: d.Words.Say("hint.take-out")}, from)
	b.Forms.Hand = d.Asking(d.look, web.About{Act: actHand, Summary: d.Words.Say("probe.hand"), Button: d.Words.Say("button.hand")}, d.a,
		web.Ask{Name: "value", Label: d.Words.Say("field.value") + " (" + sign + ")", Mode: "decimal"},
		web.Ask{Name: "with", Label: d.Words.Say("field.with"), Hint: d.Words.Say("hint.with")},
		web.Ask{Name: "uncertainty", Label: d.Words.Say("field.uncertainty") + " (" + sign + ")", Hint: d.Words.Say("hint.uncertainty"),
			Mode: "decimal"})
	slope, offset := web.Ask{Name: "slope", Label: d.Words.Say("field.slope"), Value: "1", Mode: "decimal"}, web.Ask{Name: "offset",
		Label: d.Words.Say("field.offset") + " (" + sign + ")", Hint: d.Words.Say("hint.offset")}
	if a, o, ok := d.life.Suggested(); ok {
		u := d.Unit(d.life.Channel.Dimension)
		slope.Value, offset.Value = web.Plain(round(a)), web.Plain(round(u.FromBase(o)-u.FromBase(0)))
	}
	b.Forms.Correct = d.Asking(d.look, web.About{Act: actCorrect, Summary: d.Words.Say("probe.correct"),
		Button: d.Words.Say("button.correct")}, d.a,
		slope, offset, from, web.Ask{Name: "why", Label: d.Words.Say("field.why"), Hint: d.Words.Say("hint.correct")})
}
