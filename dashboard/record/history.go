package record

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	longestSpan = 100 * 366 * oneDay
	// mostDrawn is how many channels are drawn on one page, atFirst how many where nobody chose.
	mostDrawn = 6
	atFirst   = 4
)

type historyBody struct {
	// Names are the channels that are drawn.
	Names    string
	Channels channelForm
	Spans    []web.Link
	// Earlier, Later, Closer and Wider lead to neighbouring views, Now to the present; empty where there is none.
	Earlier, Later, Closer, Wider, Now string
	Shown                              string // the span in words
	// Problem is why there is no drawing.
	Problem  string
	Drawings []historyDrawing
	Lanes    bool // alarms are shown
	// Readings is what the script reads values from, as JSON.
	Readings string
	Sessions shortTable[sessionRow]
	Alarms   shortTable[alarmRow]
	Gaps     shortTable[gapRow]
	Attended bool // it is known how much of a gap lies in sessions
	Tables   []numberTable
}

// channelForm asks which channels are drawn over a time.
type channelForm struct {
	Most     int
	Choices  []web.Choice
	From, To string
	Look     web.Look
}

// historyDrawing is one channel. Wide and Narrow are the same drawing for a screen and
// for a phone; Alone leads to a page with this drawing alone, empty where it is.
type historyDrawing struct {
	Name, Alone  string
	Wide, Narrow template.HTML
	Imported     string // what of it came from a file
}

func (s *Pages) historyPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	l, f := web.LookOf(r), s.figures(in.Site)
	p := s.PageFor(web.Head{Name: "history", Title: "History"}, l, in)
	p.Styles, p.Scripts = append(p.Styles, "history.css"), append(p.Scripts, "history.js")
	channels, known := s.channelsOf(f, in.Snap, r.URL.Query()["channel"])
	last, running := s.lastSession(r.Context(), in.Snap.Room, f)
	sp, wrong := s.spanOf(r.URL.Query(), f.Zone, last)
	switch {
	case !known:
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: web.NoSuchChannel})
		return
	case wrong != "":
		s.Fail(w, r, web.Failure{Status: http.StatusBadRequest, Sentence: wrong})
		return
	}
	at := historyAt{figures: f, look: l, snap: in.Snap, channels: channels, span: sp}
	p.Stay = at.query(channels, sp, web.Day)
	body := historyBody{Names: namesOf(channels), Shown: f.spanInWords(sp)}
	s.historyLinks(&body, at)
	if last != nil {
		word := map[bool]string{true: "This session", false: "Last session"}[running]
		body.Spans = append([]web.Link{{Href: at.toTime(*last), Text: word, Current: *last == sp}}, body.Spans...)
	}
	status := http.StatusOK
	if err := s.drawHistory(r.Context(), &body, at); err != nil {
		s.Log.Warn("the history of a channel could not be shown", zap.String("channels", body.Names), zap.Error(err))
		body.Problem, status = fmt.Sprintf("The history could not be read: %s", phrase.Error(err, s.figures(s.View.Now()))),
			http.StatusServiceUnavailable
	}
	s.Show(w, r, status, p.With(body))
}

// offered lists the channels that a history page can draw: the flow of air first where
// the book can tell it, then the trays, then the rest in the order of the room.
func (s *Pages) offered(f figures, snap *rules.Snapshot) []sensors.Channel {
	var list []sensors.Channel
	if s.Past != nil && snap.Air.Probe != "" {
		list = append(list, f.AirFlow())
	}
	var rest []sensors.Channel
	for _, c := range snap.Channels {
		if slices.ContainsFunc(snap.Baths, func(b rules.BathView) bool { return b.Bath.Channel == c.Channel.ID }) {
			list = append(list, *c.Channel)
		} else {
			rest = append(rest, *c.Channel)
		}
	}
	return append(list, rest...)
}

