package dashboard_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
)

// Nobody fills or empties the wash: running water is no empty tray that waits for its batch.
func TestTheWashIsRunningWater(t *testing.T) {
	p := evening(t)
	require.Contains(t, p.page("/rooms/north/tonight"), "running water")
	require.NotContains(t, p.page("/rooms/north/baths"), `id="bath-wash"`)
	p.Pour("wash", rules.Portion{Record: 60, Batch: "W1", What: "Still water", By: "Ida", Filled: viewtest.Evening()})
	p.Publish()
	require.Contains(t, p.page("/rooms/north/tonight"), "Still water, batch W1")
	require.Contains(t, p.page("/rooms/north/baths"), `id="bath-wash"`)
}

// Two keys that both say Start would be pressed for each other in the dark.
func TestEachOfTwoDevelopersHasAStartOfItsName(t *testing.T) {
	p := evening(t)
	require.Contains(t, p.page("/"), "<span>Start <b")
	snap := *p.Now().Rooms[0]
	second := snap.Baths[0]
	second.Bath.ID, second.Bath.Name = "developer-b", "Developer B"
	snap.Baths = append(slices.Clone(snap.Baths), second)
	p.Show(&snap)
	html := p.page("/")
	require.NotContains(t, html, "<span>Start <b")
	for _, b := range []string{snap.Baths[0].Bath.Name, "Developer B"} {
		require.Contains(t, html, "<span>"+b+" <b")
	}
}
