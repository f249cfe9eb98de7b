package report

import (
	"math"
	"strconv"

	"wetside/sensors/quantity/phrase"
)

// canvas is what a drawing is drawn on: a page of a PDF, or an SVG. Places are in
// its own unit from the upper left.
type canvas interface {
	line(kind string, from, to place)
	box(kind string, at, size place)
	words(at place, anchor, text string)
}

type place struct{ x, y float64 }

// frame is where the bars stand in a drawing.
type frame struct {
	left, top, right, bottom float64
	most                     float64 // the value at the top
}

func (f frame) y(v float64) float64 {
	return f.bottom - (f.bottom-f.top)*math.Min(math.Max(v/f.most, 0), 1)
}

// draw draws the bars in a box of the given size; letters are as high as text says.
func (b Bars) draw(c canvas, size place, text float64) {
	step := b.step()
	f := frame{left: 3.2 * text, top: 1.6 * text, right: size.x - 6.5*text, bottom: size.y - 1.8*text,
		most: step * math.Ceil(b.top()/step)}
	for v := 0.0; v <= f.most+step/2; v += step {
		c.line("grid", place{f.left, f.y(v)}, place{f.right, f.y(v)})
		c.words(place{f.left - text/2, f.y(v) + text*0.35}, "end", b.by.Sign(strconv.FormatFloat(v, 'f', -1, 64)))
	}
	c.words(place{0, text}, "start", b.Unit)
	c.line("axis", place{f.left, f.bottom}, place{f.right, f.bottom})
	pitch := (f.right - f.left) / float64(len(b.Bars))
	free := 0.0
	for i, bar := range b.Bars {
		middle := f.left + pitch*(float64(i)+0.5)
		bar.draw(c, f, place{middle, math.Min(pitch*0.7, 3*text)})
		if at := middle - 0.3*text*float64(len(bar.Label)); at >= free && at+0.6*text*float64(len(bar.Label)) <= size.x {
			c.words(place{middle, f.bottom + 1.4*text}, "middle", bar.Label)
			free = middle + 0.3*text*float64(len(bar.Label)) + text
		}
	}
	if b.Required != nil {
		c.line("limit", place{f.left, f.y(*b.Required)}, place{f.right, f.y(*b.Required)})
		c.words(place{f.right + text/2, f.y(*b.Required) + text*0.35}, "start", phrase.Say("min %.1f", *b.Required).By(b.by))
	}
}

// draw draws one bar; at holds its middle and its width. Where nothing was measured
// stands a hatched box with a question mark.
func (b Bar) draw(c canvas, f frame, at place) {
	left, right := at.x-at.y/2, at.x+at.y/2
	if b.Typical == nil || b.Lowest == nil {
		c.box("unknown", place{left, f.top}, place{at.y, f.bottom - f.top})
		c.words(place{at.x, (f.top + f.bottom) / 2}, "middle", "?")
		return
	}
	c.box("bar", place{left, f.y(*b.Typical)}, place{at.y, f.bottom - f.y(*b.Typical)})
	c.line("lowest", place{left - at.y*0.25, f.y(*b.Lowest)}, place{right + at.y*0.25, f.y(*b.Lowest)})
}

// top is the highest value to draw.
func (b Bars) top() float64 {
	top := 1.0
	if b.Required != nil {
		top = *b.Required
	}
	for _, bar := range b.Bars {
		if bar.Typical != nil {
			top = max(top, *bar.Typical)
		}
	}
	return top
}

// step is a round distance of about four lines.
func (b Bars) step() float64 {
	raw := b.top() / 4
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, factor := range []float64{1, 2, 5} {
		if factor*power >= raw {
			return factor * power
		}
	}
	return 10 * power
}

// The kinds of the parts of a column, from the bottom up.
func partKinds() [3]string { return [3]string{"proven", "low", "unknown"} }

// draw draws the columns in a box of the given size; letters are as high as text says.
func (p Parted) draw(c canvas, size place, text float64) {
	f := frame{left: 3.2 * text, top: 0.8 * text, right: size.x, bottom: size.y - 4.2*text, most: p.most()}
	for v := 0.0; v <= f.most; v++ {
		c.line("grid", place{f.left, f.y(v)}, place{f.right, f.y(v)})
		c.words(place{f.left - text/2, f.y(v) + text*0.35}, "end", strconv.Itoa(int(v))+" "+p.Unit)
	}
	pitch := (f.right - f.left) / float64(len(p.Columns))
	free := 0.0
	for i, column := range p.Columns {
		middle, width := f.left+pitch*(float64(i)+0.5), math.Min(pitch*0.7, 3*text)
		column.draw(c, f, place{middle, width})
		if half := 0.3 * text * float64(len(column.Label)); middle-half >= free && middle+half <= size.x {
			c.words(place{middle, f.bottom + 1.4*text}, "middle", column.Label)
			free = middle + half + text
		}
	}
	c.line("axis", place{f.left, f.bottom}, place{f.right, f.bottom})
	p.legend(c, size, text)
}

// legend names the parts below the columns, with as much room between the names as there is.
func (p Parted) legend(c canvas, size place, text float64) {
	const mark, letter = 1.6, 0.58 // in heights of a letter: the box before a name, and a letter of a wide font
	free := size.x / text
	for _, name := range p.Legend {
		free -= mark + letter*float64(len(name))
	}
	gap, at := math.Max(math.Min(free/2, 2.4), 0.4), 0.0
	for i, kind := range partKinds() {
		c.box(kind, place{at, size.y - 1.2*text}, place{text, text})
		c.words(place{at + mark*text, size.y - 0.3*text}, "start", p.Legend[i])
		at += (mark + letter*float64(len(p.Legend[i])) + gap) * text
	}
}

// draw draws one column; at holds its middle and its width.
func (p PartedColumn) draw(c canvas, f frame, at place) {
	from := 0.0
	for i, kind := range partKinds() {
		to := from + p.Parts[i]
		if p.Parts[i] > 0 {
			c.box(kind, place{at.x - at.y/2, f.y(to)}, place{at.y, f.y(from) - f.y(to)})
		}
		from = to
	}
}

// most is the whole hour at or above the highest column.
func (p Parted) most() float64 {
	most := 1.0
	for _, c := range p.Columns {
		most = max(most, math.Ceil(c.Parts[0]+c.Parts[1]+c.Parts[2]))
	}
	return most
}
