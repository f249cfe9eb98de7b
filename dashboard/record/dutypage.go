package record

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules/duty"
	"wetside/sensors"
)

const actDuty = "duty"

type dutiesBody struct {
	Problem string
	// Overdue says in words how many are.
	Overdue string
	Duties  []dutyCard
	// Checks are the next checks of probes, entered on their own pages.
	Checks  []cards.DueRow
	Keeping []keptRow
}

// keptRow says how long samples of some quantities are kept at least.
type keptRow struct{ What, For, Why string }

type dutyCard struct {
	duty.Standing
	Shape, State string
	Interval     string
	Done, DueOn  string
	Form         web.AskForm
}

func (s *Pages) dutiesPage(w http.ResponseWriter, r *http.Request) {
	standing, err := s.Reports.Duties(r.Context())
	if err != nil {
		s.Log.Error("the duties can't be read", zap.Error(err))
		s.Fail(w, r, web.Failure{Status: http.StatusServiceUnavailable, Sentence: s.ErrorText(err)})
		return
	}
	f, a := s.figures(s.View.Now()), s.Attempt(r)
	body := dutiesBody{Problem: a.Sentence(), Overdue: s.overdue(standing)}
	for _, k := range s.Reports.Keeping() {
		body.Keeping = append(body.Keeping, f.keptRow(k))
	}
	byDate(standing)
	for _, d := range standing {
		body.Duties = append(body.Duties, f.dutyCard(web.LookOf(r), d, a))
	}
	for _, snap := range s.View.Now().Rooms {
		body.Checks = append(body.Checks, f.TraverseDue(snap, web.LookOf(r))...)
		body.Checks = append(body.Checks, f.ChecksDue(snap, web.LookOf(r))...)
	}
	slices.SortStableFunc(body.Checks, cards.Sooner)
	s.Show(w, r, http.StatusOK, s.officePage(r, web.Head{Name: "duties", Title: "Duties"}).With(body))
}

// byDate puts first what is due first; what was never recorded is due at once.
func byDate(standing []duty.Standing) {
	slices.SortStableFunc(standing, func(a, b duty.Standing) int { return a.Due.Compare(b.Due) })
}

func (f figures) keptRow(k duty.Keeping) keptRow {
	names := make([]string, len(k.Quantities))
	for i, q := range k.Quantities {
		names[i] = sensors.Kind(q).Label()
	}
	return keptRow{strings.Join(names, ", "), f.Text(k.For.Said()), k.Why}
}

// overdue says in words how many duties are.
func (s *Pages) overdue(standing []duty.Standing) string {
	if n := duty.Overdue(standing); n > 0 {
		return web.Count(n, "%d duty is overdue.", "%d duties are overdue.")
	}
	return "No duty is overdue."
}

func (f figures) dutyCard(l web.Look, d duty.Standing, a web.Attempt) dutyCard {
	card := dutyCard{Standing: d, Interval: f.Text(d.Every.Said()), Shape: "unknown", State: "Never recorded"}
	if d.Last != nil {
		card.State, card.Shape = cards.DueState(d.Overdue)
		card.Done = fmt.Sprintf("%s by %s", f.Moment(d.Last.At), d.Last.By)
		card.DueOn = f.Day(d.Due.AddDate(0, 0, -1))
	}
	// The duty takes the place of the alarm in the form: it is what the act is about.
	card.Form = f.Asking(l, web.About{Act: actDuty, Alarm: d.ID, Summary: "Record as done", Button: "Done"}, a,
		web.Ask{Field: evidenceField, Hint: "What shows that it was done: a figure, a document number, what you saw."},
		web.Ask{Field: web.OnField(), Hint: "Left empty: today. Or a day like 2026-01-15."},
		web.Ask{Field: whyField})
	return card
}

func (s *Pages) dutiesPost(w http.ResponseWriter, r *http.Request) { s.Once(w, r, s.enterDuty) }

func (s *Pages) enterDuty(ctx context.Context, t web.Typed) (receipt string, wrong *web.Problem) {
	figures := s.figures(s.View.Now())
	f := figures.Reader(t.More)
	e := DutyEntry{Duty: t.Alarm, Evidence: f.Line(evidenceField, true),
		Happened: f.Day()}
	e.Reason = f.Line(whyField, !e.Happened.IsZero())
	e.Person = f.Who()
	if f.Problem != nil {
		return "", f.Problem
	}
	if _, err := s.Reports.DoneDuty(ctx, e); err != nil {
		return "", s.NotKept(err)
	}
	return fmt.Sprintf("Done, entered by %s.", e.Person), nil
}
