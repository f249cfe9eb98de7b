package record

import (
	"context"
	"io"
	"net/http"
	"net/url"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
)

type reportBody struct {
	cards.ReportForm
	Look web.Look
	// Under and Name are those of the place where there are many.
	Under, Name string
	// Presets are usual times to report on; none beside a report.
	Presets []preset
	// Overdue says in words how many duties are.
	Overdue string
}

// preset is a usual time to report on, with the way to its page and to its PDF.
type preset struct{ Name, Days, Page, PDF string }

// presets are usual times, seen from a day on: weeks begin on Monday.
func (s *Pages) presets(today time.Time, look web.Look) (list []preset) {
	monday := Monday(today)
	first := today.AddDate(0, 0, 1-today.Day())
	for _, p := range []struct {
		name     string
		from, to time.Time
	}{
		{"This week", monday, today},
		{"Last week", monday.AddDate(0, 0, -7), monday.AddDate(0, 0, -1)},
		{"This month", first, today},
		{"Last month", first.AddDate(0, -1, 0), first.AddDate(0, 0, -1)},
		{"Last 16 weeks, about a term", monday.AddDate(0, 0, -15*7), today},
	} {
		query := url.Values{"from": {p.from.Format(time.DateOnly)}, "to": {p.to.Format(time.DateOnly)}}
		one := preset{Name: p.name, Days: p.to.Format("2 Jan 2006")}
		if p.from.Format(time.DateOnly) != p.to.Format(time.DateOnly) { // on a Monday the week is one day
			form := "2 Jan"
			if p.from.Year() != p.to.Year() {
				form = "2 Jan 2006"
			}
			one.Days = p.from.Format(form) + " – " + one.Days
		}
		if look == web.Red {
			query.Set("look", "red")
		} else {
			one.PDF = s.Under + "/report/report.pdf?" + query.Encode()
		}
		one.Page = s.Under + "/report?" + query.Encode()
		list = append(list, one)
	}
	return list
}

// reportPage shows the form, and the report when a time was asked for.
func (s *Pages) reportPage(w http.ResponseWriter, r *http.Request) {
	pages := s.reportPages()
	form, status := pages.Form(r)
	body := reportBody{ReportForm: form, Look: web.LookOf(r), Under: s.Under, Name: s.Name}
	if !pages.Asked(r.URL.Query()) {
		body.Presets = s.presets(pages.Figures.Now.Wall.In(pages.Figures.Zone), body.Look)
	}
	if standing, err := s.Reports.Duties(r.Context()); err == nil && len(standing) > 0 {
		body.Overdue = s.overdue(standing)
	}
	s.Show(w, r, status, s.officePage(r, web.Head{Name: "report", Title: "Report"}).With(body))
}

func (s *Pages) reportPages() cards.ReportPages {
	f := s.figures(s.View.Now())
	return cards.ReportPages{Kit: s.Kit, Figures: f.Figures, Under: s.Under, Name: "wetside",
		Gather: func(ctx context.Context, from, until time.Time) (cards.Report, error) {
			d, err := s.Reports.Report(ctx, from, until)
			if err != nil {
				return cards.Report{}, err
			}
			d.By = f
			archive := func(ctx context.Context, out io.Writer) error { return s.Reports.WriteReport(ctx, d, out) }
			return cards.Report{Document: report.Compose(d), Made: d.Made, Archive: archive}, nil
		}}
}

func (s *Pages) reportPDF(w http.ResponseWriter, r *http.Request) { s.reportPages().Send(w, r, "pdf") }
func (s *Pages) reportZip(w http.ResponseWriter, r *http.Request) { s.reportPages().Send(w, r, "zip") }
