package chart

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Lane is a strip with what happened beside the values, on their axis of time.
type Lane struct {
	// Name stands to the left of the lane. Many says what stands in the place of
	// several spans that lie too close to be told apart; it takes their number.
	Name  string
	Many  func(n int) string
	Spans []Span
}

// Span is something that lasted. A zero To lasts until the end of the drawing.
type Span struct {
	From, To time.Time
	// Seen is when somebody answered; up to there the span is drawn full. Zero for
	// one that nobody answered, and for what needs no answer.
	Seen time.Time
	// Short stands in the span where it fits, Title is told to who points at it.
	Short, Title string
}

// The measures of lanes.
const (
	sessionHigh = 19.0
	alarmHigh   = 13.0
	laneApart   = 8.0
	// apart is how close spans may stand in one row before they are drawn as one.
	apart = 12.0
	// narrowest is how wide a span is drawn at least.
	narrowest = 3.0
	mostRows  = 3
	// crowd is how many alarms have rows of their own at most; more are counted in one.
	crowd = 60
)

// item is a span on its place, or several that lie too close for places of their own.
type item struct {
	left, right float64
	seen        float64 // where it was answered; right when never
	answered    bool
	short       string
	title       string
	many        int
}

// layLanes finds what the lanes need and leaves the rest to the values.
func (d *drawing) layLanes() {
	d.base = d.Height - d.bottom
	if len(d.Sessions.Spans) > 0 {
		d.top += sessionHigh + laneApart
	}
	rows := mostRows
	if len(d.Alarms.Spans) > crowd {
		rows = 1
	}
	d.alarms = d.rows(d.Alarms, rows)
	if n := float64(len(d.alarms)); n > 0 {
		d.base -= n*(alarmHigh+2) + laneApart
	}
}

// rows puts the spans of a lane into rows, so that no two in one row touch. What
// finds no row is counted with the one in its way, or cuts it short where that
// began well before.
func (d *drawing) rows(l Lane, most int) [][]item {
	var rows [][]item
	for _, s := range l.Spans {
		from, to := d.x(s.From), d.x(d.until(s.To))
		if !s.From.Before(d.To) || !d.until(s.To).After(d.From) {
			continue
		}
		it := item{left: from, right: max(to, from+narrowest), short: s.Short, title: s.Title, many: 1}
		it.seen, it.answered = it.right, !s.Seen.IsZero()
		if it.answered {
			it.seen = min(d.x(s.Seen), it.right)
		}
		rows = l.place(rows, it, most)
	}
	return rows
}

func (l Lane) place(rows [][]item, it item, most int) [][]item {
	for i, row := range rows {
		if last := row[len(row)-1]; it.left > last.right+apart || it.left > last.right && last.right-last.left > apart {
			rows[i] = append(row, it)
			return rows
		}
	}
	if len(rows) < most {
		return append(rows, []item{it})
	}
	last := &rows[most-1][len(rows[most-1])-1]
	if end := last.left + 2*apart; it.left >= end {
		last.right, last.seen = min(last.right, it.left-1), min(last.seen, it.left-1)
		rows[most-1] = append(rows[most-1], it)
		return rows
	}
	last.many++
	last.right, last.seen = max(last.right, it.right), max(last.seen, it.seen)
	last.answered = last.answered && it.answered
	last.short, last.title = strconv.Itoa(last.many), l.Many(last.many)
	return rows
}

// lanes draws what happened beside the values.
func (d *drawing) lanes() {
	d.sessionLane()
	y := d.base + laneApart
	for i, row := range d.alarms {
		if i == 0 {
			d.text(text{2, y + alarmHigh - 2, "start", d.Alarms.Name})
		}
		for _, it := range row {
			d.alarm(it, y)
		}
		y += alarmHigh + 2
	}
}

func (d *drawing) sessionLane() {
	rows := d.rows(d.Sessions, 1)
	if len(rows) == 0 {
		return
	}
	d.text(text{2, top + sessionHigh - 5, "start", d.Sessions.Name})
	for _, it := range rows[0] {
		d.rect("chart-session", box{it.left, top, it.right, top + sessionHigh}, it.title)
		if width(it.short) < it.right-it.left-glyph {
			d.text(text{(it.left + it.right) / 2, top + sessionHigh - 5, "middle", it.short})
		}
		if it.many == 1 && it.right-it.left > apart {
			d.line("chart-edge", it.left, d.top, it.left, d.base)
			d.line("chart-edge", it.right, d.top, it.right, d.base)
		}
	}
}

// alarm draws one alarm: full until somebody answered, open until it was over, with
// a tick where it was answered and a stem up through the values where it came. Several
// that lie too close are an open box with their number.
func (d *drawing) alarm(it item, y float64) {
	d.rect("chart-alarm", box{it.left, y, it.right, y + alarmHigh}, it.title)
	if it.many > 1 {
		if width(it.short) <= it.right-it.left {
			d.text(text{(it.left + it.right) / 2, y + alarmHigh - 1.5, "middle", it.short})
		}
		return
	}
	if it.seen > it.left {
		d.rect("chart-unseen", box{it.left, y, max(it.seen, it.left+narrowest), y + alarmHigh}, it.title)
	}
	d.line("chart-stem", it.left, d.top, it.left, y)
	if it.answered {
		d.path("chart-tick", fmt.Sprintf("M%s %sl3 4l6 -9", coordinate(it.seen), coordinate(y+alarmHigh/2)))
	}
}

// gaps hatches the times without a good sample and writes the cause where it fits.
func (d *drawing) gaps() {
	d.hatch(d.Line.Gaps, d.top, d.base)
	for _, g := range d.Line.Gaps {
		from, to := d.x(g.From), d.x(d.until(g.To))
		if width(g.Cause) < to-from-2*glyph {
			fmt.Fprintf(&d.out, `<text class="chart-plate" x="%s" y="%s" text-anchor="middle">%s</text>`, coordinate((from+to)/2),
				coordinate(d.top+4+textSize), escape(g.Cause))
		}
	}
}

// hatch draws gaps between two heights. Narrow ones of one cause are one path: a
// year may have hundreds.
func (d *drawing) hatch(gaps []Gap, upper, lower float64) {
	narrow := map[string]*strings.Builder{}
	drawn := map[string]float64{} // how far each cause is drawn
	for _, g := range gaps {
		from, to := max(d.x(g.From), drawn[g.Cause]), d.x(d.until(g.To))
		switch {
		case to <= from:
			continue
		case to-from > apart:
			d.rect("chart-gap", box{from, upper, to, lower}, g.Cause)
		default:
			if narrow[g.Cause] == nil {
				narrow[g.Cause] = &strings.Builder{}
			}
			to = max(to, from+1)
			fmt.Fprintf(narrow[g.Cause], "M%s %sh%sv%sh-%[3]sz", coordinate(from), coordinate(upper), coordinate(to-from), coordinate(lower-upper))
		}
		drawn[g.Cause] = to
	}
	for _, cause := range slices.Sorted(maps.Keys(narrow)) {
		fmt.Fprintf(&d.out, `<path class="chart-gap" fill="url(#%s-hatch)" d="%s"><title>%s</title></path>`, d.ID, narrow[cause], escape(cause))
	}
}
