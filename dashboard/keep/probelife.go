package keep

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

type probeBody struct {
	Problem string
	Row     channelRow
	Room    string
	// Fitted says what is fitted, and OutOfService that nothing is.
	Fitted       string
	OutOfService bool
	// Flat says after what time a value that stands still counts as a fault.
	Flat        string
	Last        string // check, in words
	LastShape   string
	Due         *cards.DueRow
	Ways        []web.Link // in which it can be checked
	Correctable bool
	Forms       probeForms
	InForce     string
	Suggested   string
	Devices     []deviceRow
	Checks      []checkRow
	Corrections []correctionRow
	Hands       []handRow
	Findings    []cards.FindingCard
	Back        string
	Errors      []errorDrawing
}

// errorDrawing is by how much the probe was found off, for a screen and for a phone.
type errorDrawing struct {
	Title        string
	Wide, Narrow template.HTML
}

type probeForms struct{ Fit, TakeOut, Hand, Correct web.AskForm }

func (s *Pages) probePage(w http.ResponseWriter, r *http.Request, in web.Visit, c rules.ChannelView) {
	d := s.drawing(r, in, c)
	f, l := d.figures, d.look
	body := probeBody{Problem: d.a.Sentence(), Room: in.Snap.Room, Row: f.channelRow(in.Snap, c, s.Lost(in.Snap)),
		Flat: f.flat(*c.Channel, in.Snap.FlatAfter[c.Channel.ID])}
	body.Row.History = l.Keep("/rooms/" + in.Snap.Room + "/history?" + url.Values{"channel": {string(c.Channel.ID)}}.Encode())
	d.state(&body)
	d.forms(&body)
	d.tables(&body)
	if err := d.chart(&body); err != nil {
		s.Log.Warn("the chart of a probe could not be drawn", zap.Error(err))
	}
	body.Findings = f.Findings(in, l, c.Channel.ID, web.Attempt{})
	for i := range body.Findings {
		body.Findings[i] = body.Findings[i].Shown() // they are judged on the page of all probes
	}
	body.Back = l.Keep("/rooms/" + in.Snap.Room + "/probes")
	p := s.PageFor(web.Head{Name: "probe", Title: "Probe"}, l, in)
	p.Title = c.Channel.Name + " · " + in.Snap.Name
	s.Show(w, r, http.StatusOK, p.With(body, "office.css", "probe.css"))
}

// probeDrawing is the page of one channel being drawn.
type probeDrawing struct {
	figures
	look web.Look
	life truth.Life
	a    web.Attempt
}

func (s *Pages) drawing(r *http.Request, in web.Visit, c rules.ChannelView) probeDrawing {
	life, _ := in.Snap.Probes.Life(c.Channel.ID)
	life.Channel = *c.Channel
	return probeDrawing{s.figures(in.Site), web.LookOf(r), life, s.Attempt(r)}
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
	return sign + d.Number(v, max(2, quantity.Decimals(d.life.Channel.Resolution/10))) + " " + u.Label()
}

// size writes a difference without a sign.
func (d probeDrawing) size(v float64) string {
	u := d.Unit(d.life.Channel.Dimension)
	return d.Plain(round(u.FromBase(v)-u.FromBase(0))) + " " + u.Label()
}

func round(v float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 4, 64), 64)
	if err != nil {
		return v
	}
	return short
}

// flat says how long a value may stand still, or that this can't be told; nothing for a contact.
func (f figures) flat(c sensors.Channel, after time.Duration) string {
	switch {
	case c.Dimension == quantity.Contact:
		return ""
	case after == 0:
		return "A value that stands still is not taken for a fault here: too little was read so far, the readings are coarser than the noise " +
			"of this probe, or nothing it measures moves."
	}
	return fmt.Sprintf("A value that stands still for %d min counts as a fault.", int(math.Ceil(after.Minutes())))
}

