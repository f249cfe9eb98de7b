package chart

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// The measures of a drawing. No font is wider than glyph on average over the
// texts drawn here, so that what is placed by it fits in every font.
const (
	leastLeft, right, top, bottom = 62.0, 14.0, 22.0, 40.0
	textSize                      = 13.0
	glyph                         = 0.62 * textSize
)

// drawing is a chart being drawn. Times go from left to right over the plot,
// values from bottom to top over the ticks.
type drawing struct {
	Chart
	out        bytes.Buffer
	low, high  float64 // values at the bottom and the top of the plot
	valueTicks []float64
	digits     int
	left       float64 // of the plot: the widest label of a value stands beside it
}

func newDrawing(c Chart) *drawing {
	d := &drawing{Chart: c}
	d.valueTicks, d.digits = valueTicks(c.extent(), int(max(2, (c.Height-top-bottom)/48)))
	d.low, d.high = d.valueTicks[0], d.valueTicks[len(d.valueTicks)-1]
	d.left = leastLeft
	for _, v := range d.valueTicks {
		d.left = max(d.left, width(d.label(v))+9)
	}
	return d
}

func (d *drawing) x(t time.Time) float64 {
	share := t.Sub(d.From).Seconds() / d.To.Sub(d.From).Seconds()
	return d.left + min(max(share, 0), 1)*(d.Width-d.left-right)
}

func (d *drawing) y(v float64) float64 {
	share := (v - d.low) / (d.high - d.low)
	return d.Height - bottom - min(max(share, 0), 1)*(d.Height-top-bottom)
}

func (d *drawing) open() {
	fmt.Fprintf(&d.out, `<svg class="chart" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-title %s-text" xmlns="http://www.w3.org/2000/svg">`,
		coordinate(d.Width), coordinate(d.Height), d.ID, d.ID)
	fmt.Fprintf(&d.out, `<title id="%s-title">%s</title><desc id="%s-text">%s</desc>`, d.ID, escape(d.Title), d.ID, escape(d.Description))
	fmt.Fprintf(&d.out, `<defs><pattern id="%s-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`+
		`<path class="chart-hatch" d="M0 0V7"/></pattern></defs>`, d.ID)
}

func (d *drawing) close() { d.out.WriteString("</svg>") }

// band draws the wanted band with a line at either end.
func (d *drawing) band() {
	if d.Wanted == nil {
		return
	}
	high, low := d.y(d.Wanted.High), d.y(d.Wanted.Low)
	fmt.Fprintf(&d.out, `<rect class="chart-band" x="%s" y="%s" width="%s" height="%s"/>`,
		coordinate(d.left), coordinate(high), coordinate(d.Width-d.left-right), coordinate(low-high))
	for _, y := range []float64{high, low} {
		d.line("chart-limit", d.left, y, d.Width-right, y)
	}
}

// label writes a value beside its tick.
func (d *drawing) label(v float64) string { return strconv.FormatFloat(v, 'f', d.digits, 64) }

func (d *drawing) valueAxis() {
	d.text(text{2, textSize, "start", d.Unit})
	for _, v := range d.valueTicks {
		d.line("chart-grid", d.left, d.y(v), d.Width-right, d.y(v))
		d.text(text{d.left - 7, d.y(v) + textSize/3, "end", d.label(v)})
	}
}

// timeAxis draws ticks and as many of their labels as stand clear of each other.
func (d *drawing) timeAxis() {
	base := d.Height - bottom
	d.line("chart-axis", d.left, base, d.Width-right, base)
	labels := int(max(2, (d.Width-d.left-right)/88))
	free := 0.0
	for _, tick := range timeTicks(d.From, d.To, axis{d.Zone, labels}) {
		x := d.x(tick.At)
		d.line("chart-axis", x, base, x, base+5)
		half := width(tick.Label) / 2
		at := min(max(x, half+1), d.Width-half-1)
		if at-half < free {
			continue
		}
		d.text(text{at, base + 5 + textSize, "middle", tick.Label})
		free = at + half + glyph
	}
	d.text(text{d.Width - 2, d.Height - 4, "end", zoneName(d.From, d.To, d.Zone)})
}

