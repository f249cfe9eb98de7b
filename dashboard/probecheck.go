package dashboard

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

	"wetside/dashboard/locale"
	"wetside/rules/truth"
	"wetside/sensors"
)

// checkBody is one step of a guided check; one thing is done at a time.
type checkBody struct {
	Look             look
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
	Form           *askForm
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
func (s *keepPages) checkSteps(m truth.Method, k sensors.Kind) []checkStep {
	enter := checkStep{word: s.words.Say("check.enter"), text: s.words.Say("check.enter-text"), picture: "write"}
	wait := checkStep{word: s.words.Say("check.wait"), text: s.words.Say("check.wait-text"), picture: "probe-in", waits: true}
	switch m {
	case truth.Reference:
		return append(s.compareSteps(k), wait, enter)
	case truth.ZeroPoint:
		return []checkStep{s.zeroStep(k), wait, enter}
	case truth.Switching:
		return []checkStep{{word: s.words.Say("switching.do"), text: s.words.Say("switching.do-text"), picture: "write"}, enter}
	}
	return []checkStep{
		{word: s.words.Say("ice.out"), text: s.words.Say("ice.out-text"), picture: "lift"},
		{word: s.words.Say("ice.crush"), text: s.words.Say("ice.crush-text"), picture: "ice"},
		{word: s.words.Say("ice.water"), text: s.words.Say("ice.water-text"), picture: "slush"},
		{word: s.words.Say("ice.put"), text: s.words.Say("ice.put-text"), picture: "stir"}, wait, enter}
}

// compareSteps bring a probe and a reference to the same thing.
func (s *keepPages) compareSteps(k sensors.Kind) []checkStep {
	switch {
	case k == sensors.BathTemperature || k == sensors.WaterTemperature:
		return []checkStep{{word: s.words.Say("compare.take"), text: s.words.Say("compare.take-text"), picture: "two-probes"},
			{word: s.words.Say("compare.stir"), text: s.words.Say("compare.stir-text"), picture: "stir"}}
	case k == sensors.DuctVelocity || k == sensors.VolumeFlow:
		return []checkStep{{word: s.words.Say("compare.stream"), text: s.words.Say("compare.stream-text"), picture: "two-probes"}}
	case k.MovesWithAir():
		return []checkStep{{word: s.words.Say("compare.ports"), text: s.words.Say("compare.ports-text"), picture: "two-probes"}}
	case k.IsGas():
		return []checkStep{{word: s.words.Say("compare.gas"), text: s.words.Say("compare.gas-text"), picture: "two-probes"}}
	}
	return []checkStep{{word: s.words.Say("compare.air"), text: s.words.Say("compare.air-text"), picture: "two-probes"}}
}

// zeroStep gives a probe nothing to measure.
func (s *keepPages) zeroStep(k sensors.Kind) checkStep {
	switch {
	case k.IsGas():
		return checkStep{word: s.words.Say("zero.gas"), text: s.words.Say("zero.gas-text"), picture: "lift"}
	case k == sensors.VelocityPressure || k == sensors.RoomPressure:
		return checkStep{word: s.words.Say("zero.ports"), text: s.words.Say("zero.ports-text"), picture: "lift"}
	}
	return checkStep{word: s.words.Say("zero.cover"), text: s.words.Say("zero.cover-text"), picture: "lift"}
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
		return f.words.Say("check.reference"), f.words.Say("check.reference-source")
	case truth.ZeroPoint:
		return f.words.Say("check.zero"), f.words.Say("check.zero-source")
	case truth.Switching:
		return f.words.Say("check.switching"), f.words.Say("check.zero-source")
	}
	return f.words.Say("check.ice"), f.words.Say("check.ice-source")
}

// checkHref is the address of a step of a check.
func (d probeDrawing) checkHref(room string, m truth.Method, step int) string {
	q := url.Values{"method": {methodName(m)}, "step": {strconv.Itoa(step)}}
	if d.look == red {
		q.Set("look", string(red))
	}
	return fmt.Sprintf("/rooms/%s/probe/%s/check?%s", room, d.life.Channel.ID, q.Encode())
}

func (s *keepPages) checkPage(w http.ResponseWriter, r *http.Request, in visit) {
	c, known := channelView(in.snap, r.PathValue("channel"))
	if !known {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("history.no-channel")})
		return
	}
	life, _ := in.snap.Probes.Life(c.Channel.ID)
	life.Channel = c.Channel
	a := s.attempt(r)
	d := probeDrawing{s.figures(in.site), lookOf(r), life, a}
	method, steps, number := s.stepOf(r.URL.Query(), a, c.Channel.Kind)
	body := checkBody{Look: d.look, Receipt: s.receipt(r), Channel: c.Channel.Name, Number: number, Of: len(steps),
		Probe: probeHref(in.snap.Room, c.Channel.ID, d.look)}
	body.Method, body.Source = d.methodTitle(method)
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	step := steps[number-1]
	body.Title, body.Text, body.Picture = step.word, step.text, step.picture
	body.Progress = s.words.Say("check.step", number, len(steps))
	if number > 1 {
		body.Before = d.checkHref(in.snap.Room, method, number-1)
	}
	if number < len(steps) {
		body.Next = d.checkHref(in.snap.Room, method, number+1)
	}
	p := s.pageFor("check", d.look, in)
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
	s.show(w, r, http.StatusOK, p)
}

