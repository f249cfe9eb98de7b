package record

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

// weeksShown is how many weeks stand on the page of weeks.
const weeksShown = 8

// weeksBody is the page on which a manager sees weeks of evenings with their air,
// and what is open beside them.
type weeksBody struct {
	Look            web.Look
	Under, Name     string // of the place where there are many
	From, To        string // the days in words
	FirstDay, Last  string // the same as the report's form takes them
	Earlier, Later  string
	Problem         string
	Sum             string
	Figures         report.Figures // as on the first page of the report
	Weeks           []weekRow
	Alarms          []web.Link
	Overdue         string
	Duties          []dutyLine
	PDF, DutiesHref string
}

// dutyLine is a duty that is overdue, or the one that is due next.
type dutyLine struct{ Shape, Name, State string }

// weekRow is a week from Monday on.
type weekRow struct {
	Name string
	// Summary stands for the week where there is no room for its days; Open is the newest.
	Summary string
	Open    bool
	Days    []weekDay
}

type weekDay struct {
	Name     string
	Ahead    bool // it is still to come
	Evenings []eveningCell
}

// eveningCell is one session as a small picture of its air, in words and numbers.
type eveningCell struct {
	Name, Times     string
	Begun           string // UTC, so that a machine finds the session
	Verdict         string // empty where nothing needs a look
	Picture         template.HTML
	Parts           []dutyLine // proven, too low or stopped, not known: shape, name and minutes
	History, Report string
}

func (s *Pages) weeksPage(w http.ResponseWriter, r *http.Request) {
	if s.Past == nil {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: web.NoSuchPage})
		return
	}
	f, l := s.figures(s.View.Now()), web.LookOf(r)
	last := f.Now.Wall.In(f.Zone)
	if text := strings.TrimSpace(r.URL.Query().Get("to")); text != "" {
		day, err := time.ParseInLocation(time.DateOnly, text, f.Zone)
		if err != nil {
			s.Fail(w, r, web.Failure{Status: http.StatusBadRequest,
				Sentence: fmt.Sprintf("%q is not a day: write it like 2026-01-15.", web.Clip(text))})
			return
		}
		last = day
	}
	end := Monday(last).AddDate(0, 0, 7)
	from := end.AddDate(0, 0, -7*weeksShown)
	body := weeksBody{Look: l, Under: s.Under, Name: s.Name, From: f.Day(from), To: f.Day(end.AddDate(0, 0, -1)),
		FirstDay: from.Format(time.DateOnly), Last: end.AddDate(0, 0, -1).Format(time.DateOnly)}
	body.Earlier = s.weeksHref(from.AddDate(0, 0, -1), l)
	if end.Before(f.Now.Wall) {
		body.Later = s.weeksHref(end.AddDate(0, 0, 7*weeksShown-1), l)
	}
	status := http.StatusOK
	sessions, err := s.Past.Sessions(r.Context(), CourseQuery{From: from.UTC(), To: end.UTC()})
	if err != nil {
		s.Log.Error("the weeks can't be read", zap.Error(err))
		body.Problem, status = fmt.Sprintf("The history could not be read: %s", phrase.Error(err, s.figures(s.View.Now()))),
			http.StatusServiceUnavailable
	}
	body.Weeks, body.Sum, body.Figures = f.weeks(from, l, sessions)
	s.beside(r, f, &body)
	p := s.officePage(r, web.Head{Name: "weeks", Title: "Airflow by week"})
	p.Styles = append(p.Styles, "weeks.css")
	p.Stay = template.URL(url.Values{"to": {body.Last}}.Encode()) //nolint:gosec // it is encoded
	s.Show(w, r, status, p.With(body))
}

// Monday is the beginning of the week of a moment.
func Monday(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d-(int(t.Weekday())+6)%7, 0, 0, 0, 0, t.Location())
}

func (p Place) weeksHref(last time.Time, l web.Look) string {
	return l.Keep(p.Under + "/weeks?to=" + last.Format(time.DateOnly))
}