// channelsOf finds the channels asked for, in the order of the room and no more than a
// page shows; without a name the first ones: the flow of air and the trays.
func (s *Pages) channelsOf(f figures, snap *rules.Snapshot, ids []string) (list []sensors.Channel, known bool) {
	all := s.offered(f, snap)
	if len(ids) == 0 {
		return all[:min(len(all), atFirst)], len(all) > 0
	}
	for _, c := range all {
		if slices.Contains(ids, string(c.ID)) && len(list) < mostDrawn {
			list = append(list, c)
		}
	}
	for _, id := range ids {
		if !slices.ContainsFunc(all, func(c sensors.Channel) bool { return string(c.ID) == id }) {
			return nil, false
		}
	}
	return list, len(list) > 0
}

func namesOf(channels []sensors.Channel) string {
	var names []string
	for _, c := range channels {
		names = append(names, c.Name)
	}
	return strings.Join(names, ", ")
}

// lastSession is when the running session of a room, or the last one of some weeks, is
// looked at; nil where there is none, or where the book can't be read.
func (s *Pages) lastSession(ctx context.Context, room string, f figures) (last *coverage.Span, running bool) {
	if s.Past == nil {
		return nil, false
	}
	sessions, err := s.Past.Sessions(ctx, CourseQuery{room, f.Now.Wall.AddDate(0, 0, -8*7).UTC(), f.Now.Wall.UTC()})
	if err != nil || len(sessions) == 0 {
		return nil, false
	}
	newest := sessions[len(sessions)-1]
	sp := f.eveningOf(newest)
	return &sp, newest.Running
}

// spanOf reads from and to as RFC 3339, or as days of the place; without them it is
// the last session, or the evening until now.
func (s *Pages) spanOf(q url.Values, zone *time.Location, last *coverage.Span) (sp coverage.Span, wrong string) {
	now := s.Clock.Now().Wall
	sp = coverage.Span{From: now.Add(-cards.Evening), To: now}
	if last != nil && !q.Has("from") && !q.Has("to") {
		sp = *last
	}
	for _, end := range []struct {
		name string
		at   *time.Time
	}{{"from", &sp.From}, {"to", &sp.To}} {
		text := strings.TrimSpace(q.Get(end.name))
		if text == "" {
			continue
		}
		at, err := time.Parse(time.RFC3339, text)
		if err != nil {
			at, err = time.ParseInLocation(time.DateOnly, text, zone)
		}
		if err != nil {
			return sp, fmt.Sprintf("%q is not a time: write it like 2026-01-15T18:00:00Z.", web.Clip(text))
		}
		*end.at = at
	}
	if sp.Length() < time.Minute || sp.Length() > longestSpan {
		return sp, "The end must be after the beginning: at least a minute, at most a hundred years later."
	}
	return sp, ""
}

// historyAt fills in everything that has to be read first.
func (s *Pages) drawHistory(ctx context.Context, body *historyBody, d historyAt) error {
	ctx, cancel := context.WithTimeout(ctx, cards.SeriesWithin)
	defer cancel()
	var course Course
	var err error
	if s.Past != nil {
		if course, err = s.Past.Course(ctx, CourseQuery{d.snap.Room, d.span.From.UTC(), d.span.To.UTC()}); err != nil {
			return err
		}
		d.sessions, body.Attended = d.sessionSpans(course.Sessions), true
	}
	var lines []pastLine
	points := cards.ChartPoints
	if n := len(d.channels); n > 1 {
		points = points * 3 / 4 / n // small drawings, each with an axis of its own, on a page of no more weight
	}
	for _, c := range d.channels {
		q := web.SeriesQuery{Channel: c.ID, From: d.span.From.UTC(), To: d.span.To.UTC(),
			Points: points}
		line := pastLine{Channel: c}
		if c.ID == cards.AirFlow {
			line.Series, err = s.Past.Flow(ctx, d.snap.Room, q)
		} else {
			line.Series, err = s.Readings.Series(ctx, q)
		}
		if err != nil {
			return err
		}
		line.Chart = d.series().Chart(c, line.Series)
		lines = append(lines, line)
		body.Tables = append(body.Tables, numberTable{c.Name, d.periods(line, 24/min(len(d.channels), 3))})
	}
	d.tell(body, lines, course)
	return d.drawings(body, lines, course)
}
