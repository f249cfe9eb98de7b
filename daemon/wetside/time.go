package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// timeCmd works out a development time from published points.
type timeCmd struct {
	At []chem.Point `sep:"none" placeholder:"20C=7:45" help:"A published point, in C or F, the time as 7:45, 9.5min or 465s; give each."`

	Temp         *quantity.Celsius `placeholder:"23C" help:"Temperature of the bath now, in C or F."`
	Accuracy     number            `default:"0.5" help:"Plus-or-minus of the thermometer, in kelvin."`
	Hydroquinone bool              `default:"true" negatable:"" help:"Refuse below 15.6 C (60 F), unless the developer has no hydroquinone."`
	JSON         bool              `name:"json" help:"Answer in JSON."`
}

// timeAnswer is the recommendation in JSON: seconds are null when it was refused.
type timeAnswer struct {
	Seconds     *float64 `json:"seconds"`
	LowSeconds  *float64 `json:"low_seconds"`
	HighSeconds *float64 `json:"high_seconds"`
	Basis       string   `json:"basis"`
	Refusal     string   `json:"refusal"`
	Sentence    string   `json:"sentence"`
	NotCounted  string   `json:"not_counted,omitempty"` // what low and high leave out
	Doubts      []string `json:"doubts,omitempty"`      // reasons to check the table against its source
}

// Run answers on out; a refusal is an answer. Arguments that cannot be used are
// a usageError.
func (c *timeCmd) Run(out io.Writer) error {
	in, err := c.inputs()
	if err != nil {
		return usageError{err}
	}
	r := chem.Tonight(in)
	if c.JSON {
		return writeJSON(out, answerOf(r, in.Table.Doubts()))
	}
	lines := []phrase.Sentence{r.Sentence()}
	if r.Refusal().IsZero() {
		low, high := r.Interval()
		lines = append(lines, phrase.Say("between %s and %s, from the %s; %s", chem.MinutesSeconds(low), chem.MinutesSeconds(high), r.Basis(),
			r.LeavesOut()))
	}
	for _, doubt := range in.Table.Doubts() {
		lines = append(lines, phrase.Say("check the table: %s", doubt))
	}
	return writeSentences(out, lines)
}

func (c *timeCmd) inputs() (chem.Inputs, error) {
	slices.SortStableFunc(c.At, func(a, b chem.Point) int { return cmp.Compare(a.At, b.At) })
	table, err := chem.NewTable("points on the command line", c.At)
	if err != nil {
		return chem.Inputs{}, err
	}
	if c.Temp == nil {
		return chem.Inputs{}, errors.New("say how warm the bath is, such as --temp 23C")
	}
	if !(*c.Temp >= 0 && *c.Temp <= 100) {
		return chem.Inputs{}, fmt.Errorf("--temp: %s is not that of a bath: write it between 0C and 100C, such as 20C", c.Temp.To(0.1))
	}
	if !(c.Accuracy >= 0 && c.Accuracy <= 10) {
		return chem.Inputs{}, fmt.Errorf("--accuracy %g: it must be between 0 and 10 kelvin", c.Accuracy)
	}
	return chem.Inputs{Table: table, Temperature: chem.Measured(*c.Temp, float64(c.Accuracy)), HydroquinoneFloor: c.Hydroquinone}, nil
}

func answerOf(r chem.Recommendation, doubts []phrase.Sentence) timeAnswer {
	answer := timeAnswer{Basis: r.Basis().String(), NotCounted: r.LeavesOut().String(), Refusal: r.Refusal().String(),
		Sentence: r.Sentence().String()}
	if t, ok := r.Time(); ok {
		low, high := r.Interval()
		answer.Seconds, answer.LowSeconds, answer.HighSeconds = seconds(t), seconds(low), seconds(high)
	}
	for _, doubt := range doubts {
		answer.Doubts = append(answer.Doubts, doubt.String())
	}
	return answer
}

// seconds keeps milliseconds, which is more than any tray can tell.
func seconds(d time.Duration) *float64 {
	s := d.Round(time.Millisecond).Seconds()
	return &s
}
