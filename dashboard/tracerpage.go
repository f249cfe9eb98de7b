package dashboard

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// tracerBody is the page on which the air changes are tested without the duct: by a gas
// that thins out in the empty room, or by what people breathe out.
type tracerBody struct {
	Look             look
	Receipt, Problem string
	Decay, Steady    tracerForm
	Result           *tracerResult
	Keep             askForm
	Asked            []hidden
	Earlier          []tracerRow
	Back             link
	NoProbe          string
}

// tracerForm asks for the readings of one way to test.
type tracerForm struct {
	Method string
	Asks   []ask
	Look   look
}

type hidden struct{ Name, Value string }

// tracerResult is what a test came to.
type tracerResult struct {
	Changes, Interval string
	Agreement, Shape  string
	Sentence          string
	Excluded          []string
	Drawing           *decayDrawing
}

// tracerRow is a test that is on record.
type tracerRow struct{ When, Method, Changes, Agreement, By, Record, Note string }

func (s *Server) tracerPage(w http.ResponseWriter, r *http.Request, in visit) {
	f, l, v := s.figures(in.site), lookOf(r), r.URL.Query()
	body := tracerBody{Look: l, Receipt: s.presses.receipt(v.Get("done")), Back: f.below(l, "../air", s.words.Say("air.back"))}
	a := s.presses.attempt(v.Get("again"))
	if a.problem != nil {
		v, body.Problem = a.typed.More, a.problem.Sentence
	}
	gas, known := tracerGas(in.snap)
	if !known {
		body.NoProbe = s.words.Say("tracer.no-probe")
	}
	body.Decay, body.Steady = f.decayForm(gas, v), f.steadyForm(in.snap, v)
	body.Decay.Look, body.Steady.Look = l, l
	if v.Has("method") {
		s.tracerResult(r.Context(), &body, in, v)
		body.Keep = f.asking(l, about{act: actTest, summary: s.words.Say("tracer.keep"), button: s.words.Say("button.test")}, a,
			ask{Name: "note", Label: s.words.Say("field.note"), Hint: s.words.Say("hint.may-be-empty")})
	}
	records, err := s.view.Records(r.Context(), RecordsQuery{Room: in.snap.Room, Kinds: []string{rules.TestAirChanges{}.Kind()}})
	if err != nil {
		s.log.Error("the tests of the book can't be read", zap.Error(err))
		body.Problem = sentenceCase(err.Error())
	}
	body.Earlier = f.tracerRows(records)
	p := s.pageFor("air-test", l, in)
	p.Styles, p.Body = append(p.Styles, "air.css"), body
	s.show(w, r, http.StatusOK, p)
}

// actTest is the act of the form that keeps a test.
const actTest = "test"

// tracerResult works out what was asked for.
func (s *Server) tracerResult(ctx context.Context, body *tracerBody, in visit, v url.Values) {
	act, wrong := s.tracer(ctx, in, v)
	for _, name := range tracerFields() {
		if v.Has(name) {
			body.Asked = append(body.Asked, hidden{name, v.Get(name)})
		}
	}
	if wrong != nil {
		body.Problem = wrong.Sentence
		return
	}
	f := s.figures(in.site)
	result := &tracerResult{Changes: number(float64(act.Changes), 1), Interval: s.words.Say("tracer.interval", number(float64(act.Low), 1), number(float64(act.High), 1)),
		Agreement: act.Agreement, Shape: "unproven", Sentence: s.words.Say("tracer.steady-hint")}
	switch {
	case act.Agrees:
		result.Shape = "moving"
	case act.ByFlow != nil:
		result.Shape = "stopped"
	default:
		result.Agreement = s.words.Say("tracer.no-flow")
	}
	if act.Method == rules.ByDecay {
		result.Drawing = drawDecay(act)
		result.Sentence = s.words.Say("tracer.decay-hint", len(act.Points)-len(act.Excluded), len(act.Points))
		for _, p := range act.Excluded {
			result.Excluded = append(result.Excluded, s.words.Say("tracer.excluded", plain(math.Round(p.Minutes*10)/10), f.withUnit(quantity.VolumeFraction, p.PPM, 1), p.Reason))
		}
	}
	body.Result = result
}

// tracerGas is the channel that a decay is read from: carbon dioxide.
func tracerGas(snap *rules.Snapshot) (sensors.Channel, bool) {
	for _, c := range snap.Channels {
		if c.Channel.Kind == sensors.CarbonDioxide {
			return c.Channel, true
		}
	}
	return sensors.Channel{}, false
}

// outdoorsCO2 is offered for the background; the place measures its own (common practice).
const outdoorsCO2 = "420"

// tracerFields are the names of all that is asked.
func tracerFields() []string {
	return []string{"method", "day", "began", "ended", "points", "background", "error", "empty", "settled", "crowd"}
}

