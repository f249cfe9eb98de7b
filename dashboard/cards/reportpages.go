package cards

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
)

// Report is one that was asked for, and how it is written as an archive.
type Report struct {
	Document report.Document
	Made     time.Time
	Archive  func(context.Context, io.Writer) error
}

// ReportPages are the page on which a report is asked for and shown, and the same report as files.
type ReportPages struct {
	*web.Kit
	Figures Figures
	Under   string // what stands before the addresses
	Name    string // how the names of the files begin
	Wrong   string // what else than its days is wrong with the question
	Gather  func(ctx context.Context, from, until time.Time) (Report, error)
}

// ReportForm is what was asked for, and what came of it.
type ReportForm struct {
	From, To, Problem string
	// Document is the report, empty until one was asked for; PDF and Archive lead to the same as files.
	Document     template.HTML
	PDF, Archive string
}

// Asked says whether an address asks for a report.
func (ReportPages) Asked(q url.Values) bool { return q.Get("from") != "" || q.Get("to") != "" }

// Form gives the report that an address asks for; where it asks for none, the days of the last three months.
func (p ReportPages) Form(r *http.Request) (form ReportForm, status int) {
	q := r.URL.Query()
	if !p.Asked(q) {
		today := p.Figures.Now.Wall.In(p.Figures.Zone)
		return ReportForm{From: today.AddDate(0, -3, 0).Format(time.DateOnly), To: today.Format(time.DateOnly)}, http.StatusOK
	}
	form = ReportForm{From: q.Get("from"), To: q.Get("to")}
	made, wrong := p.made(r)
	if wrong != "" {
		form.Problem = wrong
		return form, http.StatusUnprocessableEntity
	}
	var err error
	if form.Document, err = report.Fragment(made.Document); err != nil {
		p.Log.Error("a report failed", zap.Error(err))
		form.Problem = web.NotDrawn
		return form, http.StatusInternalServerError
	}
	q.Del("look")
	form.PDF, form.Archive = p.Under+"/report/report.pdf?"+q.Encode(), p.Under+"/report/report.zip?"+q.Encode()
	return form, http.StatusOK
}

// made is the report that an address asks for, or what is wrong.
func (p ReportPages) made(r *http.Request) (made Report, wrong string) {
	if p.Wrong != "" {
		return made, p.Wrong
	}
	q := r.URL.Query()
	var days [2]time.Time
	for i, name := range []string{"from", "to"} {
		var err error
		if days[i], err = time.ParseInLocation(time.DateOnly, strings.TrimSpace(q.Get(name)), p.Figures.Zone); err != nil {
			return made, fmt.Sprintf("%q is not a day: write it like 2026-01-15.", web.Clip(q.Get(name)))
		}
	}
	if days[1].Before(days[0]) {
		return made, "The first day is after the last: swap them."
	}
	if days[1].After(days[0].AddDate(100, 0, 0)) {
		return made, "The period is longer than a hundred years: choose a shorter one."
	}
	ctx, cancel := context.WithTimeout(r.Context(), 2*time.Minute)
	defer cancel()
	made, err := p.Gather(ctx, days[0], days[1].AddDate(0, 0, 1))
	if err != nil {
		p.Log.Error("a report failed", zap.Error(err))
		wrong = fmt.Sprintf("The report could not be made: %s", p.Figures.ErrorText(err))
	}
	return made, wrong
}

// Send sends the report as a file, whole or not at all: as a "pdf" to print, or as a "zip" with its tables.
func (p ReportPages) Send(w http.ResponseWriter, r *http.Request, end string) {
	made, wrong := p.made(r)
	if wrong != "" {
		p.Fail(w, r, web.Failure{Status: http.StatusUnprocessableEntity, Sentence: wrong})
		return
	}
	var out bytes.Buffer
	write := func() error { return report.WritePDF(&out, made.Document, made.Made) }
	if end == "zip" {
		write = func() error { return made.Archive(r.Context(), &out) }
	}
	if err := write(); err != nil {
		p.Log.Error("a report failed", zap.Error(err))
		p.Fail(w, r, web.Failure{Status: http.StatusInternalServerError, Sentence: web.NotDrawn})
		return
	}
	days := r.URL.Query()
	w.Header().Set("Content-Type", "application/"+end)
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%s-%s.%s"`, p.Name, days.Get("from"), days.Get("to"), end))
	_, _ = out.WriteTo(w) // the reader went away: nobody to tell
}
