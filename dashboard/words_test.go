package dashboard_test

import (
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
)

var (
	markup = regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`)
	// unfilled is what package fmt leaves where a value and the place for it do not fit.
	unfilled  = regexp.MustCompile(`%!|%[sdvq]|<nil>|role\.|field\.|title\.`)
	machinery = regexp.MustCompile(`(?i).{0,40}\b(safe|monitor|entity|tag|scrape|panel|recipe|integration)\b.{0,20}`)
)

// The danger word is HALT, so that nobody takes the name of a bath for it; and no page speaks
// of its own machinery, or calls anything safe.
func TestPagesKeepToTheWordsOfTheHouse(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) {
		o.Accounts = nil
		stage := o.View.(*viewtest.Stage)
		stage.Remember(minutely)
		o.Shelf = fullShelf(t, stage)
	})
	read := 0
	for _, route := range p.Patterns() {
		out := p.knock(route, "", nil)
		if !strings.HasPrefix(route, "GET ") || !strings.HasPrefix(out.Header().Get("Content-Type"), "text/html") {
			continue
		}
		read++
		require.NotRegexp(t, unfilled, out.Body.String(), route)
		text := html.UnescapeString(markup.ReplaceAllString(out.Body.String(), " "))
		require.NotRegexp(t, `\bSTOP\b`, text, route)
		require.Empty(t, machinery.FindString(text), route)
	}
	require.Greater(t, read, 20, "pages were read")
}
