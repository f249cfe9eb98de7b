package chart

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// curve draws each unbroken run of points: its envelope, then its mean. A point that
// stands alone between gaps is a short stroke at its mean, on one from its lowest to
// its highest; all of them are one path, for a year may have hundreds.
func (d *drawing) curve() {
	if len(d.Line.Points) == 0 {
		d.text(text{(d.left + d.Width - right) / 2, (d.top + d.base) / 2, "middle", d.Empty})
	}
	var alone, apart []Point
	for _, run := range d.runs(d.Line) {
		run = d.thin(run)
		last := run[len(run)-1]
		d.envelope(run)
		switch {
		case len(run) > 1 && last.Apart:
			d.hollow(d.walk(run, func(p Point) float64 { return p.Mean }))
		case len(run) > 1:
			d.path("chart-line", d.walk(run, func(p Point) float64 { return p.Mean }))
		case last.Apart:
			apart = append(apart, last)
		default:
			alone = append(alone, last)
		}
	}
	d.alone(d.thin(alone))
	d.boxes(d.thin(apart))
}

// alone draws the points that stand between gaps.
func (d *drawing) alone(points []Point) {
	var ranges, means strings.Builder
	for _, p := range points {
		x := d.x(p.At)
		fmt.Fprintf(&means, "M%s %sh3", coordinate(x-1.5), coordinate(d.y(p.Mean)))
		if p.Max-p.Min >= d.Step {
			fmt.Fprintf(&ranges, "M%s %sV%s", coordinate(x), coordinate(d.y(p.Max)), coordinate(d.y(p.Min)))
		}
	}
	if ranges.Len() > 0 {
		d.path("chart-range", ranges.String())
	}
	if means.Len() > 0 {
		d.path("chart-dot", means.String())
	}
}

// hollow draws a line of which only the edges are seen.
func (d *drawing) hollow(data string) {
	d.path("chart-apart", data)
	d.path("chart-apart-core", data)
}

// boxes draws the points of a hollow line that stand between gaps.
func (d *drawing) boxes(points []Point) {
	var out strings.Builder
	for _, p := range points {
		fmt.Fprintf(&out, "M%s %sh4v4h-4z", coordinate(d.x(p.At)-2), coordinate(d.y(p.Mean)-2))
	}
	if out.Len() > 0 {
		d.path("chart-box", out.String())
	}
}

// perColumn is how many units of the drawing a column of a thinned line takes.
const perColumn = 1.5

// thin joins the points of a run that fall into the same column, so that the
// lowest and the highest of them all stay.
func (d *drawing) thin(run []Point) []Point {
	columns := int((d.Width - d.left - right) / perColumn)
	if len(run) <= columns {
		return run
	}
	var out []Point
	column := -1
	for _, p := range run {
		if c := int((d.x(p.At) - d.left) / perColumn); c != column {
			out, column = append(out, p), c
			continue
		}
		out[len(out)-1] = out[len(out)-1].with(p)
	}
	return out
}

// with joins a later point to p.
func (p Point) with(o Point) Point {
	n, m := max(p.Count, 1), max(o.Count, 1)
	p.Mean = (p.Mean*float64(n) + o.Mean*float64(m)) / float64(n+m)
	p.Min, p.Max, p.Count = min(p.Min, o.Min), max(p.Max, o.Max), n+m
	return p
}

func (d *drawing) envelope(run []Point) {
	flat := true
	back := make([]Point, len(run))
	for i, p := range run {
		flat = flat && p.Max-p.Min < d.Step
		back[len(run)-1-i] = p
	}
	if flat || len(run) < 2 {
		return
	}
	up := d.walk(run, func(p Point) float64 { return p.Max })
	down := d.walk(back, func(p Point) float64 { return p.Min })
	d.path("chart-envelope", up+"L"+strings.TrimPrefix(down, "M")+"Z")
}

// runs cuts the points where a gap lies between two of them, and where those that
// were measured here meet others.
func (d *drawing) runs(l Line) [][]Point {
	var runs [][]Point
	var run []Point
	for i, p := range l.Points {
		if i > 0 && (p.Apart != l.Points[i-1].Apart || d.gapBetween(l.Gaps, l.Points[i-1].At, p.At)) {
			runs, run = append(runs, run), nil
		}
		run = append(run, p)
	}
	if len(run) == 0 {
		return nil
	}
	return append(runs, run)
}

func (d *drawing) gapBetween(gaps []Gap, a, b time.Time) bool {
	return slices.ContainsFunc(gaps, func(g Gap) bool { return g.From.Before(b) && d.until(g.To).After(a) })
}

// walk goes from point to point, each told from the one before, which is shorter than
// from the corner; no difference is rounded twice.
func (d *drawing) walk(points []Point, of func(Point) float64) string {
	var b numbers
	var lastX, lastY float64
	for i, p := range points {
		x, y := tenths(d.x(p.At)), tenths(d.y(of(p)))
		if i < 2 {
			b.command("Ml"[i])
		}
		b.number((x - lastX) / 10)
		b.number((y - lastY) / 10)
		lastX, lastY = x, y
	}
	return b.String()
}

// numbers is the data of a path, with nothing between its numbers but what parts them, as the grammar
// of SVG 2 (9.3.9) allows: most of a page's weight are numbers.
type numbers struct {
	strings.Builder
	after, pointed bool // a number stands before, and has a point
}

func (n *numbers) command(letter byte) {
	n.WriteByte(letter)
	n.after = false
}

func (n *numbers) number(v float64) {
	text := coordinate(v)
	if strings.HasPrefix(strings.TrimPrefix(text, "-"), "0.") {
		text = strings.Replace(text, "0", "", 1)
	}
	if n.after && text[0] != '-' && (text[0] != '.' || !n.pointed) {
		n.WriteByte(' ')
	}
	n.WriteString(text)
	n.after, n.pointed = true, strings.Contains(text, ".")
}

// until is the end of what may go on beyond the drawing.
func (d *drawing) until(t time.Time) time.Time {
	if t.IsZero() {
		return d.To
	}
	return t
}