func (d probeDrawing) state(b *probeBody) {
	l := d.life
	b.OutOfService = l.Out()
	switch now, fitted := l.Fitted(); {
	case fitted:
		b.Fitted = fmt.Sprintf("%s, since %s, entered by %s", now.Probe, d.Moment(now.From), now.By)
	case b.OutOfService:
		last := l.Fittings[len(l.Fittings)-1]
		b.Fitted = fmt.Sprintf("Taken out on %s by %s: %s. Readings don't count until a probe is fitted.", d.Moment(last.To), last.By, last.Why)
	default:
		b.Fitted = "No probe has been recorded here."
	}
	b.Correctable = l.Channel.Dimension != quantity.Contact
	for _, m := range truth.Methods(l.Channel.Kind) {
		title, _ := d.methodTitle(m)
		b.Ways = append(b.Ways, web.Link{Href: d.checkHref(b.Room, m, 1), Text: title})
	}
	b.Last, b.LastShape = d.lastCheck()
	if due, overdue, ok := l.Due(d.Now.Wall); ok {
		b.Due = &cards.DueRow{Due: d.LastDay(due), State: "in time", Shape: "moving"}
		if overdue {
			b.Due.State, b.Due.Shape = "overdue", "stopped"
		}
	}
	k := l.InForce(d.Now.Wall)
	b.InForce = "No correction: readings are used as sent."
	if k.Slope != 1 || k.Offset != 0 {
		b.InForce = fmt.Sprintf("In force: × %s %s, since %s", d.Plain(round(k.Slope)), d.apart(k.Offset), d.Moment(k.From))
	}
	if l.Inherited(d.Now.Wall) {
		b.Suggested = "This correction is older than the fitted probe: it was found for another one. Check this probe, or enter a correction " +
			"of slope 1 and offset 0."
	}
	if slope, offset, ok := l.Suggested(); ok {
		b.Suggested = fmt.Sprintf("The last ice point and the last comparison together suggest × %s %s.", d.Plain(round(slope)), d.apart(offset))
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
		return "Not judged: no accuracy is stated."
	case v.Passed():
		return fmt.Sprintf("Within the allowed %s.", d.size(v.Allowed))
	}
	return fmt.Sprintf("More than the allowed %s.", d.size(v.Allowed))
}

func (d probeDrawing) forms(b *probeBody) {
	sign := d.Unit(d.life.Channel.Dimension).Label()
	from := web.Ask{Field: fromField,
		Hint: "Left empty: now. Or a time like 2026-01-15 18:30, which only a manager may enter: it changes what earlier readings are worth."}
	fit := web.About{Act: actFit, Summary: "Fit a probe", Button: "Fit this probe"}
	if _, fitted := d.life.Fitted(); fitted {
		fit.Summary, fit.Button = "Replace this probe", "The new probe is in"
	}
	b.Forms.Fit = d.Asking(d.look, fit, d.a,
		web.Ask{Field: probeField, Hint: "as written on the probe; a correction found for another one ends"},
		web.Ask{Field: makeField, Hint: "may be left empty"},
		web.Ask{Field: accuracyField.In(sign), Hint: "from its data sheet; without it a check is not judged",
			Mode: "decimal"}, from)
	b.Forms.TakeOut = d.Asking(d.look, web.About{Act: actTakeOut, Summary: "Take out of service",
		Button: "Take out"}, d.a,
		web.Ask{Field: web.WhyField(), Hint: "such as: for a check in ice"}, from)
	b.Forms.Hand = d.Asking(d.look, web.About{Act: actHand, Summary: "Add a hand-thermometer reading", Button: "Save the reading"}, d.a,
		web.Ask{Field: valueField.In(sign), Mode: "decimal"},
		web.Ask{Field: withField, Hint: "such as: glass thermometer 2"},
		web.Ask{Field: uncertaintyField.In(sign), Hint: "such as 0.2; leave empty if unknown",
			Mode: "decimal"})
	slope, offset := web.Ask{Field: slopeField, Value: "1", Mode: "decimal"},
		web.Ask{Field: offsetField.In(sign), Hint: "A corrected reading is slope times raw reading plus offset."}
	if a, o, ok := d.life.Suggested(); ok {
		u := d.Unit(d.life.Channel.Dimension)
		slope.Value, offset.Value = web.Plain(round(a)), web.Plain(round(u.FromBase(o)-u.FromBase(0)))
	}
	b.Forms.Correct = d.Asking(d.look, web.About{Act: actCorrect, Summary: "Enter a correction",
		Button: "Apply this correction"}, d.a,
		slope, offset, from, web.Ask{Field: web.WhyField(), Hint: "the basis, such as: two checks on Tuesday"})
}

// lastCheck is what the last check of the fitted probe came to, with its shape.
func (d probeDrawing) lastCheck() (text, shape string) {
	c, checked := d.life.Last()
	if !checked {
		return "This probe was never checked here.", "unknown"
	}
	return fmt.Sprintf("Last check on %s: off by %s. %s", d.Day(c.At), d.apart(c.Verdict.Error), d.verdict(c.Verdict)), verdictShape(c.Verdict)
}
