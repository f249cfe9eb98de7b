package dashboard

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/rules"
	"wetside/rules/session"
)

// mostPeople bounds how many people a form takes.
const mostPeople = 1000

// nameField is the field of whoever enters something.
const nameField = "who"

// askForm is a form made of a few questions.
type askForm struct {
	form
	Summary, Button string
	Asks            []ask
	Look            look
	// Hidden goes back as it is.
	Hidden map[string]string
}

// ask is one question of a form: a line of text, or a choice.
type ask struct {
	ID, Name, Label, Hint, Value string
	Mode                         string // of the keyboard on a phone
	Choices                      []choice
	Wrong                        bool
}

type choice struct {
	Value, Text string
	Checked     bool
}

// about says which form is meant: its act and what it acts upon.
type about struct {
	act, alarm, bath string
	summary, button  string
}

// asking makes a form of questions, or gives back the attempt at it as it was typed.
func (f figures) asking(l look, of about, a attempt, asks ...ask) askForm {
	out := askForm{form: form{typed: typed{Act: of.act, Alarm: of.alarm, Bath: of.bath, Token: newToken()}}, Summary: of.summary, Button: of.button, Look: l}
	if a.problem != nil && a.typed.Act == of.act && a.typed.Alarm == of.alarm && a.typed.Bath == of.bath {
		out.typed, out.Wrong, out.Open = a.typed, a.problem.Field, true
	}
	asks = append(asks, ask{Name: nameField, Label: f.words.Say("field.who")})
	for i := range asks {
		q := &asks[i]
		q.ID, q.Wrong = q.Name+"-"+out.Token, out.Wrong == q.Name
		if out.Open {
			q.Value = out.More.Get(q.Name)
		}
		for j := range q.Choices {
			q.Choices[j].Checked = q.Choices[j].Value == q.Value
		}
	}
	out.Asks = asks
	return out
}

func readBegin(f *formReader, get func(string) string) rules.Act {
	act := rules.StartSession{Phase: session.Phase(f.pick("phase", get("phase"), string(session.SetUp), string(session.Open)))}
	act.Title = f.text("title", get("title"), longestName, false)
	if text := strings.TrimSpace(get("people")); text != "" {
		act.People = readCrowd(f, "people", text)
	}
	act.Until = f.until(get("until"))
	return act
}

// readCrowd reads how many people there are.
func readCrowd(f *formReader, field, text string) int {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 || n > mostPeople {
		f.fail(field, "form.people", clip(text), mostPeople)
	}
	return n
}

// until reads a time of the day as the next moment at which the place's clock shows it.
func (f *formReader) until(text string) time.Time {
	text = strings.TrimSpace(strings.ReplaceAll(text, ".", ":"))
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse("15:04", text)
	if err != nil {
		f.fail("until", "form.until", clip(text))
		return time.Time{}
	}
	y, m, d := f.now.In(f.zone).Date()
	at := time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, f.zone)
	if !at.After(f.now) {
		at = time.Date(y, m, d+1, t.Hour(), t.Minute(), 0, 0, f.zone)
	}
	return at
}

// pick reads one of a few answers.
func (f *formReader) pick(field, text string, answers ...string) string {
	if slices.Contains(answers, text) {
		return text
	}
	f.fail(field, "form.choose", f.label(field))
	return ""
}

func readMinutes(f *formReader, text string) time.Duration {
	n, _ := strconv.Atoi(f.pick("minutes", text, shelvings()...))
	return time.Duration(n) * time.Minute
}

// shelvings are for how many minutes an alarm may be put aside.
func shelvings() []string { return []string{"15", "30", "60", "120", "240", "720"} }