func (f figures) decayForm(gas sensors.Channel, v url.Values) tracerForm {
	asks := []ask{
		{Name: "day", Label: f.words.Say("field.day"), Hint: f.words.Say("hint.day")},
		{Name: "began", Label: f.words.Say("field.began"), Hint: f.words.Say("hint.began")},
		{Name: "ended", Label: f.words.Say("field.ended"), Hint: f.words.Say("hint.ended")},
		{Name: "points", Label: f.words.Say("field.points"), Hint: f.words.Say("hint.points")},
		{Name: "background", Label: f.words.Say("field.background"), Hint: f.words.Say("hint.background"), Mode: "decimal", Value: outdoorsCO2},
		{Name: "error", Label: f.words.Say("field.error"), Hint: f.words.Say("hint.error"), Mode: "decimal", Value: plain(max(gas.Resolution, 30))},
		{Name: "empty", Label: f.words.Say("field.empty"), Choices: []choice{{Value: "yes", Text: f.words.Say("empty.yes")}, {Value: "no", Text: f.words.Say("empty.no")}}},
	}
	return f.tracerForm(rules.ByDecay, asks, v)
}

func (f figures) steadyForm(snap *rules.Snapshot, v url.Values) tracerForm {
	now, people := "", ""
	for _, c := range snap.Channels {
		if value, ok := c.Good(); ok && c.Channel.Kind == sensors.CarbonDioxide {
			now = number(value, 0)
		}
	}
	if snap.Session.People > 0 {
		people = strconv.Itoa(snap.Session.People)
	}
	return f.tracerForm(rules.BySteady, []ask{
		{Name: "settled", Label: f.words.Say("field.settled"), Hint: f.words.Say("hint.settled"), Mode: "decimal", Value: now},
		{Name: "background", Label: f.words.Say("field.background"), Hint: f.words.Say("hint.background"), Mode: "decimal", Value: outdoorsCO2},
		{Name: "crowd", Label: f.words.Say("field.people"), Hint: f.words.Say("hint.crowd"), Mode: "numeric", Value: people},
	}, v)
}

// tracerForm gives back what was asked before.
func (f figures) tracerForm(m rules.TestMethod, asks []ask, v url.Values) tracerForm {
	for i := range asks {
		q := &asks[i]
		q.ID = strings.ReplaceAll(string(m), " ", "-") + "-" + q.Name
		if v.Get("method") == string(m) {
			q.Value = v.Get(q.Name)
		}
		for j := range q.Choices {
			q.Choices[j].Checked = q.Choices[j].Value == q.Value
		}
	}
	return tracerForm{Method: string(m), Asks: asks}
}

func (s *Server) tracerPost(w http.ResponseWriter, r *http.Request, in visit) {
	s.once(w, r, func(ctx context.Context, t typed) (string, *problem) {
		f := formReader{words: s.words}
		person, note := f.text("who", t.Who, longestName, true), f.text("note", t.More.Get("note"), longestText, false)
		if f.problem != nil {
			return "", f.problem
		}
		act, wrong := s.tracer(ctx, in, t.More)
		if wrong != nil {
			return "", wrong
		}
		act.Note = note
		return s.handOver(ctx, rules.Command{Room: in.snap.Room, Person: person, Act: act})
	})
}

// tracer reads a test and works it out.
func (s *Server) tracer(ctx context.Context, in visit, v url.Values) (rules.TestAirChanges, *problem) {
	figures := s.figures(in.site)
	f := formReader{words: s.words, now: figures.now.Wall, zone: figures.zone}
	act := rules.TestAirChanges{Method: rules.TestMethod(f.pick("method", v.Get("method"), string(rules.ByDecay), string(rules.BySteady))),
		Gas: strings.ReplaceAll(string(sensors.CarbonDioxide), "-", " "), Background: f.ppm("background", v.Get("background")), ByFlow: in.snap.Air.AirChanges}
	if f.problem != nil {
		return act, f.problem
	}
	if act.Method == rules.BySteady {
		act.Steady, act.People = f.ppm("settled", v.Get("settled")), f.crowd(v.Get("crowd"))
	} else {
		act.SensorError, act.RoomEmpty = f.ppm("error", v.Get("error")), v.Get("empty") == "yes"
		act.Points = f.tracerPoints(v.Get("points"))
		if f.problem == nil && len(act.Points) == 0 {
			sp := f.tracerSpan(v)
			if f.problem == nil {
				f.problem = s.readDecay(ctx, &act, in, sp)
			}
		}
	}
	if f.problem != nil {
		return act, f.problem
	}
	worked, err := act.Work(in.snap.Air.Volume)
	if err != nil {
		return act, &problem{"act", sentenceCase(err.Error())}
	}
	return worked, nil
}

// decayPoints is how many readings a decay is thinned to.
const decayPoints = 120

