package programs

import (
	_ "embed"
	"net/http"
)

// description describes by OpenAPI 3.1 what other programs may ask. A test holds it against the
// routes and against answers.
//
//go:embed openapi.json
var description []byte

func (s *Pages) described(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(description) // the reader went away: nobody to tell
}
