package shelf

import (
	"net/url"
	"slices"

	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

// picturedTest is a test whose answer is touched: what was seen is recorded in one press.
type picturedTest struct {
	Question string
	Steps    []string
	Cautions []string
	Source   string
	Choices  []seenChoice
	Form     *entryForm
	More     string // where the amounts, the sources and the late entry are
}

// seenChoice is one thing that a person can have seen.
type seenChoice struct {
	Value, Text, Means string
	Picture            string // the class of the drawing
	Bad                bool
}

// questions are what a pictured test asks; a test that is not here has its page alone.
func questions() map[ledger.TestKind]string {
	return map[ledger.TestKind]string{
		ledger.StopColourTest: "What colour is the stop bath?",
		ledger.IodideTest:     "Does a precipitate form?",
	}
}

// pictures are the words and the drawing of what can be seen.
func pictures() map[ledger.Seen]seenChoice {
	return map[ledger.Seen]seenChoice{
		"yellow": {Text: "Yellow", Picture: "yellow"},
		"orange": {Text: "Orange", Picture: "orange"},
		"purple": {Text: "Purple", Picture: "purple"},
		"dark":   {Text: "Dark", Picture: "dark"},
		"clear":  {Text: "Stays clear", Picture: "clear"},
		"cloudy": {Text: "A yellow tint, or a white precipitate that stays", Picture: "cloudy"},
	}
}

// pictured is the test of a bath within a step, and what each answer means there; nil where its class has none that is
// judged by eye.
func (c shelfContext) pictured(id string, at stepOf, passed, spent string) *picturedTest {
	held, _ := c.book.Contents(id, c.book.At)
	first := slices.IndexFunc(ledger.TestKinds(), func(k ledger.TestKind) bool { return k.Suits(held.Class) && questions()[k] != "" })
	if first < 0 {
		return nil
	}
	test := ledger.TestKinds()[first]
	guide := ledger.GuideTo(test)
	values := url.Values{"test": {string(test)}, "container": {id}, "white_light": {"on"}}
	p := &picturedTest{Question: questions()[test], Steps: c.Texts(guide.Steps), Cautions: c.Texts(guide.Cautions),
		Source: c.Sourced(c.Text(guide.Source), guide.Standing), Form: c.stepForm("test-done", values, at),
		More: c.stepHref("test-done", url.Values{"test": {string(test)}, "container": {id}}, at)}
	for i, seen := range test.Seen() {
		choice, drawn := pictures()[seen]
		if !drawn {
			choice.Text = phrase.Capital(c.Word(seen))
		}
		choice.Value, choice.Bad = string(seen), i > 0
		choice.Means = passed
		if choice.Bad {
			choice.Means = spent
		}
		p.Choices = append(p.Choices, choice)
	}
	return p
}
