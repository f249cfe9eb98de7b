package report

import (
	"math"
	"strconv"
)

// The kinds of the parts of a column, from the bottom up.
func partKinds() [3]string { return [3]string{"proven", "low", "unknown"} }

// draw draws the columns in a box of the given size; letters are as high as text says.
func (p Parted) draw(c canvas, size place, text float64) {
	f := frame{left: 3.2 * text, top: 0.8 * text, right: size.x, bottom: size.y - 4.2*text, most: p.most(), text: text}
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
