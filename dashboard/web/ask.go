package web

import (
	"strings"
	"time"
)

// MostPeople bounds how many people a form takes.
const MostPeople = 1000

// NameField is the field of whoever enters something.
const NameField = "who"

// AskForm is a form made of a few questions.
type AskForm struct {
	Form
	Summary, Button string
	Asks            []Ask
	Look            Look
	// Hidden goes back as it is.
	Hidden map[string]string
}

// Ask is one question of a form: a line of text, or a choice.
type Ask struct {
	Field
	ID, Hint, Value string
	Mode            string // of the keyboard on a phone
	Choices         []Choice
	Wrong           bool
}

// Choice is one of a few answers to a question.
type Choice struct {
	Value, Text string
	Picture     string // the name of its drawing, if there is one
	Checked     bool
}

// Tick ticks the answer that the question has.
func (q *Ask) Tick() {
	for i := range q.Choices {
		q.Choices[i].Checked = q.Choices[i].Value == q.Value
	}
}

// About says which form is meant: its act and what it acts upon.
type About struct {
	Act, Alarm      string
	Summary, Button string
}

// Asking makes a form of questions, or gives back the attempt at it as it was typed.
func (f Figures) Asking(l Look, of About, a Attempt, asks ...Ask) AskForm {
	out := AskForm{Form: Form{Typed: Typed{Act: of.Act, Alarm: of.Alarm, Token: NewToken()}}, Summary: of.Summary, Button: of.Button, Look: l}
	if a.Problem != nil && a.Typed.Act == of.Act && a.Typed.Alarm == of.Alarm {
		out.Typed, out.Wrong, out.Open = a.Typed, a.Problem.Field, true
	}
	asks = append(asks, Ask{Field: WhoField()})
	for i := range asks {
		q := &asks[i]
		q.ID, q.Wrong = q.Name+"-"+out.Token, out.Wrong == q.Name
		if out.Open {
			q.Value = out.More.Get(q.Name)
		}
		q.Tick()
	}
	out.Asks = asks
	return out
}

// Until reads a time of the day as the next moment at which the place's clock shows it.
func (f *FormReader) Until(text string) time.Time {
	text = strings.TrimSpace(strings.ReplaceAll(text, ".", ":"))
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse("15:04", text)
	if err != nil {
		f.Fail("until", "Planned end: %q is not a time of the day. Write it like 21:00.", Clip(text))
		return time.Time{}
	}
	y, m, d := f.Now.In(f.Zone).Date()
	at := time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, f.Zone)
	if !at.After(f.Now) {
		at = time.Date(y, m, d+1, t.Hour(), t.Minute(), 0, 0, f.Zone)
	}
	return at
}
