package dashboard_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// probed is an evening whose probes have an invented life.
func probed(t *testing.T) *pages {
	p := evening(t)
	p.Probed(p.Clock.Now().Wall)
	p.Publish()
	return p
}

const developerPage, stopPage = "/rooms/north/probe/north-developer", "/rooms/north/probe/north-stop"

func TestThePageOfAProbeTellsItsLife(t *testing.T) {
	p := probed(t)
	text := p.page(developerPage)
	for _, want := range []string{"P-12, since", "off by +0.70 °C", "More than the allowed 0.6 °C", "in time", "In force: × 1 −0.70 °C",
		"reference thermometer, certificate K-5", "20.00 °C, by calculation",
		"Ice point", "glass thermometer 2", "by a check", "Raw readings are kept", "<svg", "hand readings"} {
		require.Regexp(t, `(?i)`+regexp.QuoteMeta(want), text)
	}
	text = p.page(stopPage)
	require.Contains(t, text, "overdue")
	require.Contains(t, text, "may be out of the liquid")
	require.NotContains(t, text, `value="dismiss"`, "findings are judged on the page of all probes")
	require.Contains(t, p.page("/rooms/north/probes"), `<a href="/rooms/north/probe/north-stop">`)
	require.Contains(t, p.page("/rooms/north/alarms"), "The check of the probe at Stop bath tray was due on")
	require.Equal(t, http.StatusNotFound, p.get("/rooms/north/probe/nowhere").Code)
	require.Equal(t, http.StatusNotFound, p.get("/rooms/north/probe/nowhere/check").Code)
	require.NotContains(t, p.page("/rooms/north/probe/north-fan"), "Ice point", "a switch is not checked in ice")
	require.NotContains(t, p.page("/rooms/north/probe/north-fan"), "stands still", "a switch does")
	require.Contains(t, p.page(developerPage), "A value that stands still is not taken for a fault here")
}

// A sensor that sees nothing has not measured zero: its row says what the page of the air says.
func TestTheRowOfAGasSaysWhatTheAirPageSays(t *testing.T) {
	p := proven(t)
	p.Say("acid", 0.05, p.Clock.Now())
	p.Publish()
	require.Contains(t, p.page("/rooms/north/air"), "below 0.2 ppm")
	require.Contains(t, p.page("/rooms/north/probes"), "below 0.2 ppm")
}

// One probe that is lifted out every week fills no page: the newest finding stands on its card, the earlier ones like it
// behind one press, each with its own answer.
func TestFindingsThatAreAlikeStandOnOneCard(t *testing.T) {
	p := probed(t)
	text := p.page("/rooms/north/probes")
	require.Equal(t, 2, strings.Count(text, `class="card finding`), "probe out of the liquid, and the jump that was dismissed")
	require.Regexp(t, `(?s)Found before: 1</summary>.*since Thu 8 Jan \d\d:\d\d, 94 % likely\.`, text)
	require.NotNil(t, p.opens("/rooms/north/probes").Form(formtest.Having("alarm", "out:stop:before"), formtest.Having("act", "dismiss")))
}

// still is a history in which a probe stands at one value, once a second.
func still(value float64) func(web.SeriesQuery) (web.Series, error) {
	return func(q web.SeriesQuery) (web.Series, error) {
		var s web.Series
		for at := q.From; at.Before(q.To.Add(-time.Second)); at = at.Add(time.Second) {
			s.Points = append(s.Points, web.SeriesPoint{At: at, Min: value, Mean: value, Max: value, Count: 1, Suspect: true})
		}
		return s, nil
	}
}

