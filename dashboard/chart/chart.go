// Package chart draws a channel over time as a scalable picture: a line
// that breaks where nothing was measured, hatched gaps with their cause, the wanted
// bands, sessions and alarms on the same axis, and ticks in the local time of the
// place. Colours, strokes and the font come from the page's style sheet through
// classes, so that the same drawing serves the red page, the day page and paper.
package chart

import (
	"errors"
	"io"
	"math"
	"slices"
	"time"
)

// Chart is what is to be drawn. Values are in the unit that Unit names.
type Chart struct {
	// ID makes the names inside the drawing unique on its page.
	ID          string
	Title       string
	Description string
	Unit        string
	From, To    time.Time
	Zone        *time.Location
	// Width and Height of the drawing; text is 13 high.
	Width, Height float64
	// Left is the least space beside the plot, and TimeBelow leaves the words of the axis of time to the
	// drawing below: drawings of one [Chart.Margin] one above another share their axis.
	Left      float64
	TimeBelow bool
	// Step is the smallest difference worth showing.
	Step float64
	// DecimalComma has values written as 18,5 and not as 18.5.
	DecimalComma bool
	Line         Line
	// Wanted are the bands that the place wants, each over its time.
	Wanted []Band
	// Sessions stand in a lane above the values, Alarms in lanes below them.
	Sessions, Alarms Lane
	// Empty is said in the middle of a drawing without any point.
	Empty string
}

// Line is what was measured, and when it was not.
type Line struct {
	Points []Point
	Gaps   []Gap
}

// Point is one sample, or the envelope of Count samples from At on; below 1 counts
// as 1. Values beyond 1e12, infinite ones and ones that are no number are left out
// of the drawing.
type Point struct {
	At             time.Time
	Min, Mean, Max float64
	Count          int
	// Apart marks a value that was not measured here, such as one from a file: it is
	// drawn as a hollow line, and no line joins it to one that was.
	Apart bool
}

// Gap is a time in which nothing good was measured, and why. A zero To lasts
// until the end of the drawing.
type Gap struct {
	From, To time.Time
	Cause    string // in words, as it is drawn
	// Kind is the cause for who made the chart, in whatever words it is drawn.
	Kind string
}

// Band is a range of values over a time; zero times mean all of the drawing. A High
// of +Inf is a band without an upper end.
type Band struct {
	Low, High float64
	From, To  time.Time
}

// Errors of a chart that can't be drawn.
var (
	ErrTimes = errors.New("a chart needs an end after its beginning")
	ErrSize  = errors.New("a chart needs at least 200 by 120 to draw in")
)

// WriteSVG draws the chart.
func (c Chart) WriteSVG(w io.Writer) error {
	switch {
	case !c.From.Before(c.To):
		return ErrTimes
	case !(c.Width >= 200 && c.Height >= 120):
		return ErrSize
	}
	if c.Zone == nil {
		c.Zone = time.UTC
	}
	c.Line.Points = slices.DeleteFunc(slices.Clone(c.Line.Points), Point.beyond)
	d := newDrawing(c)
	d.open()
	d.bands()
	d.valueAxis()
	d.timeAxis()
	d.gaps()
	d.lanes()
	d.curve()
	d.out.WriteString("</svg>")
	_, err := d.out.WriteTo(w)
	return err
}

// beyond says whether a point can't be placed.
func (p Point) beyond() bool {
	const most = 1e12
	return !(math.Abs(p.Min) <= most && math.Abs(p.Mean) <= most && math.Abs(p.Max) <= most)
}

// extent is the range of values that the drawing must hold.
func (c Chart) extent() Band {
	e := Band{Low: math.Inf(1), High: math.Inf(-1)}
	for _, p := range c.Line.Points {
		e.Low, e.High = min(e.Low, p.Min), max(e.High, p.Max)
	}
	for _, w := range c.Wanted {
		e.Low, e.High = min(e.Low, w.Low), max(e.High, w.Low)
		if !math.IsInf(w.High, 1) {
			e.High = max(e.High, w.High)
		}
	}
	if e.Low > e.High {
		e = Band{Low: 0, High: 1}
	}
	if least := max(10*c.Step, 1e-9*math.Abs(e.High), 1e-9); e.High-e.Low < least {
		middle := (e.High + e.Low) / 2
		e = Band{Low: middle - least/2, High: middle + least/2}
	}
	return e
}
