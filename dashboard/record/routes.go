// Package record has the pages of what was recorded: history, weeks, duties and reports.
package record

import (
	"context"
	"io"
	"net/http"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/rules/duty"
)

// Reports is what whoever answers for the place asks of the program: how its duties
// stand, and reports on what was recorded.
type Reports interface {
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

// Pages are the pages of what was recorded, of duties and of reports.
type Pages struct {
	*web.Kit
	Place
	Readings web.Readings
}

// Place is a place whose record pages show.
type Place struct {
	// View is that of this place, also among the pages of many places.
	View    web.View
	Reports Reports
	Past    Past
	// Name is said on each page and Under begins each address where there are many places;
	// both are empty where there is one alone.
	Name, Under string
}

// Alone says that the pages are those of one place.
func (p Place) Alone() bool { return p.Under == "" }

// Routes are those of the record.
func (s *Pages) Routes() []web.Route {
	under := func(at int, name, text string, there bool) web.Entry {
		return web.Entry{Under: web.UnderRecord, At: at, Name: name, Text: text}.If(there)
	}
	reports, volunteer := s.Reports != nil, web.From(access.Volunteer)
	return []web.Route{
		{Pattern: "GET /rooms/{room}/history", For: web.Reading(), Answer: s.InRoom(s.historyPage), Menu: under(1, "history", "History", true)},
		{Pattern: "GET /weeks", For: volunteer, Answer: s.Having(reports, s.weeksPage),
			Menu: under(2, "weeks", "Weeks", reports && s.Past != nil)},
		{Pattern: "GET /duties", For: volunteer, Answer: s.Having(reports, s.dutiesPage), Menu: under(3, "duties", "Duties", reports)},
		{Pattern: "POST /duties", For: volunteer, Answer: s.Having(reports, s.dutiesPost), Acts: []web.Act{{Name: actDuty, Kind: duty.Kind}}},
		{Pattern: "GET /report", For: volunteer, Answer: s.Having(reports, s.reportPage), Menu: under(4, "report", "Report", reports)},
		{Pattern: "GET /report/report.pdf", For: volunteer, Answer: s.Having(reports, s.reportPDF)},
		{Pattern: "GET /report/report.zip", For: volunteer, Answer: s.Having(reports, s.reportZip)},
	}
}

func (s *Pages) officePage(r *http.Request, head web.Head) web.Page {
	if !s.Alone() {
		head.Title += " · " + s.Name
	}
	p := s.PlacePage(r, head, "office.css")
	if !s.Alone() {
		p.Simulated = s.View.Now().Simulated
	}
	return p
}

// figures writes what these pages say, in the units of the place.
type figures struct {
	cards.Figures
	place Place
}

func (s *Pages) figures(site *web.Site) figures {
	return figures{cards.Figures{Figures: s.Figures(site)}, s.Place}
}

// Places are the pages of what was recorded at many places, each under its own address.
type Places struct {
	*web.Kit
	// Find gives the place of a request; false where there is none, or none that the caller may see.
	Find func(*http.Request) (Place, bool)
}

// Routes are those of the record pages of every place.
func (s *Places) Routes() []web.Route {
	manager := web.From(access.Manager)
	return []web.Route{
		{Pattern: "GET /sites/{site}/weeks", For: manager, Answer: s.of((*Pages).weeksPage)},
		{Pattern: "GET /sites/{site}/report", For: manager, Answer: s.of((*Pages).reportPage)},
		{Pattern: "GET /sites/{site}/report/report.pdf", For: manager, Answer: s.of((*Pages).reportPDF)},
		{Pattern: "GET /sites/{site}/report/report.zip", For: manager, Answer: s.of((*Pages).reportZip)},
	}
}

// of answers with a page of the place of the request.
func (s *Places) of(page func(*Pages, http.ResponseWriter, *http.Request)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		place, found := s.Find(r)
		if !found {
			s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: web.NoSuchPage})
			return
		}
		page(&Pages{Kit: s.Kit, Place: place}, w, r)
	})
}
