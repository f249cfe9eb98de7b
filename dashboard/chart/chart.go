// Package chart draws one channel over time as a scalable picture: a line that
// breaks where nothing was measured, hatched gaps with their cause, the wanted
// band, and ticks in the local time of the place. Colours, strokes and the font
// come from the page's style sheet through classes, so that the same drawing
// serves the red page, the day page and paper.
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
	// Step is the smallest difference worth showing.
	Step   float64
	Points []Point
	Gaps   []Gap
	// Wanted is the band that the place wants, nil when none is set.
	Wanted *Band
	// Empty is said in the middle of a drawing without any point.
	Empty string
}

// Point is one sample, or the envelope of the samples from At on. Values beyond
// 1e12, infinite ones and ones that are no number are left out of the drawing.
type Point struct {
	At             time.Time
	Min, Mean, Max float64
}

// Gap is a time in which nothing good was measured, and why. A zero To lasts
// until the end of the drawing.
type Gap struct {
	From, To time.Time
	Cause    string
}

// Band is a range of values.
type Band struct{ Low, High float64 }

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
	c.Points = slices.DeleteFunc(slices.Clone(c.Points), Point.beyond)
	d := newDrawing(c)
	d.open()
	d.band()
	d.valueAxis()
	d.timeAxis()
	d.gaps()
	d.curve()
	d.close()
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
	e := Band{math.Inf(1), math.Inf(-1)}
	for _, p := range c.Points {
		e.Low, e.High = min(e.Low, p.Min), max(e.High, p.Max)
	}
	if c.Wanted != nil {
		e.Low, e.High = min(e.Low, c.Wanted.Low), max(e.High, c.Wanted.High)
	}
	if e.Low > e.High {
		e = Band{0, 1}
	}
	if least := max(10*c.Step, 1e-9*math.Abs(e.High), 1e-9); e.High-e.Low < least {
		middle := (e.High + e.Low) / 2
		e = Band{middle - least/2, middle + least/2}
	}
	return e
}
