package dashboard

import (
	"html/template"
	"net/http"
	"strconv"

	"go.uber.org/zap"

	"wetside/dashboard/locale"
	"wetside/rules/truth"
	"wetside/sensors/quantity"
)

// probeBody is the life of one channel: its devices, checks, corrections and hand readings.
type probeBody struct {
	Look             look
	Receipt, Problem string
	Row              channelRow
	Room             string
	// Fitted says what is fitted, and OutOfService that nothing is.
	Fitted       string
	OutOfService bool
	Last         string // check, in words
	LastShape    string
	Due          *dueRow
	Ways         []link // in which it can be checked
	Correctable  bool
	Forms        probeForms
	InForce      string
	Suggested    string
	Devices      []deviceRow
	Checks       []checkRow
	Corrections  []correctionRow
	Hands        []handRow
	Findings     []findingCard
	Back         string
	Wide, Narrow template.HTML
	Lines        []string // what the lines of the drawing are, where there are two
}

type probeForms struct{ Fit, TakeOut, Hand, Correct askForm }

func (s *keepPages) probePage(w http.ResponseWriter, r *http.Request, in visit) {
	c, known := channelView(in.snap, r.PathValue("channel"))
	if !known {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("history.no-channel")})
		return
	}
	f, l := s.figures(in.site), lookOf(r)
	a := s.attempt(r)
	body := probeBody{Look: l, Receipt: s.receipt(r), Room: in.snap.Room}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	lost := s.lost(in.snap)
	body.Row = f.channelRow(c, lost)
	body.Row.History = "/rooms/" + in.snap.Room + "/" + historyHref(c.Channel.ID, l)
	life, _ := in.snap.Probes.Life(c.Channel.ID)
	life.Channel = c.Channel
	d := probeDrawing{f, l, life, a}
	d.state(&body)
	d.forms(&body)
	d.tables(&body)
	if err := d.chart(&body); err != nil {
		s.Log.Warn("the chart of a probe could not be drawn", zap.Error(err))
	}
	body.Findings = f.findings(in, l, c.Channel.ID, attempt{})
	for i := range body.Findings {
		body.Findings[i].Forms = nil // they are judged on the page of all probes
	}
	body.Back = "/rooms/" + in.snap.Room + "/probes" + lookQuery(l)
	p := s.pageFor("probe", l, in)
	p.Title = c.Channel.Name + " · " + in.snap.Name
	p.Styles = append(p.Styles, "office.css", "probe.css")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func lookQuery(l look) string {
	if l == red {
		return "?look=red"
	}
	return ""
}

// probeDrawing is the page of one channel being drawn.
type probeDrawing struct {
	figures
	look look
	life truth.Life
	a    attempt
}

// reading writes a value finely enough for a check.
func (d probeDrawing) reading(v float64) string {
	return d.withUnit(d.life.Channel.Dimension, v, d.life.Channel.Resolution/10)
}

// apart writes a difference with its sign.
func (d probeDrawing) apart(v float64) string {
	u := d.unit(d.life.Channel.Dimension)
	v = u.FromBase(v) - u.FromBase(0)
	sign := "+"
	if v < 0 {
		sign, v = "−", -v
	}
	return sign + d.number(v, max(2, locale.Decimals(d.life.Channel.Resolution/10))) + " " + locale.Symbol(u)
}

// size writes a difference without a sign.
func (d probeDrawing) size(v float64) string {
	u := d.unit(d.life.Channel.Dimension)
	return d.plain(round(u.FromBase(v)-u.FromBase(0))) + " " + locale.Symbol(u)
}

func round(v float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 4, 64), 64)
	if err != nil {
		return v
	}
	return short
}

