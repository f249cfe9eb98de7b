// Package sites has the pages of a manager who answers for many sites: how each stands, and
// one report on a choice of them.
package sites

import (
	"context"
	"io"
	"net/http"
	"time"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// Sites is what the pages know of the sites.
type Sites interface {
	// Standing says how the sites stand. It never waits, and what it gives is never changed.
	Standing() Standing
	// Report gathers the report on some sites over days, from From up to To. The error is one
	// sentence for the person who asked.
	Report(ctx context.Context, q Question) (report.Several, error)
	// WriteReport writes a report with all tables of each site as one archive.
	WriteReport(ctx context.Context, s report.Several, out io.Writer) error
}

// Question asks for a report on some sites.
type Question struct {
	Sites []int
	// From and To are days in the zone of each site: From is in the time, To is not.
	From, To time.Time
}

// Standing is how the sites stand.
type Standing struct {
	// Problem is why the sites could not be read last; what is shown is older then.
	Problem phrase.Sentence
	// Sites are those of a building together.
	Sites []Site
}

// Site is how one site stands by what arrived from it.
type Site struct {
	ID             int
	Name, Building string
	Simulated      bool
	// Heard is when the site spoke last, zero when it never did; Late is set where that is longer
	// ago than it should be: nothing is known of now.
	Heard time.Time
	Late  bool
	Book  Book
	// Reading is set until the book was read for the first time: what follows is not known yet.
	Reading bool
	// Arriving is set while something that the site has recorded is still on the way.
	Arriving bool
	// Problem is why the book could not be read; what follows is then not known.
	Problem phrase.Sentence
	// Last is the session that began last, nil where there was none.
	Last *report.Session
	// Air is the state of the air that was recorded last, in a session that runs.
	Air phrase.Sentence
	// Week are the sessions of this week, Required and Valid how long their channels should have
	// been measured and were, in the sessions that are over; zero until all of that has arrived.
	Week            []report.Session
	Required, Valid time.Duration
	// Alarms are those that are up, Overdue the names of the duties that are overdue.
	Alarms  []report.Alarm
	Overdue []string
}

// Book is the record book of a site as the centre keeps it.
type Book struct {
	// Number is the record up to which every record rests on the one before, and Verified when
	// that was found; zero where nothing was verified yet.
	Number   uint64
	Verified time.Time
	// Behind is how many records the site had written that had not arrived when it spoke last.
	Behind uint64
	// Broken is what does not hold here; Refused is why the centre takes nothing from the site,
	// and Since since when.
	Broken, Refused string
	Since           time.Time
}

// Pages are the pages of the sites.
type Pages struct {
	*web.Kit
	Sites Sites
}

// Routes are those of the sites.
func (s *Pages) Routes() []web.Route {
	manager, page := web.From(access.Manager), func(h http.HandlerFunc) http.Handler { return h }
	return []web.Route{
		{Pattern: "GET /{$}", For: manager, Answer: page(s.sitesPage)},
		{Pattern: "GET /sites/events", For: manager, Live: s.sitesParts},
		{Pattern: "GET /report", For: manager, Answer: page(s.reportPage), Menu: web.Entry{Under: web.UnderRecord, At: 1,
			Name: "sites-report", Text: "Report"}},
		{Pattern: "GET /report/report.pdf", For: manager, Answer: s.reportFile("pdf")},
		{Pattern: "GET /report/report.zip", For: manager, Answer: s.reportFile("zip")},
	}
}
