//go:build browser

package browsertest_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every page in every size and both looks: nothing sticks out, lies over something else, is
// cut, stands behind the edge, or has too little room for its words. A page is loaded once in each look, and resized.
func TestNoPageBreaksInAnySize(t *testing.T) {
	t.Parallel()
	s := newShelfSite(t, evening()...)
	s.Remember(history)
	s.keepShowing()
	p := open(t, browser(t), s.host(), sizes()[0])
	pages := everyPage()
	for _, name := range slices.Sorted(maps.Keys(pages)) {
		for _, look := range []string{"day", "red"} {
			t.Run(name+" "+look, func(t *testing.T) {
				p.t = t
				p.resize(sizes()[0])
				p.visit(s.server.URL + in(look, pages[name]))
				p.eventually(`document.fonts.status === "loaded"`, patience)
				for _, size := range sizes() {
					p.resize(size)
					require.Empty(t, value[[]string](p, broken), size.name)
					require.Empty(t, value[[]string](p, squeezed), "%s: words broken or stacked", size.name)
				}
				p.shoot("size-"+name+"-"+look, true)
				p.blameless()
			})
		}
	}
}
