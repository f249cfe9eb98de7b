package air

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/record"
)

type figuresBody struct {
	Spans    []web.Link
	Since    string
	Big      []cards.Numeral
	Kinds    []kindRow
	Standing []asideRow
	Aside    []asideRow
	Practice []practiceRow
	// Unpractised says that nobody has tried the sounds or the alarms; empty when somebody has.
	Unpractised string
	Statement   string
}

// kindRow is one alarm with how often it came; Share is of the most frequent one, 0 to 100.
type kindRow struct {
	ID    string
	Name  string
	Count int
	Share int
}

// asideRow is an alarm that is up or was put aside, as it stands now.
type asideRow struct{ What, State, Since, Until, By, Why string }

// practiceRow is a drill or a test of the sounds.
type practiceRow struct{ When, What, Found, By string }

// figureSpans are the times that the page offers, in days.
func figureSpans() []int { return []int{7, 30, 120, 365} }

const usualFigureSpan = 30

func (s *Pages) alarmFigures(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l := s.figures(in.Site), web.LookOf(r)
	days, err := strconv.Atoi(r.URL.Query().Get("days"))
	if err != nil || !slices.Contains(figureSpans(), days) {
		days = usualFigureSpan
	}
	// What was raised before still stands: a term before the time is read as well.
	from := f.Now.Wall.AddDate(0, 0, -days)
	records, err := s.Readings.Records(r.Context(), web.RecordsQuery{Room: in.Snap.Room, Kinds: figureKinds(),
		From: from.AddDate(0, 0, -figureSpans()[2])})
	if err != nil {
		s.Log.Error("the alarms of the book can't be read", zap.Error(err))
		s.Fail(w, r, web.Failure{Status: http.StatusServiceUnavailable, Sentence: s.figures(in.Site).ErrorText(err)})
		return
	}
	body := f.alarmFigures(records, alarm.Span{From: from, To: f.Now.Wall})
	for _, d := range figureSpans() {
		body.Spans = append(body.Spans, l.Link("figures?days="+strconv.Itoa(d), web.Count(d, "%d day", "%d days")))
		body.Spans[len(body.Spans)-1].Current = d == days
	}
	for _, a := range in.Snap.Alarms {
		body.Standing = append(body.Standing, f.standing(a))
	}
	for _, a := range in.Snap.Aside {
		body.Aside = append(body.Aside, f.standing(a))
	}
	s.Show(w, r, http.StatusOK, s.PageFor(web.Head{Name: "alarm-figures", Title: "Alarm statistics"}, l, in).With(body, "air.css"))
}

// figureKinds are the records that the figures are made of.
func figureKinds() []string {
	return append(rules.AlarmKinds(), rules.SessionPhase, rules.RecordDrill{}.Kind(), rules.TestSounder{}.Kind())
}

func (f figures) standing(a rules.AlarmView) asideRow {
	row := asideRow{What: f.Text(a.Text), State: f.Word(alarm.State(a.State)), Since: f.Brief(a.Since), By: a.By, Why: a.Note}
	row.What = cmp.Or(row.What, a.ID)
	if !a.Until.IsZero() {
		row.Until = f.Brief(a.Until)
	}
	return row
}

func (f figures) alarmFigures(records []record.Record, span alarm.Span) figuresBody {
	transitions := rules.AlarmTransitions(records)
	count := alarm.Count(transitions, span)
	body := figuresBody{Since: fmt.Sprintf("Since %s", f.Brief(span.From)),
		Statement: "No target is published for a darkroom. A quiet evening should have none."}
	sessions := past.Begun(records, coverage.Span(span))
	body.Big = []cards.Numeral{
		{Key: "raised", Value: strconv.Itoa(count.Raised), Label: web.Count(sessions, "alarms in %d session", "alarms in %d sessions")},
		{Value: f.perEvening(count.Raised, sessions), Label: "a session"},
		{Key: "waited", Value: f.waited(count),
			Label: web.Count(len(count.Answered), "typical time to answer (%d alarm)", "typical time to answer (%d alarms)")},
		{Value: strconv.Itoa(count.Busiest), Label: "most within ten minutes"},
		{Key: "dropped", Value: strconv.Itoa(count.Dropped), Label: "unanswered when the room was left"},
	}
	for id, n := range count.ByID {
		body.Kinds = append(body.Kinds, kindRow{ID: id, Name: id, Count: n})
	}
	slices.SortFunc(body.Kinds, func(a, b kindRow) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Name, b.Name))
	})
	for i := range body.Kinds {
		body.Kinds[i].Share = 100 * body.Kinds[i].Count / body.Kinds[0].Count
		body.Kinds[i].Name = textOf(transitions, body.Kinds[i].Name)
	}
	body.Practice = f.practice(records, span)
	if len(body.Practice) == 0 {
		body.Unpractised = "None recorded. Test the alarm sound so you know it can be heard."
	}
	return body
}

// perEvening is how many alarms a session had; a dash without any session.
func (f figures) perEvening(raised, sessions int) string {
	if sessions == 0 {
		return "–"
	}
	return f.Number(float64(raised)/float64(sessions), 1)
}

// waited is the middle of how long an alarm waited for somebody.
func (f figures) waited(s alarm.Statistics) string {
	d, any := s.Median()
	if !any {
		return "–"
	}
	return report.Lasted(d)
}

// textOf is what an alarm said last when it came up; its name where it never said anything.
func textOf(transitions []alarm.Transition, id string) string {
	for _, t := range slices.Backward(transitions) {
		if t.ID == id && t.To == alarm.Unacknowledged && !t.Alarm.Text.IsZero() {
			return t.Alarm.Text.String()
		}
	}
	return id
}

// practice lists drills and tests of the sounds, the newest first.
func (f figures) practice(records []record.Record, span alarm.Span) []practiceRow {
	var rows []practiceRow
	for _, r := range slices.Backward(records) {
		if r.At.Before(span.From) {
			break
		}
		act, err := rules.DecodeAct(r.Kind, r.Content)
		if err != nil {
			continue
		}
		row := practiceRow{When: f.Brief(r.At), By: r.Person}
		switch act := act.(type) {
		case rules.RecordDrill:
			row.What, row.Found = fmt.Sprintf("Drill: %s", act.What), act.Found
		case rules.TestSounder:
			row.What, row.Found = fmt.Sprintf("Sound test: %s", act.Where), "Did not hear it"
			if act.Heard {
				row.Found = "Heard it"
			}
		default:
			continue
		}
		rows = append(rows, row)
	}
	return rows
}