// gaps hatches the times without a good sample and writes the cause where it fits.
func (d *drawing) gaps() {
	height := d.Height - top - bottom
	for _, g := range d.Gaps {
		from, to := d.x(g.From), d.x(d.end(g))
		if to <= from {
			continue
		}
		fmt.Fprintf(&d.out, `<rect class="chart-gap" fill="url(#%s-hatch)" x="%s" y="%s" width="%s" height="%s"><title>%s</title></rect>`,
			d.ID, coordinate(from), coordinate(top), coordinate(max(to-from, 1)), coordinate(height), escape(g.Cause))
		if room := to - from; width(g.Cause) < room-2*glyph {
			fmt.Fprintf(&d.out, `<rect class="chart-plate" x="%s" y="%s" width="%s" height="%s"/>`, coordinate((from+to-width(g.Cause))/2-4),
				coordinate(top+4), coordinate(width(g.Cause)+8), coordinate(textSize+5))
			d.text(text{(from + to) / 2, top + 4 + textSize, "middle", g.Cause})
		}
	}
}

func (d *drawing) end(g Gap) time.Time {
	if g.To.IsZero() {
		return d.To
	}
	return g.To
}

// curve draws each unbroken run of points: its envelope, then its mean. A single
// point is drawn as a dot.
func (d *drawing) curve() {
	if len(d.Points) == 0 {
		d.text(text{(d.left + d.Width - right) / 2, d.Height / 2, "middle", d.Empty})
		return
	}
	for _, run := range d.runs() {
		d.envelope(run)
		if len(run) == 1 {
			fmt.Fprintf(&d.out, `<circle class="chart-dot" cx="%s" cy="%s" r="2"/>`, coordinate(d.x(run[0].At)), coordinate(d.y(run[0].Mean)))
			continue
		}
		d.path("chart-line", d.walk(run, func(p Point) float64 { return p.Mean }))
	}
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

// runs cuts the points where a gap lies between two of them.
func (d *drawing) runs() [][]Point {
	var runs [][]Point
	var run []Point
	for i, p := range d.Points {
		if i > 0 && d.gapBetween(d.Points[i-1].At, p.At) {
			runs, run = append(runs, run), nil
		}
		run = append(run, p)
	}
	return append(runs, run)
}

func (d *drawing) gapBetween(a, b time.Time) bool {
	for _, g := range d.Gaps {
		if g.From.Before(b) && d.end(g).After(a) {
			return true
		}
	}
	return false
}

func (d *drawing) walk(points []Point, of func(Point) float64) string {
	var b strings.Builder
	for i, p := range points {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(coordinate(d.x(p.At)) + " " + coordinate(d.y(of(p))))
	}
	return b.String()
}

func (d *drawing) path(class, data string) {
	fmt.Fprintf(&d.out, `<path class="%s" d="%s"/>`, class, data)
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	d.path(class, "M"+coordinate(x1)+" "+coordinate(y1)+"L"+coordinate(x2)+" "+coordinate(y2))
}

// text is a line of text at a place, anchored at its start, middle or end.
type text struct {
	x, y   float64
	anchor string
	words  string
}

func (d *drawing) text(t text) {
	if t.words != "" {
		fmt.Fprintf(&d.out, `<text x="%s" y="%s" text-anchor="%s" font-size="%g">%s</text>`, coordinate(t.x), coordinate(t.y), t.anchor, textSize, escape(t.words))
	}
}

// width is how wide a text is at most.
func width(text string) float64 { return float64(utf8.RuneCountInString(text)) * glyph }

// coordinate writes a place to a tenth.
func coordinate(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

func escape(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a Builder never fails to write
	return b.String()
}
