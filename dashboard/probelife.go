package dashboard

import (
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/chart"
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
	Ice          bool // an ice point can be made of it
	Checkable    bool
	IceHref      string
	CompareHref  string
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

type (
	deviceRow     struct{ Probe, Make, Accuracy, From, To, Why, By string }
	checkRow      struct{ When, Method, Reference, With, Found, Left, Error, Verdict, Shape, Next, By, Note, Record, Probe string }
	correctionRow struct{ From, Slope, Offset, Known, By, Why string }
	handRow       struct{ When, Value, With, Probe, Apart, By string }
)

// probeRoutes are the pages of single probes.
func (s *Server) probeRoutes(mux *routes) {
	mux.HandleFunc("POST /rooms/{room}/probes", s.inRoom(s.probesPost))
	mux.HandleFunc("GET /rooms/{room}/probe/{channel}", s.inRoom(s.probePage))
	mux.HandleFunc("POST /rooms/{room}/probe/{channel}", s.inRoom(s.probePost))
	mux.HandleFunc("GET /rooms/{room}/probe/{channel}/check", s.inRoom(s.checkPage))
	mux.HandleFunc("POST /rooms/{room}/probe/{channel}/check", s.inRoom(s.probePost))
}

func (s *Server) probePage(w http.ResponseWriter, r *http.Request, in visit) {
	c, known := channelView(in.snap, r.PathValue("channel"))
	if !known {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("history.no-channel")})
		return
	}
	f, l := s.figures(in.site), lookOf(r)
	a := s.presses.attempt(r.URL.Query().Get("again"))
	body := probeBody{Look: l, Receipt: s.presses.receipt(r.URL.Query().Get("done")), Room: in.snap.Room}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	lost := s.hub.sightings.lost(in.snap)
	body.Row = f.channelRow(c, lost)
	body.Row.History = "/rooms/" + in.snap.Room + "/" + historyAt{figures: f, look: l}.channelHref(c.Channel.ID)
	life, _ := in.snap.Probes.Life(c.Channel.ID)
	life.Channel = c.Channel
	d := probeDrawing{f, l, life, a}
	d.state(&body)
	d.forms(&body)
	d.tables(&body)
	if err := d.chart(&body); err != nil {
		s.log.Warn("the chart of a probe could not be drawn", zap.Error(err))
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
	return sign + number(v, max(2, decimals(d.life.Channel.Resolution/10))) + " " + symbol(u)
}

