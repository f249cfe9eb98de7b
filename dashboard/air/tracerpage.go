package air

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"

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
	body := tracerBody{Look: l, Back: l.Link("../air", "Back to the air")}
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

// decayDrawing shows the logarithm of what is above the background against time: a
// steady air change rate is a straight line.
type decayDrawing struct {
	Line         string
	Used, Out    []drawnPoint
	Minutes      string
	First, Least string
}

// The drawing of a decay is so wide and so high.
const decayWide, decayHigh = 400.0, 180.0

// drawDecay is nil where nothing lies above the background.
func drawDecay(a rules.TestAirChanges) *decayDrawing {
	last, high, low := 0.0, math.Inf(-1), math.Inf(1)
	for _, p := range a.Points {
		if rise := p.PPM - a.Background; rise > 0 {
			last, high, low = max(last, p.Minutes), max(high, math.Log(rise)), min(low, math.Log(rise))
		}
	}
	if !(last > 0) || !(high > low) {
		return nil
	}
	place := func(minutes, rise float64) (x, y float64) {
		return decayWide * minutes / last, decayHigh * (high - math.Log(rise)) / (high - low)
	}
	d := &decayDrawing{Minutes: web.Number(last, 0), First: web.Number(math.Exp(high)+a.Background, 0),
		Least: web.Number(math.Exp(low)+a.Background, 0)}
	var n, sum, meanX float64
	for _, p := range a.Points {
		if p.PPM <= a.Background {
			continue
		}
		x, y := place(p.Minutes, p.PPM-a.Background)
		dot := drawnPoint{X: web.Number(x, 1), Y: web.Number(y, 1)}
		if slices.ContainsFunc(a.Excluded, func(e rules.ExcludedTracer) bool { return math.Abs(e.Minutes-p.Minutes) < 1e-6 }) {
			d.Out = append(d.Out, dot)
			continue
		}
		d.Used = append(d.Used, dot)
		n, sum, meanX = n+1, sum+math.Log(p.PPM-a.Background), meanX+p.Minutes
	}
	// The least-squares line goes through the means of the points that count.
	at := func(minutes float64) float64 { return sum/n - float64(a.Changes)/60*(minutes-meanX/n) }
	_, y0 := place(0, math.Exp(at(0)))
	_, y1 := place(last, math.Exp(at(last)))
	d.Line = "M0 " + web.Number(y0, 1) + "L" + web.Number(decayWide, 0) + " " + web.Number(y1, 1)
	return d
}
