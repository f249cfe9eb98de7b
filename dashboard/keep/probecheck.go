package keep

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/locale"
	"wetside/dashboard/web"
	"wetside/rules/truth"
	"wetside/sensors"
)

// checkBody is one step of a guided check; one thing is done at a time.
type checkBody struct {
	Look             web.Look
	Receipt, Problem string
	Channel, Method  string
	Number, Of       int
	Progress         string
	Title, Text      string
	Picture          string
	Source           string
	// Waiting is the step at which the probe is to become steady.
	Waiting *waitingCard
	// Form is the last step.
	Form           *web.AskForm
	Before, Next   string // addresses; empty where there is none
	TakeOut, Probe string // addresses of the page of the probe
}

// waitingCard says what the probe reads and whether it is steady yet.
type waitingCard struct {
	Value, Word, Shape, Told string
	Steady                   bool
}

// checkStep is a step in words, with its picture.
type checkStep struct {
	word    string // of the title; the text has the same key with "-text" behind it
	text    string
	picture string
	waits   bool
}

// checkSteps are what is done for a check of a kind of probe, one after another.
func (s *Pages) checkSteps(m truth.Method, k sensors.Kind) []checkStep {
	enter := checkStep{word: s.Words.Say("check.enter"), text: s.Words.Say("check.enter-text"), picture: "write"}
	wait := checkStep{word: s.Words.Say("check.wait"), text: s.Words.Say("check.wait-text"), picture: "probe-in", waits: true}
	switch m {
	case truth.Reference:
		return append(s.compareSteps(k), wait, enter)
	case truth.ZeroPoint:
		return []checkStep{s.zeroStep(k), wait, enter}
	case truth.Switching:
		return []checkStep{{word: s.Words.Say("switching.do"), text: s.Words.Say("switching.do-text"), picture: "write"}, enter}
	}
	return []checkStep{
		{word: s.Words.Say("ice.out"), text: s.Words.Say("ice.out-text"), picture: "lift"},
		{word: s.Words.Say("ice.crush"), text: s.Words.Say("ice.crush-text"), picture: "ice"},
		{word: s.Words.Say("ice.water"), text: s.Words.Say("ice.water-text"), picture: "slush"},
		{word: s.Words.Say("ice.put"), text: s.Words.Say("ice.put-text"), picture: "stir"}, wait, enter}
}

// compareSteps bring a probe and a reference to the same thing.
func (s *Pages) compareSteps(k sensors.Kind) []checkStep {
	switch {
	case k == sensors.BathTemperature || k == sensors.WaterTemperature:
		return []checkStep{{word: s.Words.Say("compare.take"), text: s.Words.Say("compare.take-text"), picture: "two-probes"},
			{word: s.Words.Say("compare.stir"), text: s.Words.Say("compare.stir-text"), picture: "stir"}}
	case k == sensors.DuctVelocity || k == sensors.VolumeFlow:
		return []checkStep{{word: s.Words.Say("compare.stream"), text: s.Words.Say("compare.stream-text"), picture: "two-probes"}}
	case k.MovesWithAir():
		return []checkStep{{word: s.Words.Say("compare.ports"), text: s.Words.Say("compare.ports-text"), picture: "two-probes"}}
	case k.IsGas():
		return []checkStep{{word: s.Words.Say("compare.gas"), text: s.Words.Say("compare.gas-text"), picture: "two-probes"}}
	}
	return []checkStep{{word: s.Words.Say("compare.air"), text: s.Words.Say("compare.air-text"), picture: "two-probes"}}
}

// zeroStep gives a probe nothing to measure.
func (s *Pages) zeroStep(k sensors.Kind) checkStep {
	switch {
	case k.IsGas():
		return checkStep{word: s.Words.Say("zero.gas"), text: s.Words.Say("zero.gas-text"), picture: "lift"}
	case k == sensors.VelocityPressure || k == sensors.RoomPressure:
		return checkStep{word: s.Words.Say("zero.ports"), text: s.Words.Say("zero.ports-text"), picture: "lift"}
	}
	return checkStep{word: s.Words.Say("zero.cover"), text: s.Words.Say("zero.cover-text"), picture: "lift"}
}

// methodOf is the method of an address, or the first one that fits the kind.
func methodOf(text string, k sensors.Kind) truth.Method {
	fitting := truth.Methods(k)
	for _, m := range fitting {
		if methodName(m) == text {
			return m
		}
	}
	return fitting[0]
}

func methodName(m truth.Method) string {
	switch m {
	case truth.Reference:
		return "reference"
	case truth.ZeroPoint:
		return "zero"
	case truth.Switching:
		return "switching"
	}
	return "ice"
}