// beside fills in what is open: alarms of every room, duties, and the way to the report.
func (s *Pages) beside(r *http.Request, f figures, body *weeksBody) {
	if body.Look != web.Red {
		body.PDF = s.Under + "/report/report.pdf?" + url.Values{"from": {body.FirstDay}, "to": {body.Last}}.Encode()
	}
	if s.Alone() {
		body.DutiesHref = body.Look.Keep("/duties")
	} else if err := s.alarmsOf(r.Context(), f, body); err != nil {
		s.Log.Error("the open alarms can't be read", zap.Error(err))
		body.Problem = fmt.Sprintf("The open alarms could not be read: %s", f.ErrorText(err))
	}
	for _, room := range s.View.Now().Rooms {
		for _, a := range room.Alarms {
			body.Alarms = append(body.Alarms, web.Link{Href: body.Look.Keep("/rooms/" + room.Room + "/alarms"),
				Text: fmt.Sprintf("%s: %s · since %s", room.Name, f.Text(a.Text), f.When(a.Since)), Current: a.Urgent})
		}
	}
	standing, err := s.Reports.Duties(r.Context())
	if err != nil {
		s.Log.Error("the duties can't be read", zap.Error(err))
		body.Overdue = f.ErrorText(err)
		return
	}
	if len(standing) == 0 {
		return
	}
	byDate(standing)
	body.Overdue = s.overdue(standing)
	for _, d := range standing {
		card := f.dutyCard(body.Look, d, web.Attempt{})
		line := dutyLine{card.Shape, d.Name, card.State}
		if card.DueOn != "" {
			line.State = fmt.Sprintf("%s, due on %s", card.State, card.DueOn)
		}
		body.Duties = append(body.Duties, line)
	}
}

// alarmsOf lists the open alarms of a place of which the book alone is known.
func (s *Pages) alarmsOf(ctx context.Context, f figures, body *weeksBody) error {
	course, err := s.Past.Course(ctx, CourseQuery{From: f.Now.Wall, To: f.Now.Wall})
	for _, a := range course.Alarms {
		if a.Ended.IsZero() {
			body.Alarms = append(body.Alarms, web.Link{Text: fmt.Sprintf("%s: %s · since %s", a.Room, f.Text(a.Text), f.When(a.Raised)),
				Current: a.Urgent})
		}
	}
	return err
}

// weeks lays the sessions out by the day on which they began, the latest week first.
func (f figures) weeks(from time.Time, l web.Look, sessions []report.Session) ([]weekRow, string, report.Figures) {
	longest := 3 * time.Hour
	days := map[string][]report.Session{}
	for _, s := range sessions {
		longest = max(longest, s.Uncovered)
		day := s.Begun.In(f.Zone).Format(time.DateOnly)
		days[day] = append(days[day], s)
	}
	var list []weekRow
	for n := weeksShown - 1; n >= 0; n-- {
		first := from.AddDate(0, 0, 7*n)
		row := weekRow{Name: fmt.Sprintf("%s to %s", first.Format("2 Jan"), first.AddDate(0, 0, 6).Format("2 Jan")), Open: n == weeksShown-1}
		var week []report.Session
		for d := range 7 {
			day := first.AddDate(0, 0, d)
			cell := weekDay{Name: day.Format("Mon 2 Jan"), Ahead: day.After(f.Now.Wall)}
			week = append(week, days[day.Format(time.DateOnly)]...)
			for i, s := range days[day.Format(time.DateOnly)] {
				cell.Evenings = append(cell.Evenings, f.eveningCell(s, cellAt{fmt.Sprintf("%s-%d", day.Format(time.DateOnly), i), l, longest}))
			}
			row.Days = append(row.Days, cell)
		}
		row.Summary = weekSummary(week)
		list = append(list, row)
	}
	switch {
	case len(sessions) > 0:
	case from.After(f.Now.Wall):
		return list, "These weeks are in the future.", nil
	default:
		return list, "No session is recorded in these weeks. That does not mean that nobody worked here.", nil
	}
	lead, figures := report.Data{Sessions: sessions, Zone: f.Zone, By: f}.InShort()
	return list, string(lead), figures
}

// weekSummary says how many sessions a week had, and how much of their air was proven and was not.
func weekSummary(sessions []report.Session) string {
	if len(sessions) == 0 {
		return "no session"
	}
	var air report.Air
	for _, s := range sessions {
		air = air.Plus(s.Air())
	}
	text := web.Count(len(sessions), "%d session", "%d sessions") + ", " + report.Hours(air.Proven) + " proven"
	if air.Low > 0 {
		text += ", " + report.Hours(air.Low) + " too low or stopped"
	}
	if air.Unknown > 0 {
		text += ", " + report.Hours(air.Unknown) + " not known"
	}
	return text
}
