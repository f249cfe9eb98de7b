package keep

import (
	"cmp"
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// checkBody is one step of a guided check; one thing is done at a time.
type checkBody struct {
	Problem         string
	Saved           bool // the check is on record, and this is the answer
	Last, LastShape string
	Channel, Method string
	Progress        string
	Title, Text     string
	Picture         string
	Source          string
	// Waiting is the step at which the probe is to become steady.
	Waiting *waitingCard
	// Form is the last step.
	Form         *web.AskForm
	Before, Next string // addresses; empty where there is none
	Probe        string // address of the page of the probe
}

// waitingCard says what the probe reads and whether it is steady yet.
type waitingCard struct {
	Value, Word, Shape, Told string
}

type checkStep struct {
	word    string
	text    string
	picture string // of a bath or of ice; a gas cell, hoses and a contact have none
	waits   bool
}

// checkSteps are what is done for a check of a kind of probe, one after another.
func (s *Pages) checkSteps(m truth.Method, k sensors.Kind) []checkStep {
	enter := checkStep{word: "Read and record", text: "As found is what the probe reads before anything is changed.", picture: "write"}
	wait := checkStep{word: "Wait until it is steady",
		text: "Leave the probe alone. The reading is taken once it has been steady for two minutes.", waits: true}
	switch m {
	case truth.Reference:
		return append(s.compareSteps(k), wait, enter)
	case truth.ZeroPoint:
		return []checkStep{s.zeroStep(k), wait, enter}
	case truth.Switching:
		return []checkStep{{word: "Switch the fan off and on",
			text: "Watch the reading of the contact: off while the fan is off, on while it is on. Do this outside a class."},
			{word: "Record what you saw", picture: "write"}}
	}
	return []checkStep{
		{word: "Take the probe out",
			text: "Lift the probe from its tray, rinse and dry it. In ice it does not read its bath: if a class is near, take it out of " +
				"service on its page first.", picture: "lift"},
		{word: "Fill a cup with crushed ice, and every gap with clean water",
			text: "Use an insulated cup. Crush the ice finely, of clean water, best distilled; everything that touches it is clean and rinsed. " +
				"A slush without gaps, with ice down to the bottom and no layer of clear water: pour off the excess and add ice as it melts.",
			picture: "slush"},
		{word: "Put the probe into the middle, stir, and wait until it is steady",
			text: "As deep as it stands in use, at least 5 cm, touching neither wall nor bottom. Stir gently now and then. " +
				"The reading is taken once it has been steady for two minutes.",
			picture: "stir", waits: true}, enter}
}

// compareSteps bring a probe and a reference to the same thing.
func (s *Pages) compareSteps(k sensors.Kind) []checkStep {
	switch {
	case k == sensors.BathTemperature || k == sensors.WaterTemperature:
		return []checkStep{{word: "Put both into one bath",
			text:    "Probe and reference side by side, equally deep, in a vessel as large as you have, near the temperature of use.",
			picture: "two-probes"},
			{word: "Stir", text: "Stir without pause, so that both are in the same water, and read both at the same moment.",
				picture: "two-probes"}}
	case k == sensors.DuctVelocity || k == sensors.VolumeFlow:
		return []checkStep{{word: "Hold both in the same airstream",
			text: "Probe and reference anemometer equally deep and facing the same way, neither in the wake of the other. Average both over " +
				"the same minute."}}
	case k.MovesWithAir():
		return []checkStep{{word: "Connect both to the same two ports",
			text: "Join the hoses of probe and reference with tees, so that both see the same pressure. Check that no hose is kinked or wet."}}
	case k.IsGas():
		return []checkStep{{word: "Give both the same gas",
			text: "Test gas of a known concentration, or room air beside a reference analyser. Ventilate, and follow the safety sheet of the " +
				"test gas."}}
	}
	return []checkStep{{word: "Put both side by side",
		text: "Probe and reference in the same air, out of draughts and of anybody's breath, for ten minutes."}}
}

// zeroStep gives a probe nothing to measure.
func (s *Pages) zeroStep(k sensors.Kind) checkStep {
	switch {
	case k.IsGas():
		return checkStep{word: "Give the cell clean air",
			text: "Bring the cell into fresh air, away from open trays and bottles, for as long as its data sheet says."}
	case k == sensors.VelocityPressure || k == sensors.RoomPressure:
		return checkStep{word: "Open both ports to the same room",
			text: "Pull both hoses off, so that both ports are open to the same still air. Leave the probe mounted as it is. Do this outside a " +
				"class."}
	}
	return checkStep{word: "Cover the probe",
		text: "Slip a clean cap or bag over the head of the probe so that no air moves past it. Do this outside a class: the airflow reads " +
			"zero meanwhile."}
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
	return cmp.Or(map[truth.Method]string{truth.Reference: "reference", truth.ZeroPoint: "zero", truth.Switching: "switching"}[m], "ice")
}

// methodTitle is a method as a button names it, and where its steps are from.
func (f figures) methodTitle(m truth.Method) (title, source string) {
	switch m {
	case truth.Reference:
		return "Compare with a reference",
			"Common practice. Use a reference whose certificate is in date and known; your own procedure comes first."
	case truth.ZeroPoint:
		return "Zero point", "Common practice. The data sheet of the probe and your own procedure come first."
	case truth.Switching:
		return "Switch and look", "Common practice. The data sheet of the probe and your own procedure come first."
	}
	return "Ice point", "After ASTM E563 (ice and air-saturated distilled water, mixed without gaps, in an insulated vessel open to the " +
		"air) and TE-LP-001 of Measurement Canada, both read as extracts. Depth and waiting time are common practice. Your own procedure " +
		"comes first."
}

func (d probeDrawing) checkHref(room string, m truth.Method, step int) string {
	q := url.Values{"method": {methodName(m)}, "step": {strconv.Itoa(step)}}
	return d.look.Keep(fmt.Sprintf("/rooms/%s/probe/%s/check?%s", room, d.life.Channel.ID, q.Encode()))
}

func (s *Pages) checkPage(w http.ResponseWriter, r *http.Request, in web.Visit, c rules.ChannelView) {
	d := s.drawing(r, in, c)
	method, steps, number := s.stepOf(r.URL.Query(), d.a, c.Channel.Kind)
	body := checkBody{Problem: d.a.Sentence(), Saved: s.Receipted(r), Channel: c.Channel.Name,
		Probe: cards.ProbeHref(in.Snap.Room, c.Channel.ID, d.look)}
	body.Method, body.Source = d.methodTitle(method)
	body.Last, body.LastShape = d.lastCheck()
	step := steps[number-1]
	body.Title, body.Text, body.Picture = step.word, step.text, step.picture
	body.Progress = fmt.Sprintf("Step %d of %d", number, len(steps))
	if number > 1 {
		body.Before = d.checkHref(in.Snap.Room, method, number-1)
	}
	if number < len(steps) {
		body.Next = d.checkHref(in.Snap.Room, method, number+1)
	}
	p := s.PageFor(web.Head{Name: "check", Title: "Check of a probe"}, d.look, in)
	p.Title = body.Method + " · " + c.Channel.Name
	p.Styles = append(p.Styles, "probe.css")
	if step.waits || number == len(steps) {
		still := s.steadiness(r.Context(), *c.Channel)
		if step.waits {
			body.Waiting, p.Refresh, p.Scripts = d.waiting(method, still), 5, append(p.Scripts, "steady.js")
		} else if !body.Saved {
			body.Form = new(d.checkForm(method, still))
		}
	}
	p.Stay = template.URL(url.Values{"method": {methodName(method)}, "step": {strconv.Itoa(number)}}.Encode()) //nolint:gosec // it is encoded
	s.Show(w, r, http.StatusOK, p.With(body))
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

// farFromIce says whether a probe that is to stand in ice reads what no slush does.
func farFromIce(m truth.Method, s truth.Steadiness) bool {
	return m == truth.IcePoint && truth.FarFromIce(s.Mean)
}

func (d probeDrawing) waiting(m truth.Method, s truth.Steadiness) *waitingCard {
	card := waitingCard{Value: d.reading(s.Mean), Word: "Steady: read it now", Shape: "moving",
		Told: fmt.Sprintf("%d readings in two minutes: change %s, scatter %s", s.N, d.apart(s.Trend),
			strings.TrimPrefix(d.apart(s.Scatter), "+"))}
	switch {
	case !s.Known:
		return &waitingCard{Word: "Too early to say", Shape: "unknown", Told: "Fewer than two minutes of readings so far."}
	case farFromIce(m, s):
		card.Word, card.Shape = "Far from the ice point: is it in the slush?", "low"
	case !s.Steady:
		card.Word, card.Shape = "Not steady yet", "low"
	}
	return &card
}

// checkForm is the last step, with what the page knows filled in.
func (d probeDrawing) checkForm(m truth.Method, still truth.Steadiness) web.AskForm {
	u := d.Unit(d.life.Channel.Dimension)
	sign := u.Label()
	found, uncertainty, hint := "", "", "of the reference"
	if still.Steady && !farFromIce(m, still) {
		found = web.Number(u.FromBase(still.Mean), max(2, quantity.Decimals(d.life.Channel.Resolution/10)))
	}
	asks := []web.Ask{{Field: asFoundField.In(sign), Hint: "what this page showed while the reading was steady", Value: found,
		Mode: "decimal"}}
	switch m {
	case truth.Reference:
		asks = []web.Ask{asks[0], {Field: referenceField.In(sign), Mode: "decimal"},
			{Field: instrumentField}}
	case truth.Switching:
		return d.switchingForm()
	case truth.IcePoint:
		uncertainty = web.Plain(round(u.FromBase(truth.IceUncertainty) - u.FromBase(0)))
		hint = "of the reference; 0.1 °C is usual for a slush of household ice and clean water (common practice)"
	}
	asks = append(asks,
		web.Ask{Field: referenceUncertaintyField.In(sign), Hint: hint, Value: uncertainty, Mode: "decimal"},
		web.Ask{Field: certificateField, Hint: "may be left empty"},
		web.Ask{Field: correctField, Value: "no",
			Choices: []web.Choice{{Value: "no", Text: "No, only record it"}, {Value: "yes", Text: "Yes, by an offset to the reference"}}},
		web.Ask{Field: asLeftField.In(sign), Hint: "the reading after an adjustment; leave empty if nothing was adjusted", Mode: "decimal"},
		web.Ask{Field: nextField, Hint: "like 2026-07-15; leave empty if none is planned"},
		web.Ask{Field: web.NoteField(), Hint: "may be left empty"})
	form := d.Asking(d.look, web.About{Act: actCheck, Summary: "The check", Button: "Save the check"}, d.a,
		asks...)
	form.Open = true
	form.Hidden = map[string]string{"method": methodName(m)}
	return form
}

// switchingForm asks whether a contact followed what was switched.
func (d probeDrawing) switchingForm() web.AskForm {
	form := d.Asking(d.look, web.About{Act: actCheck, Summary: "The check", Button: "Save the check"}, d.a,
		web.Ask{Field: followedField,
			Choices: []web.Choice{{Value: "yes", Text: "Yes, off and on"}, {Value: "no", Text: "No"}}},
		web.Ask{Field: nextField, Hint: "like 2026-07-15; leave empty if none is planned"},
		web.Ask{Field: web.NoteField(), Hint: "may be left empty"})
	form.Open, form.Hidden = true, map[string]string{"method": methodName(truth.Switching)}
	return form
}
