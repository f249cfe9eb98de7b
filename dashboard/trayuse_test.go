package dashboard_test

import (
	"html"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
)

func TestATrayWithAnEntryOfAnOlderBookIsTakenIntoTheShelf(t *testing.T) {
	s := stocked(t)
	s.PourAsBefore("developer", rules.Portion{Record: 41, Batch: "PD-17", What: "Paper developer of old", By: "Ida",
		Filled: viewtest.Evening(), Concentrate: 1, Water: 9, Volume: 1800})
	s.Publish()
	page := s.page(baths)
	require.Contains(t, page, "This entry comes from an earlier version of the program")
	require.Contains(t, s.page("/rooms/north/take-down"), "Developer has an entry of an earlier version")
	link := regexp.MustCompile(`(?s)id="bath-developer".*?href="(/shelf/enter/bath-found[^"]*)"`).FindStringSubmatch(page)
	require.NotNil(t, link)
	known := s.opens(html.UnescapeString(link[1])).Form(formtest.To("/shelf/enter/bath-found")).Values()
	require.Equal(t, []string{"Developer tray", "Paper developer of old", "1800 mL", "1+9"}, []string{known.Get("container"),
		known.Get("name"), known.Get("volume_ml"), known.Get("aim")}, "what is known is filled in")
}

func TestAWashAsksForNoEntry(t *testing.T) {
	s := stocked(t)
	for _, id := range []string{"developer", "stop", "fixer"} {
		require.Regexp(t, `(?s)id="bath-`+id+`".*?bath-found.*?</section>`, s.page(baths), id)
	}
	require.NotRegexp(t, `(?s)id="bath-wash".*bath-found`, s.page(baths))
}
