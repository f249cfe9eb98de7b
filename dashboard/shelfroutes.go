package dashboard

import (
	"html/template"
	"net/http"
	"strings"
)

// shelfRoutes are the pages of the chemistry of the site.
func (s *Server) shelfRoutes(mux *routes) {
	mux.HandleFunc("GET /mix", s.onShelf(s.mixPage))
	mux.HandleFunc("GET /shelf", s.onShelf(s.shelfList))
	mux.HandleFunc("GET /labels", s.onShelf(s.labelsPage))
	mux.HandleFunc("GET /labels.pdf", s.labelsPDF)
	mux.HandleFunc("GET /shelf/find", find)
	mux.HandleFunc("GET /shelf/{name}", s.onShelf(s.passportPage))
	mux.HandleFunc("GET /shelf/label/{batch}", s.onShelf(s.labelPage))
	mux.HandleFunc("GET /shelf/enter/{kind}", s.onShelf(s.enterPage))
	mux.HandleFunc("POST /shelf/enter/{kind}", s.enterPost)
	mux.HandleFunc("POST /shelf/typing/{kind}", s.typing)
	mux.HandleFunc("GET /shelf/tests", s.onShelf(s.testsPage))
	mux.HandleFunc("GET /shelf/entry/{number}", s.onShelf(s.recordPage))
	mux.HandleFunc("POST /shelf/entry/{number}", s.takeBackPost)
	mux.HandleFunc("GET /rooms/{room}/set-up", s.inRoom(s.setUpPage))
	mux.HandleFunc("POST /rooms/{room}/set-up", s.inRoom(s.setUpPost))
	mux.HandleFunc("GET /rooms/{room}/take-down", s.inRoom(s.takeDownPage))
	mux.HandleFunc("POST /rooms/{room}/take-down", s.inRoom(s.takeDownPost))
	mux.HandleFunc("POST /rooms/{room}/announce", s.inRoom(s.announcePost))
}

// shelfPage is a page of the shelf.
func (s *Server) shelfPage(r *http.Request, here string) page {
	return s.placePage(r, here, "shelf.css")
}

// find leads from a name or short code that was typed to its passport.
func find(w http.ResponseWriter, r *http.Request) {
	to := "/shelf"
	if name := strings.TrimSpace(r.URL.Query().Get("name")); name != "" {
		to = shelfHref(name)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// shelfFuncs let a template hand several values to another.
func shelfFuncs() template.FuncMap {
	return template.FuncMap{
		"scoped": func(scope string, f drawnField) any {
			return struct {
				Scope string
				Field drawnField
			}{scope, f}
		},
		"formed": func(l look, f any) any {
			return struct {
				Look look
				Form any
			}{l, f}
		},
		"wayed": func(l look, w way) any {
			return struct {
				Look look
				Way  way
			}{l, w}
		},
		"stepped": func(l look, w []way) any {
			return struct {
				Look look
				Ways []way
			}{l, w}
		},
	}
}
