package dashboard

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"wetside/rules/access"
)

// decision says who may use a route.
type decision struct {
	// open routes are for anybody, before any sign-in.
	open bool
	// measures is the route of the metrics, which has tokens of its own.
	measures bool
	// reading is for whoever signed in, and for anybody where the place lets pages be read by all.
	reading bool
	// least is the role that the route asks for, where none of the above is set.
	least access.Role
}

// decisions is the one place that says who may use which route. A route that is
// not in it keeps the program from starting: add it here and to the table in
// access_test.go.
func decisions() map[string]decision {
	open, reading := decision{open: true}, decision{reading: true}
	volunteer, instructor, keeper := decision{least: access.Volunteer}, decision{least: access.Instructor}, decision{least: access.Keeper}
	return map[string]decision{
		"GET /healthz":       open,
		"GET /assets/{name}": open,
		"GET /metrics":       {measures: true},
		"GET /api/now":       reading,

		"GET /{$}":                        reading,
		"GET /events":                     reading,
		"GET /rooms/{room}/board":         reading,
		"GET /rooms/{room}/events":        reading,
		"GET /rooms/{room}/probes":        reading,
		"GET /rooms/{room}/probes/events": reading,
		"GET /rooms/{room}/tonight":       reading,
		"GET /rooms/{room}/then":          reading,
		"GET /rooms/{room}/history":       reading,

		"POST /rooms/{room}/probes":                volunteer,
		"GET /rooms/{room}/probe/{channel}":        reading,
		"POST /rooms/{room}/probe/{channel}":       volunteer,
		"GET /rooms/{room}/probe/{channel}/check":  volunteer,
		"POST /rooms/{room}/probe/{channel}/check": instructor,

		"GET /rooms/{room}/air":            reading,
		"GET /rooms/{room}/alarms":         reading,
		"GET /rooms/{room}/air/events":     reading,
		"GET /rooms/{room}/air/traverse":   reading,
		"POST /rooms/{room}/air/traverse":  {least: access.Manager},
		"GET /rooms/{room}/air/test":       reading,
		"POST /rooms/{room}/air/test":      volunteer,
		"GET /rooms/{room}/alarms/events":  reading,
		"GET /rooms/{room}/alarms/figures": reading,
		"GET /rooms/{room}/clock":          reading,
		"GET /rooms/{room}/clock/events":   reading,
		"GET /rooms/{room}/baths":          reading,
		"POST /rooms/{room}/baths":         volunteer,
		"POST /rooms/{room}/air":           volunteer,
		"POST /rooms/{room}/alarms":        volunteer,
		"POST /rooms/{room}/clock":         volunteer,

		"GET /mix":                     reading,
		"GET /shelf":                   reading,
		"GET /shelf/find":              reading,
		"GET /shelf/{name}":            reading,
		"GET /shelf/label/{batch}":     reading,
		"GET /shelf/enter/{kind}":      volunteer,
		"GET /shelf/tests":             reading,
		"POST /shelf/enter/{kind}":     volunteer,
		"POST /shelf/typing/{kind}":    volunteer,
		"GET /shelf/entry/{number}":    volunteer,
		"POST /shelf/entry/{number}":   volunteer,
		"GET /rooms/{room}/set-up":     volunteer,
		"POST /rooms/{room}/set-up":    volunteer,
		"GET /rooms/{room}/take-down":  volunteer,
		"POST /rooms/{room}/take-down": volunteer,
		"POST /rooms/{room}/announce":  volunteer,

		"GET /first-run":    {least: access.Keeper},
		"POST /first-run":   {least: access.Keeper},
		"GET /keeper":       volunteer,
		"POST /keeper":      {least: access.Keeper},
		"GET /labels":       reading,
		"GET /labels.pdf":   reading,
		"GET /screen":       reading,
		"GET /screen/light": reading,
		"POST /screen":      volunteer,

		"GET /weeks":             volunteer,
		"GET /duties":            volunteer,
		"POST /duties":           volunteer,
		"GET /report":            volunteer,
		"GET /report/report.pdf": volunteer,
		"GET /report/report.zip": volunteer,

		"GET /sign-in":   open,
		"POST /sign-in":  open,
		"POST /sign-out": open,
		"GET /join":      open,
		"POST /join":     open,
		"GET /people":    keeper,
		"POST /people":   keeper,
	}
}

// routes takes the routes of the pages, each with its decision in front of it.
type routes struct {
	server    *Server
	mux       *http.ServeMux
	decisions map[string]decision
	patterns  []string
}

// HandleFunc adds a route; see [routes.Handle].
func (t *routes) HandleFunc(pattern string, h http.HandlerFunc) { t.Handle(pattern, h) }

// Handle adds a route. One without a decision answers nobody, and check tells of it.
func (t *routes) Handle(pattern string, h http.Handler) {
	t.patterns = append(t.patterns, pattern)
	if d, decided := t.decisions[pattern]; decided {
		t.mux.Handle(pattern, t.server.admit(d, h))
	}
}

// check is nil when every route has a decision.
func (t *routes) check() error {
	undecided := slices.DeleteFunc(slices.Clone(t.patterns), func(p string) bool {
		_, decided := t.decisions[p]
		return decided
	})
	if len(undecided) == 0 {
		return nil
	}
	return fmt.Errorf("nobody has decided who may use %q: add it to decisions() in dashboard/access.go and to the table in dashboard/access_test.go",
		strings.Join(undecided, `", "`))
}