func TestAGuidedCheckDoesOneThingAtATimeAndReadsTheProbeOnceItIsSteady(t *testing.T) {
	p := probed(t)
	ice := developerPage + "/check?method=ice&step="
	text := p.page(ice + "1")
	require.Contains(t, text, "Step 1 of 4")
	require.Contains(t, text, `method=ice&step=2`)
	require.NotContains(t, text, "<form")
	require.Contains(t, p.page(ice+"3"), "Too early to say", "without readings nothing is steady")
	p.Remember(still(0.17))
	require.Contains(t, p.page(ice+"3"), "Steady: read it now")
	require.Contains(t, p.page(ice+"4"), `value="0.17"`)
	p.Remember(still(20.3))
	require.Contains(t, p.page(ice+"3"), "Far from the ice point")
	require.NotContains(t, p.page(ice+"4"), `value="20.3`)
	require.Contains(t, p.page(developerPage+"/check?method=reference&step=99"), "Step 4 of 4")
	require.Contains(t, p.page(developerPage+"/check?method=reference&step=1"), "check-picture")
	duct := p.page("/rooms/north/probe/north-duct/check?method=reference&step=1")
	require.NotContains(t, duct, "check-picture", "no tray is drawn for a duct")
}

// An anemometer is put into no bath, and a gas cell into no ice: each kind is checked in what it measures.
func TestACheckIsDoneInWhatTheProbeMeasures(t *testing.T) {
	p := newPages(t)
	p.Breathe()
	traits, _ := sensors.RoomPressure.Traits()
	pascal, _ := quantity.BaseUnit(quantity.Pressure)
	p.Room.Channels = append(p.Room.Channels, sensors.Channel{ID: "north-door", Name: "Door", Kind: sensors.RoomPressure, Unit: pascal,
		Traits: traits})
	p.Begin()
	p.Publish()
	first := func(channel, method string) string {
		return regexp.MustCompile(`<h1 id="step">.*?</h1>`).FindString(p.page("/rooms/north/probe/north-" + channel + "/check?method=" + method))
	}
	for channel, want := range map[string][2]string{"duct": {"Hold both in the same airstream", "Cover the probe"},
		"door": {"Connect both to the same two ports", "Open both ports to the same room"},
		"acid": {"Give both the same gas", "Give the cell clean air"}, "stop": {"Put both into one bath", "Take the probe out"}} {
		require.Contains(t, first(channel, "reference"), want[0], channel)
		require.Contains(t, first(channel, "zero"), want[1], channel)
		require.Contains(t, first(channel, "ice"), want[1], "%s: no ice but for a thermometer", channel)
	}
}

// The picture of the last hour draws good readings alone, in the colour of the look.
func TestTheLastHourOfAChannelIsDrawnBesideIt(t *testing.T) {
	p := probed(t)
	p.Remember(func(q web.SeriesQuery) (web.Series, error) {
		var s web.Series
		for i, value := range []float64{19.4, 19.5, 85, 19.6} {
			s.Points = append(s.Points, web.SeriesPoint{At: q.From.Add(time.Duration(i+1) * time.Minute), Min: value, Mean: value, Max: value,
				Count: 1, Suspect: value > 60})
		}
		return s, nil
	})
	require.Contains(t, p.page("/rooms/north/probes"), `src="/rooms/north/probe/north-developer/hour.svg?to=`)
	svg := p.get(developerPage + "/hour.svg?look=red").Body.String()
	require.Contains(t, svg, `stroke="#f00"`)
	require.Regexp(t, `points="4.0,\d+.\d 8.0,\d+.\d 16.0,\d+.\d "`, svg, "a minute is 4 of 240 steps; 85 °C is suspect and not drawn")
	require.Equal(t, http.StatusNotFound, p.get("/rooms/north/probe/nowhere/hour.svg").Code)
}

func TestTheKeeperSeesHowFarTheClockIsBelieved(t *testing.T) {
	for want, c := range map[string]rules.ClockView{"Not confirmed": {}, "Confirmed": {Confirmed: true},
		"Behind an earlier record": {Behind: true, Stepped: true}, "Clock was changed": {Stepped: true}} {
		p := evening(t)
		p.KnowClock(c)
		p.Publish()
		require.Contains(t, p.page("/rooms/north/probes"), "<strong>"+want+"</strong>")
	}
}

// Who comes because of an alarm about a plug finds the ports first.
func TestThePortsComeFirstWhereOneIsNotRead(t *testing.T) {
	p := probed(t)
	before := func() bool {
		text := p.page("/rooms/north/probes")
		return strings.Index(text, `id="line-`) < strings.Index(text, `id="channels"`)
	}
	require.False(t, before())
	p.Line(sensors.StateGone)
	p.Publish()
	require.True(t, before())
}
