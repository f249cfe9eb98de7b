package dashboard

import (
	"context"
	"io"
	"net/http"
	"time"

	"wetside/dashboard/report"
	"wetside/rules/duty"
)

// Office is what whoever answers for the place asks of the program: how its duties
// stand, and reports on what was recorded.
type Office interface {
	// Duties say how the duties stand now.
	Duties(ctx context.Context) ([]duty.Standing, error)
	// DoneDuty records that a duty was done and returns once that is kept for good.
	DoneDuty(ctx context.Context, e DutyEntry) (number uint64, err error)
	// Keeping says how long samples are kept at least; what it does not name, for ever.
	Keeping() []duty.Keeping
	// Report gathers what was recorded in a time, from From up to To. It may take
	// seconds. The error is one sentence for the person who asked.
	Report(ctx context.Context, from, to time.Time) (report.Data, error)
	// WriteReport writes a report with all its tables as one archive.
	WriteReport(ctx context.Context, d report.Data, out io.Writer) error
}

// DutyEntry says that a duty was done, by whom, and what shows it.
type DutyEntry struct {
	Duty, Person, Evidence string
	// Happened is when it was done, for a late entry, and Reason why it is late; zero means now.
	Happened time.Time
	Reason   string
}

// officeRoutes are the pages of duties and reports.
func (s *Server) officeRoutes(mux *routes) {
	mux.HandleFunc("GET /weeks", s.having(s.office != nil, s.weeksPage))
	mux.HandleFunc("GET /duties", s.having(s.office != nil, s.dutiesPage))
	mux.HandleFunc("POST /duties", s.having(s.office != nil, s.dutiesPost))
	mux.HandleFunc("GET /report", s.having(s.office != nil, s.reportPage))
	mux.HandleFunc("GET /report/report.pdf", s.having(s.office != nil, s.reportPDF))
	mux.HandleFunc("GET /report/report.zip", s.having(s.office != nil, s.reportZip))
}

// officePage is a page of the office.
func (s *Server) officePage(r *http.Request, here string) page {
	return s.placePage(r, here, "office.css")
}
