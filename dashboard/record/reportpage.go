package record

import (
	"context"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
)

type reportBody struct {
	Look web.Look
	// Under and Name are those of the place where there are many.
	Under, Name string
	From, To    string
	Problem     string
	// Document is the report, empty until one was asked for.
	Document template.HTML
	// PDF and Archive lead to the same as files.
	PDF, Archive string
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
	f := s.figures(s.View.Now())
	today := f.Now.Wall.In(f.Zone)
	body := reportBody{Look: web.LookOf(r), Under: s.Under, Name: s.Name, From: r.URL.Query().Get("from"), To: r.URL.Query().Get("to")}
	status := http.StatusOK
	if body.From == "" && body.To == "" {
		body.From, body.To = today.AddDate(0, -3, 0).Format(time.DateOnly), today.Format(time.DateOnly)
		body.Presets = s.presets(today, body.Look)
	} else if d, wrong := s.reportOf(r); wrong != "" {
		body.Problem, status = wrong, http.StatusUnprocessableEntity
	} else {
		var err error
		if body.Document, err = report.Fragment(report.Compose(d)); err != nil {
			s.Log.Error("a report failed", zap.Error(err))
			s.Fail(w, r, web.Failure{Status: http.StatusInternalServerError, Sentence: web.NotDrawn})
			return
		}
		query := url.Values{"from": {body.From}, "to": {body.To}}.Encode()
		body.PDF, body.Archive = s.Under+"/report/report.pdf?"+query, s.Under+"/report/report.zip?"+query
	}
	if standing, err := s.Reports.Duties(r.Context()); err == nil && len(standing) > 0 {
		body.Overdue = s.overdue(standing)
	}
	s.Show(w, r, status, s.officePage(r, web.Head{Name: "report", Title: "Report"}).With(body))
}

// reportOf gathers the report that an address asks for, or says what is wrong.
func (s *Pages) reportOf(r *http.Request) (d report.Data, wrong string) {
	f := s.figures(s.View.Now())
	from, until, wrong := f.ReportDays(r.URL.Query())
	if wrong != "" {
		return d, wrong
	}
	ctx, cancel := context.WithTimeout(r.Context(), cards.ReportWithin)
	defer cancel()
	d, err := s.Reports.Report(ctx, from, until)
	if err != nil {
		s.Log.Error("a report failed", zap.Error(err))
		return d, fmt.Sprintf("The report could not be made: %s", f.ErrorText(err))
	}
	d.By = f
	return d, ""
}

func (s *Pages) reportPDF(w http.ResponseWriter, r *http.Request) {
	d, wrong := s.reportOf(r)
	cards.SendReport(s.Kit, w, r, cards.ReportFile{Name: "wetside", End: "pdf", Wrong: wrong, Write: func(out io.Writer) error {
		return report.WritePDF(out, report.Compose(d), d.Made)
	}})
}

func (s *Pages) reportZip(w http.ResponseWriter, r *http.Request) {
	d, wrong := s.reportOf(r)
	cards.SendReport(s.Kit, w, r, cards.ReportFile{Name: "wetside", End: "zip", Wrong: wrong, Write: func(out io.Writer) error {
		return s.Reports.WriteReport(r.Context(), d, out)
	}})
}