// size writes a difference without a sign.
func (d probeDrawing) size(v float64) string {
	u := d.unit(d.life.Channel.Dimension)
	return plain(round(u.FromBase(v)-u.FromBase(0))) + " " + symbol(u)
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
	b.Checkable = l.Channel.Dimension != quantity.Contact
	b.Ice = l.Channel.Dimension == quantity.Temperature
	b.IceHref, b.CompareHref = d.checkHref(b.Room, truth.IcePoint, 1), d.checkHref(b.Room, truth.Reference, 1)
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
		b.InForce = d.words.Say("probe.in-force", plain(round(k.Slope)), d.apart(k.Offset), d.moment(k.From))
	}
	if slope, offset, ok := l.Suggested(); ok {
		b.Suggested = d.words.Say("probe.suggested", plain(round(slope)), d.apart(offset))
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
	sign := symbol(d.unit(d.life.Channel.Dimension))
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

// mostRows is how many rows of a kind are shown; the record book and the report hold all.
const mostRows = 20

// lastOnes gives the last rows of a list, the newest first.
func lastOnes[T any](list []T) []T {
	list = slices.Clone(list[max(0, len(list)-mostRows):])
	slices.Reverse(list)
	return list
}

func (d probeDrawing) tables(b *probeBody) {
	for _, x := range lastOnes(d.life.Fittings) {
		row := deviceRow{Probe: x.Probe, Make: x.Make, By: x.By, Why: x.Why, Accuracy: d.words.Say("probe.not-stated")}
		if x.Accuracy > 0 {
			row.Accuracy = "± " + d.size(x.Accuracy)
		}
		if x.Probe == "" {
			row.Probe = d.words.Say("probe.not-entered")
		}
		row.From, row.To = d.orDash(x.From), d.orDash(x.To)
		b.Devices = append(b.Devices, row)
	}
	for _, x := range lastOnes(d.life.Checks) {
		b.Checks = append(b.Checks, d.checkRow(x))
	}
	for _, x := range lastOnes(d.life.Corrections) {
		row := correctionRow{From: d.moment(x.From), Slope: plain(round(x.Slope)), Offset: d.apart(x.Offset), Known: d.words.Say("probe.by-settings"), By: x.Person, Why: x.Why}
		if x.Record > 0 {
			row.Known = d.words.Say("probe.known", d.moment(x.At), x.Record)
		}
		if x.Check > 0 {
			row.Why = d.words.Say("probe.by-check", x.Check)
		}
		b.Corrections = append(b.Corrections, row)
	}
	for _, x := range lastOnes(d.life.Hands) {
		row := handRow{When: d.moment(x.At), Value: d.reading(x.Value), With: x.With, By: x.Person, Probe: d.words.Say("no-value"), Apart: d.words.Say("no-value")}
		if apart, ok := d.life.Difference(x); ok {
			row.Probe, row.Apart = d.reading(x.Value+apart), d.apart(apart)
		}
		b.Hands = append(b.Hands, row)
	}
}

func (d probeDrawing) orDash(t time.Time) string {
	if t.IsZero() {
		return d.words.Say("probe.open")
	}
	return d.moment(t)
}

func (d probeDrawing) checkRow(x truth.Check) checkRow {
	row := checkRow{When: d.moment(x.At), Method: capital(string(x.Method)), Reference: d.reading(x.Reference) + " ± " + d.size(x.Uncertainty), With: x.Instrument,
		Found: d.reading(x.AsFound), Left: d.reading(x.Left), Error: d.apart(x.Verdict.Error), Verdict: d.verdict(x.Verdict), Shape: verdictShape(x.Verdict),
		By: x.Person, Note: x.Note, Record: strconv.FormatUint(x.Record, 10), Probe: x.Probe}
	if x.Certificate != "" {
		row.With = d.words.Say("check.with", x.Instrument, x.Certificate)
	}
	if x.Calculated {
		row.Left = d.words.Say("check.calculated", row.Left)
	}
	if !x.Next.IsZero() {
		row.Next = d.lastDay(x.Next)
	}
	return row
}

// chart draws by how much the probe was found off, by checks and hand readings.
func (d probeDrawing) chart(b *probeBody) (err error) {
	checks, hands := chart.Line{Name: d.words.Say("probe.by-checks")}, chart.Line{Name: d.words.Say("probe.by-hand")}
	for _, c := range d.life.Checks {
		checks.Points = append(checks.Points, d.offBy(c.At, c.Verdict.Error))
	}
	for _, h := range d.life.Hands {
		if off, ok := d.life.Difference(h); ok {
			hands.Points = append(hands.Points, d.offBy(h.At, off))
		}
	}
	c := chart.Chart{Title: d.words.Say("probe.chart"), Unit: symbol(d.unit(d.life.Channel.Dimension)), To: d.now.Wall, Zone: d.zone, Step: 0.01}
	for _, l := range []chart.Line{checks, hands} {
		if len(l.Points) < 2 {
			continue
		}
		c.Lines = append(c.Lines, l)
		if first := l.Points[0].At; c.From.IsZero() || first.Before(c.From) {
			c.From = first
		}
	}
	if len(c.Lines) == 0 {
		return nil
	}
	for i, l := range c.Lines {
		b.Lines = append(b.Lines, strconv.Itoa(i+1)+" "+l.Name)
	}
	c.From = c.From.Add(-c.To.Sub(c.From) / 20)
	c.Description = d.words.Say("probe.chart-told", len(checks.Points), len(hands.Points))
	c.ID, c.Width, c.Height = "wide", 1120, 260
	if b.Wide, err = drawn(c); err != nil {
		return err
	}
	c.ID, c.Width, c.Height = "narrow", 420, 260
	b.Narrow, err = drawn(c)
	return err
}

// offBy is a difference at a time, in the place's unit.
func (d probeDrawing) offBy(at time.Time, off float64) chart.Point {
	u := d.unit(d.life.Channel.Dimension)
	v := u.FromBase(off) - u.FromBase(0)
	return chart.Point{At: at, Min: v, Mean: v, Max: v}
}
