// Package shelf has the pages of the chemistry: set-up and take-down, the shelf, mixing, labels.
package shelf

import (
	"net/http"
	"strings"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules/access"
)

// Pages are the pages of the chemistry of the site.
type Pages struct {
	*web.Kit
	Shelf Shelf
}

// Routes are those of the chemistry; a site that keeps no book of its chemistry has no such page.
func (s *Pages) Routes() []web.Route {
	under := func(at int, name, text string) web.Entry {
		return web.Entry{Under: web.UnderChemistry, At: at, Name: name, Text: text}.If(s.Shelf != nil)
	}
	reading, volunteer := web.Reading(), web.From(access.Volunteer)
	routes := []web.Route{
		{Pattern: "GET /rooms/{room}/set-up", For: volunteer, Answer: s.InRoom(s.setUpPage), Menu: under(1, "set-up", "Set-up")},
		{Pattern: "POST /rooms/{room}/set-up", For: volunteer, Answer: s.InRoom(s.setUpPost)},
		{Pattern: "GET /rooms/{room}/take-down", For: volunteer, Answer: s.InRoom(s.takeDownPage), Menu: under(3, "take-down", "Take-down")},
		{Pattern: "POST /rooms/{room}/take-down", For: volunteer, Answer: s.InRoom(s.takeDownPost)},
		{Pattern: "GET /shelf", For: reading, Answer: s.onShelf(s.shelfList), Menu: under(4, "shelf", "Shelf")},
		{Pattern: "GET /shelf/find", For: reading, Answer: http.HandlerFunc(find)},
		{Pattern: "GET /shelf/{name}", For: reading, Answer: s.onShelf(s.passportPage)},
		{Pattern: "GET /shelf/label/{batch}", For: reading, Answer: s.onShelf(s.labelPage)},
		{Pattern: "GET /shelf/tests", For: reading, Answer: s.onShelf(s.testsPage)},
		{Pattern: "GET /shelf/enter/{kind}", For: volunteer, Answer: s.onShelf(s.enterPage)},
		{Pattern: "POST /shelf/enter/{kind}", For: volunteer, Answer: http.HandlerFunc(s.enterPost)},
		{Pattern: "POST /shelf/typing/{kind}", For: volunteer, Answer: http.HandlerFunc(s.typing)},
		{Pattern: "GET /shelf/entry/{number}", For: volunteer, Answer: s.onShelf(s.recordPage)},
		{Pattern: "POST /shelf/entry/{number}", For: volunteer, Answer: http.HandlerFunc(s.takeBackPost)},
		{Pattern: "GET /mix", For: reading, Answer: s.onShelf(s.mixPage), Menu: under(5, "mix", "Mixing")},
		{Pattern: "GET /labels", For: reading, Answer: s.onShelf(s.labelsPage), Menu: under(6, "labels", "Labels")},
		{Pattern: "GET /labels.pdf", For: reading, Answer: http.HandlerFunc(s.labelsPDF)},
	}
	for i := range routes {
		routes[i].Answer = s.Having(s.Shelf != nil, routes[i].Answer.ServeHTTP)
	}
	return routes
}

func (s *Pages) shelfPage(r *http.Request, head web.Head) web.Page {
	return s.PlacePage(r, head, "shelf.css")
}

// find leads from a name or short code that was typed to its passport.
func find(w http.ResponseWriter, r *http.Request) {
	to := "/shelf"
	if name := strings.TrimSpace(r.URL.Query().Get("name")); name != "" {
		to = shelfHref(name)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

type figures struct{ cards.Figures }

func (s *Pages) figures(site *web.Site) figures {
	return figures{cards.Figures{Figures: s.Figures(site)}}
}
