package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"wetside/rules/access"
	"wetside/rules/record"
)

// registry is what follows from the routes.
type registry struct {
	kinds record.Registry
	acts  map[string]string // the kind of record of each act of a form
	live  map[string]Route  // by pattern
	menu  []Route           // in the order of the menu
	red   map[string]bool   // the names of the pages that are always red
}

// register derives everything from the routes, or says what one of them lacks.
func register(routes []Route, kinds record.Registry) (registry, error) {
	g := registry{kinds: kinds, acts: map[string]string{}, live: map[string]Route{}, red: map[string]bool{}}
	var undecided []string
	for _, r := range routes {
		if !r.For.decided() {
			undecided = append(undecided, r.Pattern)
		}
		if r.Live != nil {
			g.live[r.Pattern] = r
		}
		if r.Menu.Red {
			g.red[r.Menu.Name] = true
		}
		if r.Menu.Under != NoHeading {
			if r.Menu.Text == "" {
				return registry{}, fmt.Errorf("the menu has no word for the page %q: say what the menu calls it where its route is declared",
					r.Menu.Name)
			}
			g.menu = append(g.menu, r)
		}
		if err := g.takeActs(r); err != nil {
			return registry{}, err
		}
	}
	if len(undecided) > 0 {
		return registry{}, fmt.Errorf("nobody has decided who may use %q: say so with For where the route is declared",
			strings.Join(undecided, `", "`))
	}
	return g, g.sortMenu()
}

// takeActs notes the acts of a route: each becomes a record that some role may enter.
func (g registry) takeActs(r Route) error {
	for _, a := range r.Acts {
		if g.kinds.Least(a.Kind) == record.Program {
			return fmt.Errorf("nobody may send the act %q of a form: no role may enter a record of the kind %q", a.Name, a.Kind)
		}
		if kind, known := g.acts[a.Name]; known && kind != a.Kind {
			return fmt.Errorf("the act %q of a form becomes a record of the kind %q and one of the kind %q: name one of the acts otherwise",
				a.Name, kind, a.Kind)
		}
		g.acts[a.Name] = a.Kind
	}
	return nil
}

// sortMenu puts the pages in the order of the menu; no two may have the same place.
func (g registry) sortMenu() error {
	order := func(a, b Route) int {
		return cmp.Or(cmp.Compare(a.Menu.Under, b.Menu.Under), cmp.Compare(a.Menu.At, b.Menu.At))
	}
	slices.SortFunc(g.menu, order)
	for i := 1; i < len(g.menu); i++ {
		one, other := g.menu[i-1].Menu, g.menu[i].Menu
		if one.At == other.At && one.Under == other.Under {
			return fmt.Errorf("the pages %q and %q have the same place in the menu: give one of them another, such as At: %d",
				one.Name, other.Name, g.nextUnder(one.Under))
		}
	}
	return nil
}

// nextUnder is the place behind the last page under a heading of the menu.
func (g registry) nextUnder(h Heading) (next int) {
	for _, r := range g.menu {
		if r.Menu.Under == h {
			next = r.Menu.At + 1
		}
	}
	return next
}

// leastOf is the lowest role that may send an act of a form; known is false for an act
// that becomes no record, which its route alone decides about.
func (g registry) leastOf(act string) (least access.Role, known bool) {
	kind, known := g.acts[act]
	return g.kinds.Least(kind), known
}

// takes says whether the form of a route may bring an act. A route without acts that become
// records knows its acts itself.
func (r Route) takes(act string) bool {
	return len(r.Acts) == 0 || slices.ContainsFunc(r.Acts, func(a Act) bool { return a.Name == act })
}

// serve puts the admission of each route in front of its answer.
func (s *Kit) serve(routes []Route) http.Handler {
	mux := http.NewServeMux()
	for _, r := range routes {
		if r.Live != nil {
			r.Answer = s.streamOf(r)
		}
		mux.Handle(r.Pattern, s.admit(r))
	}
	return s.tellRefusals(mux)
}
