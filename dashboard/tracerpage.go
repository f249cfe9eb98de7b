package dashboard

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"go.uber.org/zap"

	"wetside/rules"
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

func (s *airPages) tracerPage(w http.ResponseWriter, r *http.Request, in visit) {
	f, l, v := s.figures(in.site), lookOf(r), r.URL.Query()
	body := tracerBody{Look: l, Receipt: s.receipt(r), Back: f.below(l, "../air", s.words.Say("air.back"))}
	a := s.attempt(r)
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
	records, err := s.View.Records(r.Context(), RecordsQuery{Room: in.snap.Room, Kinds: []string{rules.TestAirChanges{}.Kind()}})
	if err != nil {
		s.Log.Error("the tests of the book can't be read", zap.Error(err))
		body.Problem = f.sentenceOf(err)
	}
	body.Earlier = f.tracerRows(records)
	p := s.pageFor("air-test", l, in)
	p.Styles, p.Body = append(p.Styles, "air.css"), body
	s.show(w, r, http.StatusOK, p)
}

// actTest is the act of the form that keeps a test.
const actTest = "test"

// tracerResult works out what was asked for.
func (s *airPages) tracerResult(ctx context.Context, body *tracerBody, in visit, v url.Values) {
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
	result := &tracerResult{Changes: f.number(float64(act.Changes), 1), Interval: s.words.Say("tracer.interval", f.number(float64(act.Low), 1), f.number(float64(act.High), 1)),
		Agreement: f.tell(act.Agreement), Shape: "unproven", Sentence: s.words.Say("tracer.steady-hint")}
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
			result.Excluded = append(result.Excluded, s.words.Say("tracer.excluded", f.plain(math.Round(p.Minutes*10)/10), f.withUnit(quantity.VolumeFraction, p.PPM, 1), f.tell(p.Reason)))
		}
	}
	body.Result = result
}

func (s *airPages) tracerPost(w http.ResponseWriter, r *http.Request, in visit) {
	s.once(w, r, func(ctx context.Context, t typed) (string, *problem) {
		f := s.figures(s.View.Now()).reader()
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

func (f figures) tracerRows(records []rules.Recorded) []tracerRow {
	var rows []tracerRow
	for _, r := range slices.Backward(records) {
		act, err := rules.DecodeAct(r.Kind, r.Content)
		a, ok := act.(rules.TestAirChanges)
		if err != nil || !ok {
			continue
		}
		rows = append(rows, tracerRow{When: f.brief(r.At), Method: f.word(a.Method), Agreement: f.tell(a.Agreement), By: r.Person, Record: strconv.FormatUint(r.Number, 10), Note: a.Note,
			Changes: f.number(float64(a.Changes), 1) + " (" + f.words.Say("tracer.interval", f.number(float64(a.Low), 1), f.number(float64(a.High), 1)) + ")"})
	}
	return rows
}
