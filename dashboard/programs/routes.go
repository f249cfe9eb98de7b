// Package programs answers other programs: which channels there are and what they read
// now, what was measured over a time, and the description of all of that by OpenAPI 3.1.
// A value that is not good is never given as one: its row says why.
package programs

import (
	_ "embed"
	"net/http"

	"wetside/dashboard/web"
)

// Pages are the answers to other programs.
type Pages struct {
	*web.Kit
	// Measured is what was recorded; nil leaves the series out.
	Measured Measured
	// reading bounds how many series are read at once: the room comes first.
	reading chan struct{}
}

// mostAtOnce is how many series are read at a time; a further program waits.
const mostAtOnce = 2

// New prepares the answers.
func New(k *web.Kit, m Measured) *Pages {
	return &Pages{Kit: k, Measured: m, reading: make(chan struct{}, mostAtOnce)}
}

// Routes are those for other programs.
func (s *Pages) Routes() []web.Route {
	return []web.Route{
		{Pattern: "GET /api/channels", For: web.Programs(), Answer: http.HandlerFunc(s.channels)},
		{Pattern: "GET /api/series", For: web.Programs(), Answer: s.Having(s.Measured != nil, s.series)},
		{Pattern: "GET /api/openapi.json", For: web.Programs(), Answer: http.HandlerFunc(s.described)},
	}
}

// description describes by OpenAPI 3.1 what other programs may ask. A test holds it against the
// routes and against answers.
//
//go:embed openapi.json
var description []byte

func (s *Pages) described(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(description) // the reader went away: nobody to tell
}
