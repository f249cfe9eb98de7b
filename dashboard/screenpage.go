package dashboard

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"time"

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

// screenBody is the guide to a test of the screen, and what tests showed.
type screenBody struct {
	Look             look
	Receipt, Problem string
	State            screenState
	Parts            []screenPart
	Form             askForm
	Tests            []screenLine
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

// screenState is what the red page says of the screen it is shown on.
type screenState struct {
	// Href leads to the test; empty where no tests are kept.
	Href, Text string
	Shape      string // the drawing beside the words
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
	return clipTo(name, longestName)
}

// clipTo cuts a text that did not come through a form to a length in characters.
func clipTo(text string, most int) string {
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most])
	}
	return text
}

// screenState says whether the screen of a request was tested, and what that showed.
func (s *keepPages) screenState(r *http.Request) screenState {
	if s.screens == nil {
		return screenState{}
	}
	state := screenState{Href: "/screen?look=red", Text: s.words.Say("screen.untested"), Shape: "unknown"}
	if name := screenOf(r); name != "" {
		if tests := screentest.Of(name, s.screens.ScreenTests()); len(tests) > 0 {
			state.Shape = "moving"
			state.Text = s.words.Say("screen.tested", s.figures(s.View.Now()).day(tests[0].At), tests[0].Paper, s.clearWords(tests[0].Clear()))
		}
	}
	return state
}

// day is a day of the calendar of the place.
func (f figures) day(t time.Time) string { return t.In(f.zone).Format("2 Jan 2006") }

// clearWords says up to when nothing was seen.
func (s *keepPages) clearWords(d time.Duration) string {
	if d <= 0 {
		return s.words.Say("screen.marks")
	}
	return s.words.Say("screen.clear", int(d.Minutes()))
}

func (s *keepPages) screenPage(w http.ResponseWriter, r *http.Request) {
	f, a := s.figures(s.View.Now()), s.attempt(r)
	body := screenBody{Look: lookOf(r), Receipt: s.receipt(r), State: s.screenState(r), Parts: s.screenParts()}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	name := screenOf(r)
	body.Form = s.screenForm(f, lookOf(r), a, name)
	for _, t := range s.screens.ScreenTests() {
		body.Tests = append([]screenLine{{Screen: t.Screen, Brightness: t.Brightness, Paper: t.Paper, Place: t.Place, When: f.moment(t.At), By: t.By,
			Before: s.stripWords(t.Before), After: s.stripWords(t.After), Clear: s.clearWords(t.Clear()), This: t.Screen == name}}, body.Tests...)
	}
	p := s.placePage(r, "screen", "office.css")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func (s *keepPages) screenParts() []screenPart {
	var list []screenPart
	for i, p := range screentest.Parts() {
		seconds := int(p.Light.Seconds())
		list = append(list, screenPart{Number: i + 1, Seconds: seconds, Light: s.minutes(p.Light), Sum: s.minutes(p.Sum),
			Clock: fmt.Sprintf("%d:%02d", seconds/60, seconds%60), X: 60 * (i + 1)})
	}
	return list
}

func (s *keepPages) minutes(d time.Duration) string {
	if d == time.Minute {
		return s.words.Say("screen.minute")
	}
	return s.words.Say("screen.minutes", int(d.Minutes()))
}

// stripWords says which strip of a sheet is the lowest that differs.
func (s *keepPages) stripWords(m screentest.Marked) string {
	if m == screentest.Unmarked {
		return s.words.Say("screen.no-strip")
	}
	return s.words.Say("screen.strip", s.minutes(time.Duration(m)))
}

func (s *keepPages) screenForm(f figures, l look, a attempt, name string) askForm {
	strips := func() []choice {
		list := []choice{{Value: screentest.Unmarked.String(), Text: s.stripWords(screentest.Unmarked)}}
		for _, p := range screentest.Parts() {
			m := screentest.Marked(p.Sum)
			list = append(list, choice{Value: m.String(), Text: s.stripWords(m)})
		}
		return list
	}
	form := f.asking(l, about{act: actScreen, summary: s.words.Say("screen.enter"), button: s.words.Say("button.screen")}, a,
		ask{Name: "screen", Label: s.words.Say("field.screen"), Hint: s.words.Say("hint.screen"), Value: name},
		ask{Name: "brightness", Label: s.words.Say("field.brightness"), Hint: s.words.Say("hint.brightness")},
		ask{Name: "paper", Label: s.words.Say("field.paper"), Hint: s.words.Say("hint.paper")},
		ask{Name: "lay", Label: s.words.Say("field.lay"), Hint: s.words.Say("hint.lay")},
		ask{Name: "before", Label: s.words.Say("field.before"), Choices: strips()},
		ask{Name: "after", Label: s.words.Say("field.after"), Choices: strips()})
	return form
}

func (s *keepPages) screenPost(w http.ResponseWriter, r *http.Request) {
	s.once(w, r, func(ctx context.Context, t typed) (string, *problem) {
		receipt, name, wrong := s.enterScreen(ctx, t)
		if wrong == nil {
			http.SetCookie(w, &http.Cookie{Name: screenCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: tenYears, HttpOnly: true, SameSite: http.SameSiteStrictMode})
		}
		return receipt, wrong
	})
}

func (s *keepPages) enterScreen(ctx context.Context, t typed) (receipt, name string, wrong *problem) {
	f := s.figures(s.View.Now()).reader()
	n := screentest.Note{Screen: f.text("screen", t.More.Get("screen"), longestName, true), Brightness: f.text("brightness", t.More.Get("brightness"), longestName, true),
		Paper: f.text("paper", t.More.Get("paper"), longestName, true), Place: f.text("lay", t.More.Get("lay"), longestText, true)}
	n.Before, n.After = readStrip(f, "before", t.More.Get("before")), readStrip(f, "after", t.More.Get("after"))
	person := f.text("who", t.Who, longestName, true)
	if f.problem != nil {
		return "", "", f.problem
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
	defer cancel()
	number, err := s.screens.KeepScreenTest(ctx, person, n)
	if err != nil {
		return "", "", s.notKept(err)
	}
	return s.words.Say("screen.recorded", number, n.Screen, n.Paper, s.clearWords(n.Clear())), n.Screen, nil
}

// readStrip reads the lowest strip of a sheet that differs.
func readStrip(f *formReader, field, text string) screentest.Marked {
	m, err := screentest.ParseMarked(text)
	if err != nil {
		f.fail(field, "form.choose", f.words.Say("field."+field))
	}
	return m
}

// screenLight is the light of the test: the whole screen in the brightest red that any
// page of ours may show, with the steps of a sheet counted down where there is script.
func (s *keepPages) screenLight(w http.ResponseWriter, r *http.Request) {
	p := s.pageFor("screen-light", red, visit{site: s.View.Now()})
	p.Styles, p.Scripts = []string{"board.css", "screen.css"}, []string{"sound.js", "screen.js"}
	p.Body = s.screenParts()
	s.show(w, r, http.StatusOK, p)
}
