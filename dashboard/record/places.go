package record

import (
	"net/http"

	"wetside/dashboard/web"
	"wetside/rules/access"
)

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
