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
	leastLeft, right, top = 62.0, 14.0, 22.0
	textSize              = 13.0
	glyph                 = 0.62 * textSize
	// below the plot stand the words of the axis of time, or its ticks alone
	timeHigh, ticksHigh = 40.0, 8.0
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
	top        float64 // of the plot: below the lane of sessions
	base       float64 // of the plot: above the lanes of alarms
	bottom     float64 // what stands below the axis of time
	alarms     [][]item
}

// Margin is the space that the chart needs beside its plot.
func (c Chart) Margin() float64 { return newDrawing(c).left }

func newDrawing(c Chart) *drawing {
	d := &drawing{Chart: c, top: top, left: max(leastLeft, c.Left), bottom: timeHigh}
	if c.TimeBelow {
		d.bottom = ticksHigh
	}
	for _, name := range []string{c.Sessions.Name, c.Alarms.Name} {
		d.left = max(d.left, width(name)+9)
	}
	d.layLanes()
	d.valueTicks, d.digits = valueTicks(c.extent(), int(max(2, (d.base-d.top)/48)))
	d.low, d.high = d.valueTicks[0], d.valueTicks[len(d.valueTicks)-1]
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
	return d.base - min(max(share, 0), 1)*(d.base-d.top)
}

func (d *drawing) open() {
	fmt.Fprintf(&d.out, `<svg class="chart" viewBox="0 0 %s %s" data-plot="%s %s %s %s" font-size="%g" role="img" `+
		`aria-labelledby="%s-title %s-text" xmlns="http://www.w3.org/2000/svg">`,
		coordinate(d.Width), coordinate(d.Height), coordinate(d.left), coordinate(d.top), coordinate(d.Width-right), coordinate(d.base), textSize,
		d.ID, d.ID)
	fmt.Fprintf(&d.out, `<title id="%s-title">%s</title><desc id="%s-text">%s</desc>`, d.ID, escape(d.Title), d.ID, escape(d.Description))
	fmt.Fprintf(&d.out, `<defs><pattern id="%s-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`+
		`<path class="chart-hatch" d="M0 0V7"/></pattern></defs>`, d.ID)
}

// bands draws each wanted band with a line at either end.
func (d *drawing) bands() {
	for _, w := range d.Wanted {
		left, right := d.left, d.Width-right
		if !w.From.IsZero() {
			left = d.x(w.From)
		}
		if !w.To.IsZero() {
			right = d.x(w.To)
		}
		if right <= left {
			continue
		}
		high, low := d.y(w.High), d.y(w.Low)
		d.rect("chart-band", box{left, high, right, low}, "")
		d.line("chart-limit", left, low, right, low)
		if !math.IsInf(w.High, 1) {
			d.line("chart-limit", left, high, right, high)
		}
	}
}

// label writes a value beside its tick.
func (d *drawing) label(v float64) string {
	text := strconv.FormatFloat(v, 'f', d.digits, 64)
	if d.DecimalComma {
		return strings.Replace(text, ".", ",", 1)
	}
	return text
}

func (d *drawing) valueAxis() {
	d.text(text{2, textSize, "start", d.Unit})
	grid := ""
	for _, v := range d.valueTicks {
		grid += stroke(d.left, d.y(v), d.Width-right, d.y(v))
		d.text(text{d.left - 7, d.y(v) + textSize/3, "end", d.label(v)})
	}
	d.path("chart-grid", grid)
}

// timeAxis draws ticks and as many of their labels as stand clear of each other.
func (d *drawing) timeAxis() {
	base := d.Height - d.bottom
	ticks := stroke(d.left, d.base, d.Width-right, d.base)
	if d.base < base {
		ticks += stroke(d.left, base, d.Width-right, base)
	}
	labels := int(max(2, (d.Width-d.left-right)/88))
	free := 0.0
	for _, tick := range timeTicks(d.From, d.To, axis{d.Zone, labels}) {
		x := d.x(tick.At)
		ticks += stroke(x, base, x, base+5)
		if d.TimeBelow {
			continue
		}
		half := width(tick.Label) / 2
		at := min(max(x, half+1), d.Width-half-1)
		if at-half < free {
			continue
		}
		d.text(text{at, base + 5 + textSize, "middle", tick.Label})
		free = at + half + glyph
	}
	d.path("chart-axis", ticks)
	if !d.TimeBelow {
		d.text(text{d.Width - 2, d.Height - 4, "end", zoneName(d.From, d.To, d.Zone)})
	}
}

func (d *drawing) path(class, data string) {
	fmt.Fprintf(&d.out, `<path class="%s" d="%s"/>`, class, data)
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	d.path(class, stroke(x1, y1, x2, y2))
}

// stroke is a line as a part of a path.
func stroke(x1, y1, x2, y2 float64) string {
	return "M" + coordinate(x1) + " " + coordinate(y1) + "L" + coordinate(x2) + " " + coordinate(y2)
}

// box is a rectangle by its corners.
type box struct{ left, top, right, bottom float64 }

// rect draws a box; a title, if any, is told to who points at it.
func (d *drawing) rect(class string, b box, title string) {
	fmt.Fprintf(&d.out, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"`, class, coordinate(b.left), coordinate(b.top),
		coordinate(b.right-b.left), coordinate(b.bottom-b.top))
	if class == "chart-gap" {
		fmt.Fprintf(&d.out, ` fill="url(#%s-hatch)"`, d.ID)
	}
	if title == "" {
		d.out.WriteString("/>")
		return
	}
	fmt.Fprintf(&d.out, `><title>%s</title></rect>`, escape(title))
}

// text is a line of text at a place, anchored at its start, middle or end.
type text struct {
	x, y   float64
	anchor string
	words  string
}

func (d *drawing) text(t text) {
	if t.words != "" {
		fmt.Fprintf(&d.out, `<text x="%s" y="%s"`, coordinate(t.x), coordinate(t.y))
		if t.anchor != "start" {
			fmt.Fprintf(&d.out, ` text-anchor="%s"`, t.anchor)
		}
		fmt.Fprintf(&d.out, `>%s</text>`, escape(t.words))
	}
}

// width is how wide a text is at most.
func width(text string) float64 { return float64(utf8.RuneCountInString(text)) * glyph }

// coordinate writes a place to a tenth.
func coordinate(v float64) string { return strconv.FormatFloat(tenths(v)/10, 'f', -1, 64) }

// tenths is a place in whole tenths.
func tenths(v float64) float64 { return math.Round(v * 10) }

func escape(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a Builder never fails to write
	return b.String()
}
