package class

import (
	"cmp"
	"math"
	"sort"
	"strings"
	"time"

	"wetside/chem"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// trayPicture is the evening of a tray without axes: its temperature as a line, the limits of
// the wanted range, where it goes, and when developing times were announced. Places are in
// percent of the picture, points of lines in thousandths of its width and hundredths of its height.
type trayPicture struct {
	Runs      []string
	Ahead     string
	Spot      *spot
	Low, High *edge
	Ticks     []tick
}

type spot struct{ X, Y string }

// edge is a limit of the wanted range.
type edge struct{ Y, Text string }

// tick is a moment on the picture.
type tick struct{ X, Text string }

// canvas turns moments and degrees into places.
type canvas struct {
	from, now, to time.Time
	low, high     float64 // °C at the bottom and the top
}

const (
	margin = 14.0 // percent above and below, so that limits and their names have room
	// nearest is how far apart two announcements must be so that both are named, in percent.
	nearest = 16.0
)

// window is from when to when the pictures of a board reach: as far ahead as half of what has been.
func window(from, now time.Time) canvas {
	now = now.Truncate(time.Minute)
	ahead := max(now.Sub(from)/2, 30*time.Minute)
	return canvas{from: from, now: now, to: now.Add(ahead)}
}

func (c canvas) x(t time.Time) float64 { return float64(t.Sub(c.from)) / float64(c.to.Sub(c.from)) }

func (c canvas) y(v float64) float64 {
	share := (c.high - v) / (c.high - c.low)
	return margin + (100-2*margin)*min(max(share, -0.1), 1.1)
}

func (c canvas) point(t time.Time, v float64) string {
	return web.Number(1000*min(max(c.x(t), 0), 1), 0) + "," + web.Number(c.y(v), 1)
}

func inPercent(v float64) string { return web.Number(v, 1) + "%" }

// trayPicture draws a tray's evening; nil for a tray without a probe or with nothing in it. What is not good now has no place in it.
func (f figures) trayPicture(b rules.BathView, past *soFar) *trayPicture {
	if b.Bath.Channel == "" || past == nil || b.Empty() {
		return nil
	}
	c, track := window(past.from, f.Now.Wall), past.tracks[b.Bath.Channel]
	if b.Portion != nil { // before, its probe lay in the air or in another bath
		track.Points = track.Points[sort.Search(len(track.Points), func(i int) bool { return !track.Points[i].At.Before(b.Portion.Filled) }):]
	}
	at, known := b.Temperature()
	c.low, c.high = reach(b.Bath.Band, track, at, known)
	p := &trayPicture{Runs: past.runs(c, b.Bath.Channel, track)}
	if b.Bath.Band != (sensors.Range{}) {
		p.Low = &edge{inPercent(c.y(b.Bath.Band.Low)), f.WholeDegrees(b.Bath.Band.Low)}
		p.High = &edge{inPercent(c.y(b.Bath.Band.High)), f.WholeDegrees(b.Bath.Band.High)}
	}
	if known {
		p.Spot = &spot{inPercent(100 * c.x(c.now)), inPercent(c.y(float64(at)))}
		p.Ahead = c.ahead(b, float64(at))
	}
	last := -nearest
	for _, a := range past.announced {
		x := 100 * c.x(a.at)
		if a.bath != b.Bath.ID || x < 0 || x-last < nearest {
			continue
		}
		last = x
		p.Ticks = append(p.Ticks, tick{inPercent(x), chem.MinutesSeconds(a.time)})
	}
	return p
}

// reach is from which to which temperature a picture goes: the wanted range and what was
// read, but not farther beyond the range than the range is wide.
func reach(band sensors.Range, track web.Series, now quantity.Celsius, known bool) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	add := func(v float64) { low, high = min(low, v), max(high, v) }
	for _, p := range track.Points {
		if !p.Suspect && !p.Imported {
			add(p.Mean)
		}
	}
	if known {
		add(float64(now))
	}
	if band != (sensors.Range{}) {
		wide := band.High - band.Low
		return max(min(low, band.Low), band.Low-wide), min(max(high, band.High), band.High+wide)
	}
	if low > high {
		return 0, 1
	}
	return low - 1, high + 1
}

// drawnTrack is a track of so many points as it was drawn.
type drawnTrack struct {
	on     canvas
	points int
	runs   []string
}