// stepOf reads which step of which check is meant; a form that came back is the last.
func (s *keepPages) stepOf(q url.Values, a attempt, k sensors.Kind) (m truth.Method, steps []checkStep, number int) {
	m = methodOf(q.Get("method"), k)
	if a.problem != nil {
		m = methodOf(a.typed.More.Get("method"), k)
	}
	steps = s.checkSteps(m, k)
	number, err := strconv.Atoi(q.Get("step"))
	if err != nil || number < 1 {
		number = 1
	}
	if a.problem != nil || q.Has("done") || number > len(steps) {
		number = len(steps)
	}
	return m, steps, number
}

// steadyPoints are more than the readings of the time that is looked at.
const steadyPoints = 2000

// steadiness looks at what a probe said in the last minutes, believed or not: in ice it
// reads what no bath does.
func (s *keepPages) steadiness(ctx context.Context, c sensors.Channel) truth.Steadiness {
	ctx, cancel := context.WithTimeout(ctx, seriesWithin)
	defer cancel()
	now := s.Clock.Now().Wall
	series, err := s.View.Series(ctx, SeriesQuery{Channel: c.ID, From: now.Add(-truth.SteadyFor), To: now.Add(time.Second), Points: steadyPoints})
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
		return &waitingCard{Value: d.reading(s.Mean), Word: d.words.Say("steady.far"), Shape: "low", Told: d.words.Say("steady.told", s.N, d.apart(s.Trend), d.size(s.Scatter))}
	case !s.Known:
		return &waitingCard{Word: d.words.Say("steady.unknown"), Shape: "unknown", Told: d.words.Say("steady.unknown-why")}
	case !s.Steady:
		return &waitingCard{Value: d.reading(s.Mean), Word: d.words.Say("steady.not"), Shape: "low", Told: d.words.Say("steady.told", s.N, d.apart(s.Trend), d.size(s.Scatter))}
	}
	return &waitingCard{Value: d.reading(s.Mean), Word: d.words.Say("steady.yes"), Shape: "moving", Steady: true, Told: d.words.Say("steady.told", s.N, d.apart(s.Trend), d.size(s.Scatter))}
}

// checkForm is the last step, with what the page knows filled in.
func (d probeDrawing) checkForm(m truth.Method, still truth.Steadiness) askForm {
	u := d.unit(d.life.Channel.Dimension)
	sign := " (" + locale.Symbol(u) + ")"
	found, uncertainty := "", ""
	if still.Steady && !farFromIce(m, still) {
		found = number(u.FromBase(still.Mean), max(2, locale.Decimals(d.life.Channel.Resolution/10)))
	}
	asks := []ask{{Name: "as-found", Label: d.words.Say("field.as-found") + sign, Hint: d.words.Say("hint.as-found"), Value: found, Mode: "decimal"}}
	switch m {
	case truth.Reference:
		asks = []ask{asks[0], {Name: "reference", Label: d.words.Say("field.reference") + sign, Mode: "decimal"}, {Name: "instrument", Label: d.words.Say("field.instrument")}}
	case truth.Switching:
		return d.switchingForm()
	case truth.IcePoint:
		uncertainty = plain(round(u.FromBase(truth.IceUncertainty) - u.FromBase(0)))
	}
	asks = append(asks,
		ask{Name: "uncertainty", Label: d.words.Say("check.uncertainty") + sign, Hint: d.words.Say("hint.reference-uncertainty"), Value: uncertainty, Mode: "decimal"},
		ask{Name: "certificate", Label: d.words.Say("field.certificate"), Hint: d.words.Say("hint.may-be-empty")},
		ask{Name: "correct", Label: d.words.Say("field.correct"), Value: "no", Choices: []choice{{Value: "no", Text: d.words.Say("choice.no-correct")}, {Value: "yes", Text: d.words.Say("choice.correct")}}},
		ask{Name: "as-left", Label: d.words.Say("field.as-left") + sign, Hint: d.words.Say("hint.as-left"), Mode: "decimal"},
		ask{Name: "next", Label: d.words.Say("field.next"), Hint: d.words.Say("hint.next")},
		ask{Name: "note", Label: d.words.Say("field.note"), Hint: d.words.Say("hint.may-be-empty")})
	form := d.asking(d.look, about{act: actCheck, summary: d.words.Say("check.summary"), button: d.words.Say("button.check")}, d.a, asks...)
	form.Open = true
	form.Hidden = map[string]string{"method": methodName(m)}
	return form
}

// switchingForm asks whether a contact followed what was switched.
func (d probeDrawing) switchingForm() askForm {
	form := d.asking(d.look, about{act: actCheck, summary: d.words.Say("check.summary"), button: d.words.Say("button.check")}, d.a,
		ask{Name: "followed", Label: d.words.Say("field.followed"), Choices: []choice{{Value: "yes", Text: d.words.Say("choice.followed")}, {Value: "no", Text: d.words.Say("choice.not-followed")}}},
		ask{Name: "next", Label: d.words.Say("field.next"), Hint: d.words.Say("hint.next")},
		ask{Name: "note", Label: d.words.Say("field.note"), Hint: d.words.Say("hint.may-be-empty")})
	form.Open, form.Hidden = true, map[string]string{"method": methodName(truth.Switching)}
	return form
}
