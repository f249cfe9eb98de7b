package dashboard

import (
	"context"
	"io"
	"net/http"
	"time"

	"wetside/dashboard/report"
	"wetside/rules/access"
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

// recordPages are the pages of what was recorded, of duties and of reports.
type recordPages struct {
	*kit
	office Office
	past   Past
}

// routes are those of the record.
func (s *recordPages) routes() []Route {
	under := func(at int, name string, there bool) Entry {
		return Entry{Under: UnderRecord, At: at, Name: name}.If(there)
	}
	office, volunteer := s.office != nil, From(access.Volunteer)
	return []Route{
		{Pattern: "GET /rooms/{room}/history", For: Reading(), Answer: s.inRoom(s.historyPage), Menu: under(1, "history", true)},
		{Pattern: "GET /weeks", For: volunteer, Answer: s.having(office, s.weeksPage), Menu: under(2, "weeks", office && s.past != nil)},
		{Pattern: "GET /duties", For: volunteer, Answer: s.having(office, s.dutiesPage), Menu: under(3, "duties", office)},
		{Pattern: "POST /duties", For: volunteer, Answer: s.having(office, s.dutiesPost), Acts: []Act{{Name: actDuty, Kind: duty.Kind}}},
		{Pattern: "GET /report", For: volunteer, Answer: s.having(office, s.reportPage), Menu: under(4, "report", office)},
		{Pattern: "GET /report/report.pdf", For: volunteer, Answer: s.having(office, s.reportPDF)},
		{Pattern: "GET /report/report.zip", For: volunteer, Answer: s.having(office, s.reportZip)},
	}
}

// officePage is a page of the office.
func (s *recordPages) officePage(r *http.Request, here string) page {
	return s.placePage(r, here, "office.css")
}
