package sites

import (
	"context"
	"io"
	"net/http"
	"strconv"
	"time"

	"wetside/daemon/audit"
	"wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/duty"
	"wetside/sensors/quantity/phrase"
)

// View is the centre itself for its pages: it has no room.
func (v *Overview) View() web.View { return view{v.siteNow} }

func (v *Overview) siteNow() *web.Site {
	return &web.Site{At: v.Clock.Now().Wall, Version: v.Version, Zone: v.Zone}
}

// view shows a place of which no room is watched here.
type view struct{ now func() *web.Site }

// Now is the newest state.
func (v view) Now() *web.Site { return v.now() }

// Changes tells nothing: pages look by themselves once a second.
func (view) Changes(context.Context) <-chan struct{} { return nil }

// Do refuses every act.
func (view) Do(context.Context, rules.Command) (rules.Receipt, error) {
	return rules.Receipt{}, errActsAtTheSite()
}

// Place gives the record of the site of a request.
func (v *Overview) Place(r *http.Request) (record.Place, bool) {
	id, err := strconv.Atoi(r.PathValue("site"))
	p := v.seen(r.Context(), id)
	if err != nil || p == nil {
		return record.Place{}, false
	}
	s := p.known()
	now := func() *web.Site {
		return &web.Site{At: p.heard(s), Version: s.Version, Zone: zoneOf(s), Simulated: s.Simulated}
	}
	return record.Place{View: view{now}, Reports: reports{p}, Past: lookBack{p}, Name: s.Name, Under: "/sites/" + strconv.Itoa(id)}, true
}

type reports struct{ *place }

// Duties say how the duties stood when the site was heard last.
func (r reports) Duties(ctx context.Context) ([]duty.Standing, error) { return r.duties(ctx) }

// DoneDuty refuses the entry.
func (reports) DoneDuty(context.Context, record.DutyEntry) (uint64, error) {
	return 0, errActsAtTheSite()
}

// Keeping is told at the site.
func (reports) Keeping() []duty.Keeping { return nil }

// Report gathers the report on a time.
func (r reports) Report(ctx context.Context, from, to time.Time) (report.Data, error) {
	free, err := r.of.alone(ctx)
	if err != nil {
		return report.Data{}, err
	}
	defer free()
	return r.gather(ctx, r.known(), from, to)
}

// WriteReport writes a report with all its tables as one archive.
func (r reports) WriteReport(ctx context.Context, d report.Data, out io.Writer) error {
	return audit.WriteZip(ctx, r.reader, d, out)
}

// lookBack is what the book of one site tells of a time.
type lookBack struct{ *place }

// Course gives what happened in a time.
func (p lookBack) Course(ctx context.Context, q record.CourseQuery) (record.Course, error) {
	found, err := p.chronicle.Between(ctx, q.Room, p.question(q))
	return record.Course{Sessions: found.Sessions, Alarms: found.Alarms}, err
}

// Sessions gives the sessions of a time.
func (p lookBack) Sessions(ctx context.Context, q record.CourseQuery) ([]report.Session, error) {
	return p.chronicle.Sessions(ctx, q.Room, p.question(q))
}

func (p lookBack) question(q record.CourseQuery) audit.Question {
	return audit.Question{From: q.From, To: q.To, Now: p.heard(p.known())}
}

// Flow is not shown at the centre.
func (lookBack) Flow(context.Context, string, web.SeriesQuery) (web.Series, error) {
	return web.Series{}, phrase.Errorf("the chart of the airflow is shown at the site")
}