// runs draws the track of a channel where it was not drawn last as it is to be: the present, which comes
// with each frame, moves none of its points while it stays within what was read.
func (p *soFar) runs(c canvas, of sensors.ChannelID, track web.Series) []string {
	if last, _ := p.drawn.Load(of); last != nil {
		if d := last.(drawnTrack); d.on == c && d.points == len(track.Points) {
			return d.runs
		}
	}
	d := drawnTrack{c, len(track.Points), c.runs(track)}
	p.drawn.Store(of, d)
	return d.runs
}

// runs are the lines of a track, broken where nothing good was read.
func (c canvas) runs(track web.Series) []string {
	var all []string
	var run []string
	end := func() {
		if len(run) > 1 {
			all = append(all, strings.Join(run, " "))
		}
		run = nil
	}
	step := c.now.Sub(c.from)/evenSteps + time.Minute
	for i, p := range track.Points {
		if i > 0 && p.At.Sub(track.Points[i-1].At) > 2*step {
			end()
		}
		if p.Suspect || p.Imported || math.IsNaN(p.Mean) {
			end()
			continue
		}
		run = append(run, c.point(p.At, p.Mean))
	}
	end()
	return all
}

// ahead is the dotted line of the forecast: to the limit that the bath makes for, or along
// its trend for as long as the trend itself was measured. Without a forecast there is none.
func (c canvas) ahead(b rules.BathView, at float64) string {
	const trendHolds = 20 * time.Minute
	var end time.Time
	var value float64
	switch stay := b.Forecast.Stay; {
	case stay.Verdict == chem.WillLeave && stay.In > 0:
		end, value = c.now.Add(stay.In), float64(stay.Edge)
	case stay.Verdict == chem.WillNotLeave && b.Trend != nil:
		end, value = c.now.Add(trendHolds), at+*b.Trend*trendHolds.Hours()
	default:
		return ""
	}
	if end.After(c.to) {
		value = at + (value-at)*float64(c.to.Sub(c.now))/float64(end.Sub(c.now))
		end = c.to
	}
	return c.point(c.now, at) + " " + c.point(end, value)
}

// airStrip is the evening of the air: full while it moved, hatched while it did not or too
// little, dashed while nothing was proven.
type airStrip struct {
	Spans []stripSpan
	Hours []tick
}

// stripSpan is a piece of the strip in percent of its width.
type stripSpan struct{ Shape, X, Width string }

// airStrip draws what the air did up to now; nil before anything is known of the evening.
func (f figures) airStrip(now rules.AirView, past *soFar) *airStrip {
	if past == nil {
		return nil
	}
	c := window(past.from, f.Now.Wall)
	spans := past.air
	if len(spans) == 0 {
		from := now.Since.Wall
		if from.IsZero() || from.Before(past.from) {
			from = past.from
		}
		spans = []airSpan{{from, now.State}}
	}
	s := &airStrip{}
	for i, span := range spans {
		end := c.now
		if i+1 < len(spans) {
			end = spans[i+1].from
		}
		if from, to := max(c.x(span.from), 0), min(c.x(end), 1); to > from {
			s.Spans = append(s.Spans, stripSpan{stripShape(span.state), inPercent(100 * from), inPercent(100 * (to - from))})
		}
	}
	for _, at := range f.wholeHours(c) {
		s.Hours = append(s.Hours, tick{inPercent(100 * c.x(at)), f.TimeOfDay(at)})
	}
	return s
}

// stripShape is how a state of the air is drawn on the strip.
func stripShape(s ventilation.State) string {
	return cmp.Or(map[ventilation.State]string{ventilation.Moving: "full", ventilation.Low: "hatched", ventilation.Stopped: "hatched",
		ventilation.Uneven: "hatched"}[s], "dashed")
}

// wholeHours are the hours of the clock within a window, not too near its end to be named.
func (f figures) wholeHours(c canvas) []time.Time {
	var all []time.Time
	from := c.from.In(f.Zone)
	at := time.Date(from.Year(), from.Month(), from.Day(), from.Hour(), 0, 0, 0, f.Zone)
	for ; c.x(at) < 0.92; at = at.Add(time.Hour) {
		if c.x(at) >= 0 {
			all = append(all, at)
		}
	}
	return all
}
