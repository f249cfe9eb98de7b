package sites

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/access"
)

type reportBody struct {
	cards.ReportForm
	Look  web.Look
	Sites []web.Choice
}

func (s *Pages) reportPage(w http.ResponseWriter, r *http.Request) {
	query := r.URL.Query()
	pages := s.reportPages(query)
	form, status := pages.Form(r)
	body := reportBody{ReportForm: form, Look: web.LookOf(r)}
	for _, site := range s.seen(access.SitesOf(r.Context())).Sites {
		text := site.Name
		if site.Building != "" {
			text = site.Building + ", " + site.Name
		}
		id := strconv.Itoa(site.ID)
		body.Sites = append(body.Sites, web.Choice{Value: id, Text: text, Checked: !pages.Asked(query) || slices.Contains(query["site"], id)})
	}
	s.Show(w, r, status, s.PlacePage(r, web.Head{Name: "sites-report", Title: "Report"}, "office.css").With(body, "sites.css"))
}

func (s *Pages) reportPages(query url.Values) cards.ReportPages {
	f := cards.Figures{Figures: s.Figures(s.View.Now())}
	q := Question{}
	p := cards.ReportPages{Kit: s.Kit, Figures: f, Name: "wetside-sites"}
	p.Gather = func(ctx context.Context, from, until time.Time) (cards.Report, error) {
		q.From, q.To = from, until
		several, err := s.Sites.Report(ctx, q)
		if err != nil {
			return cards.Report{}, err
		}
		several.By = f
		archive := func(ctx context.Context, out io.Writer) error { return s.Sites.WriteReport(ctx, several, out) }
		return cards.Report{Document: report.ComposeSeveral(several), Made: several.Made, Archive: archive}, nil
	}
	for _, text := range query["site"] {
		id, err := strconv.Atoi(text)
		if err != nil {
			p.Wrong = fmt.Sprintf("%q is no site: choose one from the list.", web.Clip(text))
		}
		q.Sites = append(q.Sites, id)
	}
	if len(q.Sites) == 0 {
		p.Wrong = "No site is chosen: choose at least one."
	}
	return p
}

func (s *Pages) reportFile(end string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.reportPages(r.URL.Query()).Send(w, r, end) })
}