// methodTitle is a method as a button names it, and where its steps are from.
func (f figures) methodTitle(m truth.Method) (title, source string) {
	switch m {
	case truth.Reference:
		return f.Words.Say("check.reference"), f.Words.Say("check.reference-source")
	case truth.ZeroPoint:
		return f.Words.Say("check.zero"), f.Words.Say("check.zero-source")
	case truth.Switching:
		return f.Words.Say("check.switching"), f.Words.Say("check.zero-source")
	}
	return f.Words.Say("check.ice"), f.Words.Say("check.ice-source")
}

// checkHref is the address of a step of a check.
func (d probeDrawing) checkHref(room string, m truth.Method, step int) string {
	q := url.Values{"method": {methodName(m)}, "step": {strconv.Itoa(step)}}
	if d.look == web.Red {
		q.Set("look", string(web.Red))
	}
	return fmt.Sprintf("/rooms/%s/probe/%s/check?%s", room, d.life.Channel.ID, q.Encode())
}

func (s *Pages) checkPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	c, known := cards.ChannelView(in.Snap, r.PathValue("channel"))
	if !known {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: s.Words.Say("history.no-channel")})
		return
	}
	life, _ := in.Snap.Probes.Life(c.Channel.ID)
	life.Channel = c.Channel
	a := s.Attempt(r)
	d := probeDrawing{s.figures(in.Site), web.LookOf(r), life, a}
	method, steps, number := s.stepOf(r.URL.Query(), a, c.Channel.Kind)
	body := checkBody{Look: d.look, Receipt: s.Receipt(r), Channel: c.Channel.Name, Number: number, Of: len(steps),
		Probe: cards.ProbeHref(in.Snap.Room, c.Channel.ID, d.look)}
	body.Method, body.Source = d.methodTitle(method)
	if a.Problem != nil {
		body.Problem = a.Problem.Sentence
	}
	step := steps[number-1]
	body.Title, body.Text, body.Picture = step.word, step.text, step.picture
	body.Progress = s.Words.Say("check.step", number, len(steps))
	if number > 1 {
		body.Before = d.checkHref(in.Snap.Room, method, number-1)
	}
	if number < len(steps) {
		body.Next = d.checkHref(in.Snap.Room, method, number+1)
	}
	p := s.PageFor("check", d.look, in)
	p.Title = body.Method + " · " + c.Channel.Name
	p.Styles = append(p.Styles, "probe.css")
	if step.waits || number == len(steps) {
		still := s.steadiness(r.Context(), c.Channel)
		if step.waits {
			body.Waiting, p.Refresh, p.Scripts = d.waiting(method, still), 5, append(p.Scripts, "steady.js")
		} else if body.Receipt == "" {
			form := d.checkForm(method, still)
			body.Form = &form
		}
	}
	p.Stay = template.URL(url.Values{"method": {methodName(method)}, "step": {strconv.Itoa(number)}}.Encode()) //nolint:gosec // it is encoded
	p.Body = body
	s.Show(w, r, http.StatusOK, p)
}

// stepOf reads which step of which check is meant; a form that came back is the last.
func (s *Pages) stepOf(q url.Values, a web.Attempt, k sensors.Kind) (m truth.Method, steps []checkStep, number int) {
	m = methodOf(q.Get("method"), k)
	if a.Problem != nil {
		m = methodOf(a.Typed.More.Get("method"), k)
	}
	steps = s.checkSteps(m, k)
	number, err := strconv.Atoi(q.Get("step"))
	if err != nil || number < 1 {
		number = 1
	}
	if a.Problem != nil || q.Has("done") || number > len(steps) {
		number = len(steps)
	}
	return m, steps, number
}

// steadyPoints are more than the readings of the time that is looked at.
const steadyPoints = 2000

// steadiness looks at what a probe said in the last minutes, believed or not: in ice it
// reads what no bath does.
func (s *Pages) steadiness(ctx context.Context, c sensors.Channel) truth.Steadiness {
	ctx, cancel := context.WithTimeout(ctx, cards.SeriesWithin)
	defer cancel()
	now := s.Clock.Now().Wall
	series, err := s.Readings.Series(ctx, web.SeriesQuery{Channel: c.ID, From: now.Add(-truth.SteadyFor), To: now.Add(time.Second),
		Points: steadyPoints})
	if err != nil {
		s.Log.Warn("the last readings of a probe could not be read", zap.String("channel", string(c.ID)), zap.Error(err))
		return truth.Steadiness{}
	}
	var readings []truth.Moment
	for _, p := range series.Points {
		readings = append(readings, truth.Moment{At: p.At, Value: p.Mean})
	}
	return truth.Steady(readings, now, c.Resolution)
}