func (d probeDrawing) state(b *probeBody) {
	l := d.life
	b.OutOfService = l.Out()
	switch now, fitted := l.Fitted(); {
	case fitted:
		b.Fitted = d.words.Say("probe.fitted", now.Probe, d.moment(now.From), now.By)
	case b.OutOfService:
		last := l.Fittings[len(l.Fittings)-1]
		b.Fitted = d.words.Say("probe.out", d.moment(last.To), last.By, last.Why)
	default:
		b.Fitted = d.words.Say("probe.unknown")
	}
	b.Correctable = l.Channel.Dimension != quantity.Contact
	for _, m := range truth.Methods(l.Channel.Kind) {
		title, _ := d.methodTitle(m)
		b.Ways = append(b.Ways, link{Href: d.checkHref(b.Room, m, 1), Text: title})
	}
	b.Last, b.LastShape = d.words.Say("probe.never-checked"), "unknown"
	if c, checked := l.Last(); checked {
		b.LastShape = verdictShape(c.Verdict)
		b.Last = d.words.Say("probe.last-check", d.day(c.At), d.apart(c.Verdict.Error), d.verdict(c.Verdict))
	}
	if due, overdue, ok := l.Due(d.now.Wall); ok {
		b.Due = &dueRow{Due: d.lastDay(due), State: d.words.Say("duties.in-time"), Shape: "moving"}
		if overdue {
			b.Due.State, b.Due.Shape = d.words.Say("duties.is-overdue"), "stopped"
		}
	}
	k := l.InForce(d.now.Wall)
	b.InForce = d.words.Say("probe.no-correction")
	if k.Slope != 1 || k.Offset != 0 {
		b.InForce = d.words.Say("probe.in-force", d.plain(round(k.Slope)), d.apart(k.Offset), d.moment(k.From))
	}
	if slope, offset, ok := l.Suggested(); ok {
		b.Suggested = d.words.Say("probe.suggested", d.plain(round(slope)), d.apart(offset))
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
		return d.words.Say("check.not-judged")
	case v.Passed():
		return d.words.Say("check.within", d.size(v.Allowed))
	}
	return d.words.Say("check.beyond", d.size(v.Allowed))
}

func (d probeDrawing) forms(b *probeBody) {
	sign := locale.Symbol(d.unit(d.life.Channel.Dimension))
	from := ask{Name: "from", Label: d.words.Say("field.from"), Hint: d.words.Say("hint.from")}
	b.Forms.Fit = d.asking(d.look, about{act: actFit, summary: d.words.Say("probe.fit"), button: d.words.Say("button.fit")}, d.a,
		ask{Name: "probe", Label: d.words.Say("field.probe"), Hint: d.words.Say("hint.probe")}, ask{Name: "make", Label: d.words.Say("field.make"), Hint: d.words.Say("hint.may-be-empty")},
		ask{Name: "accuracy", Label: d.words.Say("field.accuracy") + " (" + sign + ")", Hint: d.words.Say("hint.accuracy"), Mode: "decimal"}, from)
	b.Forms.TakeOut = d.asking(d.look, about{act: actTakeOut, summary: d.words.Say("probe.take-out"), button: d.words.Say("button.take-out")}, d.a,
		ask{Name: "why", Label: d.words.Say("field.why"), Hint: d.words.Say("hint.take-out")}, from)
	b.Forms.Hand = d.asking(d.look, about{act: actHand, summary: d.words.Say("probe.hand"), button: d.words.Say("button.hand")}, d.a,
		ask{Name: "value", Label: d.words.Say("field.value") + " (" + sign + ")", Mode: "decimal"},
		ask{Name: "with", Label: d.words.Say("field.with"), Hint: d.words.Say("hint.with")},
		ask{Name: "uncertainty", Label: d.words.Say("field.uncertainty") + " (" + sign + ")", Hint: d.words.Say("hint.uncertainty"), Mode: "decimal"})
	slope, offset := ask{Name: "slope", Label: d.words.Say("field.slope"), Value: "1", Mode: "decimal"}, ask{Name: "offset", Label: d.words.Say("field.offset") + " (" + sign + ")", Hint: d.words.Say("hint.offset")}
	if a, o, ok := d.life.Suggested(); ok {
		u := d.unit(d.life.Channel.Dimension)
		slope.Value, offset.Value = plain(round(a)), plain(round(u.FromBase(o)-u.FromBase(0)))
	}
	b.Forms.Correct = d.asking(d.look, about{act: actCorrect, summary: d.words.Say("probe.correct"), button: d.words.Say("button.correct")}, d.a,
		slope, offset, from, ask{Name: "why", Label: d.words.Say("field.why"), Hint: d.words.Say("hint.correct")})
}
