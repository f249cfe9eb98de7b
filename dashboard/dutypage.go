package dashboard

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/rules/duty"
)

// actDuty is the act of a form on the page of duties.
const actDuty = "duty"

// dutiesBody is the page of the dated tasks of the place.
type dutiesBody struct {
	Receipt, Problem string
	// Overdue says in words how many are.
	Overdue string
	Duties  []dutyCard
	// Checks are the next checks of probes, entered on their own pages.
	Checks  []dueRow
	Keeping []keptRow
}

// keptRow says how long samples of some quantities are kept at least.
type keptRow struct{ What, For, Why string }

// dutyCard is one duty with the form that says it was done.
type dutyCard struct {
	duty.Standing
	Shape, State string
	Interval     string
	Done, DueOn  string
	Form         askForm
}

func (s *recordPages) dutiesPage(w http.ResponseWriter, r *http.Request) {
	standing, err := s.office.Duties(r.Context())
	if err != nil {
		s.Log.Error("the duties can't be read", zap.Error(err))
		s.fail(w, r, failure{http.StatusServiceUnavailable, s.sentenceOf(err)})
		return
	}
	f, a := s.figures(s.View.Now()), s.attempt(r)
	body := dutiesBody{Receipt: s.receipt(r)}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	body.Overdue = s.overdue(standing)
	for _, k := range s.office.Keeping() {
		body.Keeping = append(body.Keeping, f.keptRow(k))
	}
	// What is overdue comes first; else the order is that of the configuration.
	slices.SortStableFunc(standing, func(a, b duty.Standing) int { return overdueFirst(a) - overdueFirst(b) })
	for _, d := range standing {
		body.Duties = append(body.Duties, f.dutyCard(lookOf(r), d, a))
	}
	for _, snap := range s.View.Now().Rooms {
		body.Checks = append(body.Checks, f.traverseDue(snap, lookOf(r))...)
		body.Checks = append(body.Checks, f.checksDue(snap, lookOf(r))...)
	}
	p := s.officePage(r, "duties")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func overdueFirst(d duty.Standing) int {
	if d.Overdue {
		return 0
	}
	return 1
}

func (f figures) keptRow(k duty.Keeping) keptRow {
	names := make([]string, len(k.Quantities))
	for i, q := range k.Quantities {
		names[i] = f.words.Say("kind." + q)
	}
	return keptRow{strings.Join(names, ", "), f.tell(k.For.Said()), k.Why}
}

// overdue says in words how many duties are.
func (s *recordPages) overdue(standing []duty.Standing) string {
	switch n := duty.Overdue(standing); n {
	case 0:
		return s.words.Say("duties.none-overdue")
	default:
		return s.words.Say("duties.overdue", n)
	}
}

func (f figures) dutyCard(l look, d duty.Standing, a attempt) dutyCard {
	card := dutyCard{Standing: d, Interval: f.tell(d.Every.Said()), Shape: "moving", State: f.words.Say("duties.in-time")}
	switch {
	case d.Last == nil:
		card.Shape, card.State = "unknown", f.words.Say("duties.never")
	case d.Overdue:
		card.Shape, card.State = "stopped", f.words.Say("duties.is-overdue")
	}
	if d.Last != nil {
		card.Done = f.words.Say("duties.done-by", f.moment(d.Last.At), d.Last.By)
		card.DueOn = d.Due.AddDate(0, 0, -1).In(f.zone).Format("Mon 2 Jan 2006")
	}
	// The duty takes the place of the alarm in the form: it is what the act is about.
	card.Form = f.asking(l, about{act: actDuty, alarm: d.ID, summary: f.words.Say("duties.enter"), button: f.words.Say("button.duty")}, a,
		ask{Name: "evidence", Label: f.words.Say("field.evidence"), Hint: f.words.Say("hint.evidence")},
		ask{Name: "on", Label: f.words.Say("field.on"), Hint: f.words.Say("hint.on")},
		ask{Name: "why", Label: f.words.Say("field.why-late")})
	return card
}

func (s *recordPages) dutiesPost(w http.ResponseWriter, r *http.Request) {
	s.once(w, r, s.enterDuty)
}

// enterDuty records that a duty was done.
func (s *recordPages) enterDuty(ctx context.Context, t typed) (receipt string, wrong *problem) {
	figures := s.figures(s.View.Now())
	f := figures.reader()
	e := DutyEntry{Duty: t.Alarm, Evidence: f.text("evidence", t.More.Get("evidence"), longestText, true), Happened: f.day(t.More.Get("on"))}
	e.Reason = f.text("why", t.More.Get("why"), longestText, !e.Happened.IsZero())
	e.Person = f.text("who", t.Who, longestName, true)
	if f.problem != nil {
		return "", f.problem
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
	defer cancel()
	number, err := s.office.DoneDuty(ctx, e)
	if err != nil {
		return "", s.notKept(err)
	}
	return s.words.Say("duties.recorded", number, e.Person), nil
}

// day reads a day of the past as its noon; an empty one, and today, mean now.
func (f *formReader) day(text string) time.Time {
	text = strings.TrimSpace(text)
	if text == "" || text == f.now.In(f.zone).Format(time.DateOnly) {
		return time.Time{}
	}
	t, err := time.ParseInLocation(time.DateOnly, text, f.zone)
	if err != nil || t.After(f.now) || f.now.Sub(t) > 5*366*24*time.Hour {
		f.fail("on", "form.on", clip(text))
		return time.Time{}
	}
	return t.Add(12 * time.Hour)
}