// farFromIce says whether a probe that is to stand in ice reads what no slush does: more
// than a worn probe is off.
func farFromIce(m truth.Method, s truth.Steadiness) bool {
	const worn = 5 // °C
	return m == truth.IcePoint && math.Abs(s.Mean-truth.IceTemperature) > worn
}

func (d probeDrawing) waiting(m truth.Method, s truth.Steadiness) *waitingCard {
	switch {
	case s.Known && farFromIce(m, s):
		return &waitingCard{Value: d.reading(s.Mean), Word: d.Words.Say("steady.far"), Shape: "low",
			Told: d.Words.Say("steady.told", s.N, d.apart(s.Trend), d.size(s.Scatter))}
	case !s.Known:
		return &waitingCard{Word: d.Words.Say("steady.unknown"), Shape: "unknown", Told: d.Words.Say("steady.unknown-why")}
	case !s.Steady:
		return &waitingCard{Value: d.reading(s.Mean), Word: d.Words.Say("steady.not"), Shape: "low",
			Told: d.Words.Say("steady.told", s.N, d.apart(s.Trend), d.size(s.Scatter))}
	}
	return &waitingCard{Value: d.reading(s.Mean), Word: d.Words.Say("steady.yes"), Shape: "moving", Steady: true,
		Told: d.Words.Say("steady.told", s.N, d.apart(s.Trend), d.size(s.Scatter))}
}

// checkForm is the last step, with what the page knows filled in.
func (d probeDrawing) checkForm(m truth.Method, still truth.Steadiness) web.AskForm {
	u := d.Unit(d.life.Channel.Dimension)
	sign := " (" + locale.Symbol(u) + ")"
	found, uncertainty := "", ""
	if still.Steady && !farFromIce(m, still) {
		found = web.Number(u.FromBase(still.Mean), max(2, locale.Decimals(d.life.Channel.Resolution/10)))
	}
	asks := []web.Ask{{Name: "as-found", Label: d.Words.Say("field.as-found") + sign, Hint: d.Words.Say("hint.as-found"), Value: found,
		Mode: "decimal"}}
	switch m {
	case truth.Reference:
		asks = []web.Ask{asks[0], {Name: "reference", Label: d.Words.Say("field.reference") + sign, Mode: "decimal"},
			{Name: "instrument", Label: d.Words.Say("field.instrument")}}
	case truth.Switching:
		return d.switchingForm()
	case truth.IcePoint:
		uncertainty = web.Plain(round(u.FromBase(truth.IceUncertainty) - u.FromBase(0)))
	}
	asks = append(asks,
		web.Ask{Name: "uncertainty", Label: d.Words.Say("check.uncertainty") + sign, Hint: d.Words.Say("hint.reference-uncertainty"),
			Value: uncertainty, Mode: "decimal"},
		web.Ask{Name: "certificate", Label: d.Words.Say("field.certificate"), Hint: d.Words.Say("hint.may-be-empty")},
		web.Ask{Name: "correct", Label: d.Words.Say("field.correct"), Value: "no",
			Choices: []web.Choice{{Value: "no", Text: d.Words.Say("choice.no-correct")}, {Value: "yes", Text: d.Words.Say("choice.correct")}}},
		web.Ask{Name: "as-left", Label: d.Words.Say("field.as-left") + sign, Hint: d.Words.Say("hint.as-left"), Mode: "decimal"},
		web.Ask{Name: "next", Label: d.Words.Say("field.next"), Hint: d.Words.Say("hint.next")},
		web.Ask{Name: "note", Label: d.Words.Say("field.note"), Hint: d.Words.Say("hint.may-be-empty")})
	form := d.Asking(d.look, web.About{Act: actCheck, Summary: d.Words.Say("check.summary"), Button: d.Words.Say("button.check")}, d.a,
		asks...)
	form.Open = true
	form.Hidden = map[string]string{"method": methodName(m)}
	return form
}

// switchingForm asks whether a contact followed what was switched.
func (d probeDrawing) switchingForm() web.AskForm {
	form := d.Asking(d.look, web.About{Act: actCheck, Summary: d.Words.Say("check.summary"), Button: d.Words.Say("button.check")}, d.a,
		web.Ask{Name: "followed", Label: d.Words.Say("field.followed"),
			Choices: []web.Choice{{Value: "yes", Text: d.Words.Say("choice.followed")}, {Value: "no", Text: d.Words.Say("choice.not-followed")}}},
		web.Ask{Name: "next", Label: d.Words.Say("field.next"), Hint: d.Words.Say("hint.next")},
		web.Ask{Name: "note", Label: d.Words.Say("field.note"), Hint: d.Words.Say("hint.may-be-empty")})
	form.Open, form.Hidden = true, map[string]string{"method": methodName(truth.Switching)}
	return form
}
