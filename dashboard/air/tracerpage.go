package air

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// tracerBody is the page on which the air changes are tested without the duct: by a gas
// that thins out in the empty room, or by what people breathe out.
type tracerBody struct {
	Look          web.Look
	Problem       string
	Decay, Steady tracerForm
	Result        *tracerResult
	Keep          web.AskForm
	Asked         []hidden
	Earlier       []tracerRow
	Back          web.Link
	NoProbe       string
}

type hidden struct{ Name, Value string }

type tracerResult struct {
	Changes, Interval string
	Agreement, Shape  string
	Sentence          string
	Excluded          []string
	Drawing           *decayDrawing
}

// tracerRow is a test that is on record.
type tracerRow struct{ When, Method, Changes, Agreement, By, Note string }

func (s *Pages) tracerPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l, v := s.figures(in.Site), web.LookOf(r), r.URL.Query()
	body := tracerBody{Look: l, Back: f.Below(l, "../air", "Back to the air")}
	a := s.Attempt(r)
	if a.Problem != nil {
		v, body.Problem = a.Typed.More, a.Problem.Sentence
	}
	gas, known := tracerGas(in.Snap)
	if !known {
		body.NoProbe = "No carbon dioxide probe is fitted here: enter the points of a hand-held one."
	}
	body.Decay, body.Steady = f.decayForm(gas, v), f.steadyForm(in.Snap, v)
	body.Decay.Look, body.Steady.Look = l, l
	if v.Has("method") {
		s.tracerResult(r.Context(), &body, in, v)
		body.Keep = f.Asking(l, web.About{Act: actTest, Summary: "Save to the record book", Button: "Save this test"}, a,
			web.Ask{Field: web.NoteField(), Hint: "may be left empty"})
	}
	tests, err := earlier[rules.TestAirChanges](r.Context(), s, in.Snap.Room)
	if err != nil {
		body.Problem = f.ErrorText(err)
	}
	body.Earlier = f.tracerRows(tests)
	s.Show(w, r, http.StatusOK, s.PageFor(web.Head{Name: "air-test", Title: "Air change test"}, l, in).With(body, "air.css"))
}

// actTest is the act of the form that keeps a test.
const actTest = "test"

// tracerResult works out what was asked for.
func (s *Pages) tracerResult(ctx context.Context, body *tracerBody, in web.Visit, v url.Values) {
	act, wrong := s.tracer(ctx, in, v)
	for _, name := range []string{"method", "day", "began", "ended", "points", "background", "error", "empty", "settled", "crowd"} {
		if v.Has(name) {
			body.Asked = append(body.Asked, hidden{name, v.Get(name)})
		}
	}
	if wrong != nil {
		body.Problem = wrong.Sentence
		return
	}
	f := s.figures(in.Site)
	result := &tracerResult{Changes: f.Number(float64(act.Changes), 1),
		Interval:  fmt.Sprintf("%s to %s", f.Number(float64(act.Low), 1), f.Number(float64(act.High), 1)),
		Agreement: f.Text(act.Agreement), Shape: "unproven",
		Sentence: "Seated adults breathe out about 0.0052 L/s each (from memory), give or take a fifth. If the CO2 is still rising, the " +
			"result is too high."}
	switch {
	case act.Agrees:
		result.Shape = "moving"
	case act.ByFlow != nil:
		result.Shape = "stopped"
	default:
		result.Agreement = "The airflow was not known during the test: nothing to compare with."
	}
	if act.Method == rules.ByDecay {
		result.Drawing = drawDecay(act)
		result.Sentence = fmt.Sprintf("%d of %d points count. The range (95 %%) covers their scatter and a sensor that is off by the error "+
			"you entered.", len(act.Points)-len(act.Excluded), len(act.Points))
		for _, p := range act.Excluded {
			result.Excluded = append(result.Excluded, fmt.Sprintf("%s min, %s: %s", f.Plain(math.Round(p.Minutes*10)/10),
				f.WithUnit(quantity.VolumeFraction, p.PPM, 1), f.Text(p.Reason)))
		}
	}
	body.Result = result
}

func (s *Pages) tracerPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.Once(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		f := s.figures(s.View.Now()).Reader(t.More)
		person, note := f.Who(), f.Line(web.NoteField(), false)
		if f.Problem != nil {
			return "", f.Problem
		}
		act, wrong := s.tracer(ctx, in, t.More)
		if wrong != nil {
			return "", wrong
		}
		act.Note = note
		return s.HandOver(ctx, rules.Command{Room: in.Snap.Room, Person: person, Act: act})
	})
}

func (f figures) tracerRows(tests []recorded[rules.TestAirChanges]) []tracerRow {
	var rows []tracerRow
	for _, r := range tests {
		a := r.act
		rows = append(rows, tracerRow{When: f.Brief(r.At), Method: f.Word(a.Method), Agreement: f.Text(a.Agreement), By: r.Person,
			Note: a.Note,
			Changes: f.Number(float64(a.Changes), 1) + " (" + fmt.Sprintf("%s to %s", f.Number(float64(a.Low), 1),
				f.Number(float64(a.High), 1)) + ")"})
	}
	return rows
}
