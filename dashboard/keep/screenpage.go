package keep

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"wetside/dashboard/web"
	"wetside/rules/screentest"
)

// Screens keeps what tests of screens against papers showed.
type Screens interface {
	// ScreenTests are all tests so far. It never waits, and what it gives is never changed.
	ScreenTests() []screentest.Test
	// KeepScreenTest records a test and returns once that is kept for good.
	KeepScreenTest(ctx context.Context, person string, n screentest.Note) (number uint64, err error)
}

const (
	actScreen = "screen"
	// screenCookie keeps the name of the screen in the browser that was tested: what
	// holds for one screen says nothing of another.
	screenCookie = "wetside-screen"
	tenYears     = 10 * 366 * 24 * 60 * 60 // seconds
)

type screenBody struct {
	Problem string
	State   web.ScreenState
	Parts   []screenPart
	Form    web.AskForm
	Tests   []screenLine
}

// screenPart is one step of the sheet, with what stays covered.
type screenPart struct {
	Number, Seconds int
	Light, Sum      string
	Clock           string // the light as a clock shows it
	X               int    // of its strip in the drawing
}

type screenLine struct {
	Screen, Brightness, Paper, Place, When, By string
	Before, After, Clear                       string
	This                                       bool
}

// screenOf is the name that this browser's screen was tested under.
func screenOf(r *http.Request) string {
	c, err := r.Cookie(screenCookie)
	if err != nil {
		return ""
	}
	name, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	runes := []rune(name) // it did not come through a form
	return string(runes[:min(len(runes), web.LongestName)])
}

// ScreenState says whether the screen of a request was tested, and what that showed.
func (s *Pages) ScreenState(r *http.Request) web.ScreenState {
	if s.Screens == nil {
		return web.ScreenState{}
	}
	state := web.ScreenState{Href: "/screen?look=red", Text: "This screen: not tested", Shape: "unknown"}
	if name := screenOf(r); name != "" {
		state.Name = name
		if tests := screentest.Of(name, s.Screens.ScreenTests()); len(tests) > 0 {
			state.Shape, state.Tested = "moving", true
			state.Text = fmt.Sprintf("This screen, %s, %s: %s", s.figures(s.View.Now()).Date(tests[0].At), tests[0].Paper,
				s.clearWords(tests[0].Clear()))
		}
	}
	return state
}

// clearWords says up to when nothing was seen.
func (s *Pages) clearWords(d time.Duration) string {
	if d <= 0 {
		return "marks the paper within a minute"
	}
	return fmt.Sprintf("no mark after up to %s of its light", minutes(d))
}

func (s *Pages) screenPage(w http.ResponseWriter, r *http.Request) {
	f, a := s.figures(s.View.Now()), s.Attempt(r)
	name := screenOf(r)
	body := screenBody{Problem: a.Sentence(), State: s.ScreenState(r), Parts: s.screenParts(), Form: s.screenForm(f, web.LookOf(r), a, name)}
	for _, t := range s.Screens.ScreenTests() {
		body.Tests = append([]screenLine{{Screen: t.Screen, Brightness: t.Brightness, Paper: t.Paper, Place: t.Place, When: f.Moment(t.At),
			By:     t.By,
			Before: s.stripWords(t.Before), After: s.stripWords(t.After), Clear: s.clearWords(t.Clear()), This: t.Screen == name}}, body.Tests...)
	}
	p := s.PlacePage(r, web.Head{Name: "screen", Title: "Does this screen fog your paper?"}, "office.css")
	s.Show(w, r, http.StatusOK, p.With(body))
}

func (s *Pages) screenParts() []screenPart {
	var list []screenPart
	for i, p := range screentest.Parts() {
		seconds := int(p.Light.Seconds())
		list = append(list, screenPart{Number: i + 1, Seconds: seconds, Light: minutes(p.Light), Sum: minutes(p.Sum),
			Clock: fmt.Sprintf("%d:%02d", seconds/60, seconds%60), X: 60 * (i + 1)})
	}
	return list
}

func minutes(d time.Duration) string { return web.Count(int(d.Minutes()), "%d minute", "%d minutes") }

// stripWords says which strip of a sheet is the lowest that differs.
func (s *Pages) stripWords(m screentest.Marked) string {
	if m == screentest.Unmarked {
		return "No strip differs"
	}
	return fmt.Sprintf("From the strip with %s on", minutes(time.Duration(m)))
}

func (s *Pages) screenForm(f figures, l web.Look, a web.Attempt, name string) web.AskForm {
	strips := func() []web.Choice {
		list := []web.Choice{{Value: screentest.Unmarked.String(), Text: s.stripWords(screentest.Unmarked)}}
		for _, p := range screentest.Parts() {
			m := screentest.Marked(p.Sum)
			list = append(list, web.Choice{Value: m.String(), Text: s.stripWords(m)})
		}
		return list
	}
	return f.Asking(l, web.About{Act: actScreen, Summary: "Record a test", Button: "Save this test"}, a,
		web.Ask{Field: screenField, Hint: "your name for it, such as lab computer", Value: name},
		web.Ask{Field: brightnessField, Hint: "such as 10 % or lowest"},
		web.Ask{Field: paperField, Hint: "maker, kind and surface, as on the box"},
		web.Ask{Field: layField, Hint: "such as beside the developer tray, 60 cm away"},
		web.Ask{Field: beforeField, Choices: strips()},
		web.Ask{Field: afterField, Choices: strips()})
}

func (s *Pages) screenPost(w http.ResponseWriter, r *http.Request) {
	s.Once(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		receipt, name, wrong := s.enterScreen(ctx, t)
		if wrong == nil {
			http.SetCookie(w, &http.Cookie{Name: screenCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: tenYears, HttpOnly: true,
				SameSite: http.SameSiteStrictMode})
		}
		return receipt, wrong
	})
}

func (s *Pages) enterScreen(ctx context.Context, t web.Typed) (receipt, name string, wrong *web.Problem) {
	f := s.figures(s.View.Now()).Reader(t.More)
	n := screentest.Note{Screen: f.Name(screenField, true),
		Brightness: f.Name(brightnessField, true),
		Paper:      f.Name(paperField, true),
		Place:      f.Line(layField, true)}
	n.Before, n.After = readStrip(f, beforeField), readStrip(f, afterField)
	person := f.Who()
	if f.Problem != nil {
		return "", "", f.Problem
	}
	if _, err := s.Screens.KeepScreenTest(ctx, person, n); err != nil {
		return "", "", s.NotKept(err)
	}
	return fmt.Sprintf("%s with %s: %s.", n.Screen, n.Paper, s.clearWords(n.Clear())), n.Screen, nil
}

// readStrip reads the lowest strip of a sheet that differs.
func readStrip(f *web.FormReader, field web.Field) screentest.Marked {
	m, err := screentest.ParseMarked(f.Get(field))
	if err != nil {
		f.Unchosen(field)
	}
	return m
}

// screenLight is the light of the test: the whole screen in the brightest red that any
// page of ours may show, with the steps of a sheet counted down where there is script.
func (s *Pages) screenLight(w http.ResponseWriter, r *http.Request) {
	p := s.PageFor(web.Head{Name: "screen-light", Title: "Light of the test"}, web.Red, web.Visit{Site: s.View.Now()})
	p.Styles, p.Scripts = []string{"board.css", "screen.css"}, []string{"sound.js", "screen.js"}
	p.Body = s.screenParts()
	s.Show(w, r, http.StatusOK, p)
}
