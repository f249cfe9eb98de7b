package dashboard_test

import (
	"html"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/viewtest"
	"wetside/rules"
)

// foundAt is the address at which the page of the baths has a bath of unknown origin entered.
func (s *shelf) foundAt(bath string) string {
	s.t.Helper()
	link := regexp.MustCompile(`(?s)id="bath-` + bath + `".*?href="(/shelf/enter/bath-found[^"]*)"`).FindStringSubmatch(s.page(baths))
	require.NotNil(s.t, link)
	return html.UnescapeString(link[1])
}

func TestABathOfUnknownOriginIsEnteredBesideItsTray(t *testing.T) {
	s := stocked(t)
	page := s.page(baths)
	require.Contains(t, page, "A bath is already in the tray")
	require.NotContains(t, page, "Cover this tray", "an empty tray has no lid to enter")

	after := s.sent(s.entry(s.foundAt("developer"), "bath-found", "name", "Paper developer", "aim", "1+9", "volume_ml", "1,5 L", "who",
		"Ida").Send())
	require.Contains(t, after, "Developer tray holds 1500 mL of Paper developer")
	s.book.Look(func(b *cards.ShelfBook) {
		held, ok := b.InTray("developer", b.At)
		require.True(t, ok)
		require.Equal(t, ledger.PrintDeveloper, held.Class, "as the tray's place says")
		require.Nil(t, held.Strength)
		require.Zero(t, held.Made, "nobody said that it is fresh")
	})

	require.Contains(t, s.sent(s.entry(baths, "trays-covered", "who", "Ida").Send()), "Covered: Developer tray.")
	require.Contains(t, s.sent(s.entry(baths, "trays-uncovered", "who", "Ida").Send()), "Uncovered: Developer tray.")
}

func TestATrayWithAnEntryOfAnOlderBookIsTakenIntoTheShelf(t *testing.T) {
	s := stocked(t)
	s.PourAsBefore("developer", rules.Portion{Record: 41, Batch: "PD-17", What: "Paper developer of old", By: "Ida",
		Filled: viewtest.Evening(), Concentrate: 1, Water: 9, Volume: 1800})
	s.Publish()
	page := s.page(baths)
	require.Contains(t, page, "This entry comes from an earlier version of the program")
	require.Contains(t, s.page("/rooms/north/take-down"), "Developer has an entry of an earlier version")
	after := s.sent(s.entry(s.foundAt("developer"), "bath-found", "who", "Ida").Send())
	require.Contains(t, after, "Developer tray holds 1800 mL of Paper developer of old", "what is known is filled in")
	s.book.Look(func(b *cards.ShelfBook) {
		held, _ := b.InTray("developer", b.At)
		require.InDelta(t, 0.1, *held.AimStrength, 1e-9)
	})
}

func TestAWashAsksForNoEntry(t *testing.T) {
	s := stocked(t)
	for _, id := range []string{"developer", "stop", "fixer"} {
		require.Regexp(t, `(?s)id="bath-`+id+`".*?bath-found.*?</section>`, s.page(baths), id)
	}
	require.NotRegexp(t, `(?s)id="bath-wash".*bath-found`, s.page(baths))
}