// readDecay takes the readings of a time from the history, with the flow meanwhile.
func (s *Server) readDecay(ctx context.Context, act *rules.TestAirChanges, in visit, sp span) *problem {
	gas, known := tracerGas(in.snap)
	switch {
	case !known:
		return &problem{"points", s.words.Say("tracer.no-probe")}
	case !sp.from.Before(sp.to):
		return &problem{"began", s.words.Say("tracer.no-span")}
	}
	ctx, cancel := context.WithTimeout(ctx, seriesWithin)
	defer cancel()
	got, err := s.view.Series(ctx, SeriesQuery{Channel: gas.ID, From: sp.from.UTC(), To: sp.to.UTC(), Points: decayPoints})
	if err != nil {
		return &problem{"began", sentenceCase(err.Error())}
	}
	for _, p := range got.Points {
		if !p.Suspect {
			act.Points = append(act.Points, rules.TracerPoint{Minutes: p.At.Sub(sp.from).Minutes(), PPM: p.Mean})
		}
	}
	if len(act.Points) == 0 {
		return &problem{"began", s.words.Say("tracer.no-readings")}
	}
	act.ByFlow = s.changesOver(ctx, in.snap, sp)
	return nil
}

// changesOver is the mean rate by the duct's probe over a time; nil when it was not read.
func (s *Server) changesOver(ctx context.Context, snap *rules.Snapshot, sp span) *quantity.PerHour {
	probe, known := channelOf(snap, string(snap.Air.Probe))
	if !known || !(snap.Air.Volume > 0) {
		return nil
	}
	got, err := s.view.Series(ctx, SeriesQuery{Channel: probe.ID, From: sp.from.UTC(), To: sp.to.UTC(), Points: decayPoints})
	if err != nil {
		return nil
	}
	var sum, n float64
	for _, p := range flowPoints(snap.Air.Duct, probe.Kind, got.Points) {
		if !p.Suspect {
			sum, n = sum+p.Mean, n+1
		}
	}
	if n == 0 {
		return nil
	}
	rate := quantity.PerHour(sum / n / float64(snap.Air.Volume))
	return &rate
}

func (f *formReader) ppm(field, text string) float64 {
	text = strings.TrimSpace(text)
	v, _, err := quantity.Parse(quantity.VolumeFraction, text)
	if err != nil {
		v, err = quantity.Number(text)
	}
	if err != nil || !(v >= 0 && v <= 1e6) {
		f.fail(field, "tracer.ppm", f.words.Say("field."+field), clip(text))
		return 0
	}
	return v
}

func (f *formReader) crowd(text string) int {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 || n > mostPeople {
		f.fail("crowd", "form.people", clip(text), mostPeople)
	}
	return n
}

// tracerPoints reads points such as "0=1920 3=1330": minutes and ppm.
func (f *formReader) tracerPoints(text string) []rules.TracerPoint {
	var points []rules.TracerPoint
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ';' || r == '\n' || r == '\t' }) {
		minutes, ppm, cut := strings.Cut(word, "=")
		m, errM := quantity.Number(minutes)
		c, errC := quantity.Number(ppm)
		if !cut || errM != nil || errC != nil || m < 0 || m > 24*60 {
			f.fail("points", "tracer.point", clip(word))
			return nil
		}
		points = append(points, rules.TracerPoint{Minutes: m, PPM: c})
	}
	return points
}

// tracerSpan reads from when to when; a time that ends before it begins ends the next day.
func (f *formReader) tracerSpan(v url.Values) span {
	day := strings.TrimSpace(v.Get("day"))
	if day == "" {
		day = f.now.In(f.zone).Format(time.DateOnly)
	}
	moment := func(field string) time.Time {
		text := strings.ReplaceAll(strings.TrimSpace(v.Get(field)), ".", ":")
		t, err := time.ParseInLocation(time.DateOnly+" 15:04", day+" "+text, f.zone)
		if err != nil || t.After(f.now) {
			f.fail(field, "tracer.moment", f.words.Say("field."+field), clip(text))
		}
		return t
	}
	sp := span{moment("began"), moment("ended")}
	if sp.to.Before(sp.from) && f.problem == nil {
		sp.to = sp.to.AddDate(0, 0, 1)
	}
	return sp
}

func (f figures) tracerRows(records []rules.Recorded) []tracerRow {
	var rows []tracerRow
	for _, r := range slices.Backward(records) {
		act, err := rules.DecodeAct(r.Kind, r.Content)
		a, ok := act.(rules.TestAirChanges)
		if err != nil || !ok {
			continue
		}
		rows = append(rows, tracerRow{When: f.brief(r.At), Method: string(a.Method), Agreement: a.Agreement, By: r.Person, Record: strconv.FormatUint(r.Number, 10), Note: a.Note,
			Changes: number(float64(a.Changes), 1) + " (" + f.words.Say("tracer.interval", number(float64(a.Low), 1), number(float64(a.High), 1)) + ")"})
	}
	return rows
}
