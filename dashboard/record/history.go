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
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	longestSpan = 100 * 366 * oneDay
	// mostDrawn is how many channels are drawn on one page.
	mostDrawn = 4
)

// historyBody is one channel or several over a span of time.
type historyBody struct {
	Heading string
	// Channels lead to one channel each; Several is the form that draws more than one.
	Channels []web.Link
	Several  severalForm
	Spans    []web.Link
	// Earlier, Later, Closer and Wider lead to neighbouring views, Now to the present; empty where there is none.
	Earlier, Later, Closer, Wider, Now string
	From, To                           string
	// Problem is why there is no drawing.
	Problem  string
	Drawings []historyDrawing
	Sessions shortTable[sessionRow]
	Alarms   shortTable[alarmRow]
	Gaps     shortTable[gapRow]
	Attended bool // it is known how much of a gap lies in sessions
	Tables   []numberTable
}

// severalForm asks for several channels at once.
type severalForm struct {
	Choices  []web.Choice
	From, To string
	Look     web.Look
}

// historyDrawing is one axis of values with its lines. Wide and Narrow are the same
// drawing for a screen and for a phone.
type historyDrawing struct {
	Wide, Narrow template.HTML
	Names        []string // of the lines, where there are several
	Lanes        bool     // it shows alarms
	Imported     []string // what of it came from a file
	// Readings is what the script reads values from, as JSON.
	Readings string
}

func (s *Pages) historyPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	l, f := web.LookOf(r), s.figures(in.Site)
	p := s.PageFor(web.Head{Name: "history", Title: "History"}, l, in)
	p.Styles, p.Scripts = append(p.Styles, "history.css"), append(p.Scripts, "history.js")
	channels, known := s.channelsOf(f, in.Snap, r.URL.Query()["channel"])
	sp, wrong := s.spanOf(r.URL.Query(), f.Zone)
	switch {
	case !known:
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: web.NoSuchChannel})
		return
	case wrong != "":
		s.Fail(w, r, web.Failure{Status: http.StatusBadRequest, Sentence: wrong})
		return
	}
	d := drawHistory{figures: f, snap: in.Snap, span: sp}
	at := historyAt{f, l, channels, sp}
	p.Stay = at.query(channels, sp, web.Day)
	body := historyBody{Heading: namesOf(channels), From: f.Moment(sp.From), To: f.Moment(sp.To)}
	s.historyLinks(&body, in.Snap, at)
	status := http.StatusOK
	if err := s.drawHistory(r.Context(), &body, at, d); err != nil {
		s.Log.Warn("the history of a channel could not be shown", zap.String("channels", body.Heading), zap.Error(err))
		body.Problem, status = fmt.Sprintf("The history could not be read: %s", phrase.Error(err, s.figures(s.View.Now()))),
			http.StatusServiceUnavailable
	}
	p.Body = body
	s.Show(w, r, status, p)
}

// offered lists the channels that a history page can draw, the flow of air first
// where the book can tell it.
func (s *Pages) offered(f figures, snap *rules.Snapshot) []sensors.Channel {
	var list []sensors.Channel
	if s.Past != nil && snap.Air.Probe != "" {
		list = append(list, f.AirFlow())
	}
	for _, c := range snap.Channels {
		list = append(list, c.Channel)
	}
	return list
}

// channelsOf finds the channels asked for, in the order of the room and no more than
// can be told apart; without a name it is the flow of air, or else the first probe.
func (s *Pages) channelsOf(f figures, snap *rules.Snapshot, ids []string) (list []sensors.Channel, known bool) {
	all := s.offered(f, snap)
	if len(ids) == 0 && len(all) > 0 {
		return all[:1], true
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

// spanOf reads from and to as RFC 3339, or as days of the place; without them it is
// the evening until now.
func (s *Pages) spanOf(q url.Values, zone *time.Location) (sp cards.Span, wrong string) {
	now := s.Clock.Now().Wall
	sp = cards.Span{From: now.Add(-cards.Evening), To: now}
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

// drawHistory fills in everything that has to be read first.
func (s *Pages) drawHistory(ctx context.Context, body *historyBody, at historyAt, d drawHistory) error {
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
	for _, c := range at.channels {
		q := web.SeriesQuery{Channel: c.ID, From: d.span.From.UTC(), To: d.span.To.UTC(),
			Points: min(cards.ChartPoints, 2*cards.ChartPoints/len(at.channels))}
		line := pastLine{Channel: c}
		if c.ID == cards.AirFlow {
			line.Series, err = s.Past.Flow(ctx, d.snap.Room, q)
		} else {
			line.Series, err = s.Readings.Series(ctx, q)
		}
		if err != nil {
			return err
		}
		lines = append(lines, line)
		body.Tables = append(body.Tables, numberTable{c.Name, d.periods(c, line.Series)})
	}
	d.tell(body, at, lines, course)
	body.Drawings, err = d.drawings(lines, course)
	return err
}
