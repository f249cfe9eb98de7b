package sites

import (
	"context"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/access"
)

type reportBody struct {
	Look     web.Look
	Sites    []choice
	From, To string
	Problem  string
	// Document is the report, empty until one was asked for; PDF and Archive are the same as files.
	Document     template.HTML
	PDF, Archive string
}

// choice is a site that may be chosen.
type choice struct {
	ID      int
	Text    string
	Checked bool
}

func (s *Pages) reportPage(w http.ResponseWriter, r *http.Request) {
	f, query := s.Figures(s.View.Now()), r.URL.Query()
	today := f.Now.Wall.In(f.Zone)
	body := reportBody{Look: web.LookOf(r), From: query.Get("from"), To: query.Get("to")}
	asked := body.From != "" || body.To != ""
	for _, site := range s.seen(access.SitesOf(r.Context())).Sites {
		text := site.Name
		if site.Building != "" {
			text = site.Building + ", " + site.Name
		}
		body.Sites = append(body.Sites, choice{site.ID, text, !asked || slices.Contains(query["site"], strconv.Itoa(site.ID))})
	}
	status := http.StatusOK
	if !asked {
		body.From, body.To = today.AddDate(0, -3, 0).Format(time.DateOnly), today.Format(time.DateOnly)
	} else if several, wrong := s.reportOf(r); wrong != "" {
		body.Problem, status = wrong, http.StatusUnprocessableEntity
	} else {
		var err error
		if body.Document, err = report.Fragment(report.ComposeSeveral(several)); err != nil {
			s.Log.Error("a report failed", zap.Error(err))
			s.Fail(w, r, web.Failure{Status: http.StatusInternalServerError, Sentence: web.NotDrawn})
			return
		}
		same := url.Values{"site": query["site"], "from": {body.From}, "to": {body.To}}.Encode()
		body.PDF, body.Archive = "/report/report.pdf?"+same, "/report/report.zip?"+same
	}
	s.Show(w, r, status, s.PlacePage(r, web.Head{Name: "sites-report", Title: "Report"}, "office.css").With(body, "sites.css"))
}

// reportOf gathers the report that an address asks for, or says what is wrong.
func (s *Pages) reportOf(r *http.Request) (several report.Several, wrong string) {
	f, query := cards.Figures{Figures: s.Figures(s.View.Now())}, r.URL.Query()
	q := Question{}
	for _, text := range query["site"] {
		id, err := strconv.Atoi(text)
		if err != nil {
			return several, fmt.Sprintf("%q is no site: choose one from the list.", web.Clip(text))
		}
		q.Sites = append(q.Sites, id)
	}
	if len(q.Sites) == 0 {
		return several, "No site is chosen: choose at least one."
	}
	if q.From, q.To, wrong = f.ReportDays(query); wrong != "" {
		return several, wrong
	}
	ctx, cancel := context.WithTimeout(r.Context(), cards.ReportWithin)
	defer cancel()
	several, err := s.Sites.Report(ctx, q)
	if err != nil {
		s.Log.Error("a report failed", zap.Error(err))
		return several, fmt.Sprintf("The report could not be made: %s", f.ErrorText(err))
	}
	several.By = f
	return several, ""
}

func (s *Pages) reportPDF(w http.ResponseWriter, r *http.Request) {
	several, wrong := s.reportOf(r)
	cards.SendReport(s.Kit, w, r, cards.ReportFile{Name: "wetside-sites", End: "pdf", Wrong: wrong, Write: func(out io.Writer) error {
		return report.WritePDF(out, report.ComposeSeveral(several), several.Made)
	}})
}

func (s *Pages) reportZip(w http.ResponseWriter, r *http.Request) {
	several, wrong := s.reportOf(r)
	cards.SendReport(s.Kit, w, r, cards.ReportFile{Name: "wetside-sites", End: "zip", Wrong: wrong, Write: func(out io.Writer) error {
		return s.Sites.WriteReport(r.Context(), several, out)
	}})
}
