package dashboard_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
)

// One press starts the sheet; its chip goes from tray to tray, each with the time of that bath,
// and one that has no time says why and waits for a press.
func TestTheTimerCallsTheBathsBehindTheDeveloper(t *testing.T) {
	p := evening(t)
	const clock = "/rooms/north/clock"
	require.Contains(t, p.sent(p.opens(clock).Form(formtest.Having("paper", "1")).Send()), `aria-pressed="true">RC`)
	require.Contains(t, p.sent(p.fills(clock, "start").Send()), "Then stop bath 0:10")
	p.Minutes(2, viewtest.Usual(), viewtest.Values{})
	p.Clock.Advance(8 * time.Second)
	p.Publish()
	html := p.page(clock)
	require.Contains(t, html, `data-bath="Stop bath"`)
	require.Regexp(t, `Then first fixer 0:3\d`, html)
	require.Regexp(t, `(?s)id="bath-stop".*sheet 1 RC.*id="bath-fixer"`, p.page("/"))
	require.Contains(t, p.page("/"), "No white light: a sheet is in the stop bath.")
	p.Minutes(1, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	require.Contains(t, p.page("/"), "Wash, RC: 1 sheet, in for")
	html = p.page(clock)
	require.Contains(t, html, "No time: the temperature is not known: measure it. 2:00 from 20 °C on, longer when colder",
		"the wash of this room has no probe")
	require.Contains(t, html, "No timer is running")
	require.NotContains(t, p.sent(p.fills(clock, "washed").Send()), "Wash, RC")
}

func TestASheetPastItsTimeIsAskedForWhereNothingElseIsToBeDone(t *testing.T) {
	p := evening(t)
	p.sent(p.fills("/rooms/north/clock", "start").Send())
	p.Minutes(2, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	require.Contains(t, p.page("/"), "Nothing to do.")
	p.Minutes(1, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	for _, page := range []string{"/", "/rooms/north/clock"} {
		require.Contains(t, p.page(page), "Sheet 1 is past its time: move it on.")
		require.NotContains(t, p.page(page), "Nothing to do")
	}
	require.Contains(t, p.page("/"), `class="todo quiet late"`, "in the frame of what is to be done")
}

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
