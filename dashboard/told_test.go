package dashboard_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"
	"pgregory.net/rapid"

	"wetside/dashboard"
	"wetside/dashboard/keep"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// usUnits are those of a place in the United States.
func usUnits(t require.TestingT) web.Units {
	unit := func(symbol string) quantity.Unit {
		u, err := quantity.ParseUnit(symbol)
		require.NoError(t, err)
		return u
	}
	return web.Units{Temperature: unit("F"), Flow: unit("cfm"), Pressure: unit("inwg"), Velocity: unit("fpm"), Volume: unit("floz")}
}

// elsewhere is the same evening read with other units and signs.
func elsewhere(t *testing.T, p *pages, u web.Units) *pages {
	t.Helper()
	site := *p.Now()
	site.Units = u
	view := viewtest.New(site)
	view.Remember(minutely)
	server, err := dashboard.New(dashboard.Options{View: view, Clocks: p.Stage, Log: zap.NewNop(), Clock: p.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{p.Stage, server, t}
}

func TestPeopleReadInTheirOwnUnits(t *testing.T) {
	us := elsewhere(t, evening(t), usUnits(t))
	require.Contains(t, us.page("/"), ">66.9<") // 19.4 °C
	require.Contains(t, us.page("/"), ">72°<")
	require.Contains(t, us.page("/rooms/north/tonight"), "64.4 to 71.6 °F")
	require.Contains(t, us.page("/rooms/north/baths"), "67.6 US fl oz in the tray") // 2000 mL, a US fluid ounce is 29.5735 mL
	require.Contains(t, us.page("/rooms/north/probes"), "571 fpm")                  // 2.9 m/s
}

var foreign = regexp.MustCompile(`\d (°C|m³/h)`)

// What the rules tell in sentences is in the place's units too: no page of a place that
// reads °F and cfm says °C or m³/h beside its numbers.
func TestSentencesAreReadInTheUnitsOfThePlace(t *testing.T) {
	p := evening(t)
	p.Minutes(20, viewtest.Values{Developer: 16.9, Stop: 19.1, Fixer: 18.8, Duct: 0.6}, viewtest.Values{Developer: -0.02})
	p.Publish()
	us := elsewhere(t, p, usUnits(t))
	said := 0
	for _, path := range []string{"/", "/rooms/north/air", "/rooms/north/alarms", "/rooms/north/clock", "/rooms/north/tonight"} {
		page := strings.ReplaceAll(us.page(path), "20 °C is assumed", "") // a convention, not a reading
		require.Empty(t, foreign.FindString(page), path)
		said += strings.Count(page, "°F") + strings.Count(page, "cfm")
	}
	require.Greater(t, said, 10)
}

func TestQuantitiesInSentencesAreConverted(t *testing.T) {
	us := usUnits(t)
	comma := web.Units{DecimalComma: true}
	for _, c := range []struct {
		units       web.Units
		told, reads string
	}{
		{us, "17.4 °C, wanted 18.0 to 22.0 °C", "63.3 °F, wanted 64.4 to 71.6 °F"},
		{us, "taps give 12.0 and 55.0 °C", "taps give 53.6 and 131.0 °F"},
		{us, "has drifted by -0.50 °C in 40 days", "has drifted by -0.90 °F in 40 days"},
		{us, "it moved +2.0 °C", "it moved +3.6 °F"},
		{us, "Air is moving: 255 m³/h, 98 % of the flow.", "Air is moving: 150 cfm, 98 % of the flow."},
		{us, "The room is at -5.0 Pa", "The room is at -0.0201 in. w.g."},
		{us, "0.51 m/s in the middle", "100 fpm in the middle"},
		{us, "ANSI Z358.1-2014 7.5.2, 2 Particles, 30 minutes", "ANSI Z358.1-2014 7.5.2, 2 Particles, 30 minutes"},
		{comma, "17.4 °C, wanted 18.0 to 22.0 °C; 12 sheets went through 2.50 L", "17,4 °C, wanted 18,0 to 22,0 °C; 12 sheets went through 2,50 L"},
		{us, `"20 °C" is no time; 2.50 L of 100 mL, 5.08 L/s`, `"20 °C" is no time; 84.5 US fl oz of 3.4 US fl oz, 5.08 L/s`},
		{us, "5.0 °C is below 15.6 °C (60 °F)", "41.0 °F is below 60 °F"},
		{us, "the vessel holds 1774.4 mL", "the vessel holds 60.0 US fl oz"},
		{comma, "by ASHRAE 62.1, 4.5 air changes", "by ASHRAE 62.1, 4,5 air changes"},
	} {
		require.Equal(t, c.reads, placeWith(c.units).LocalText(c.told))
	}
}

// Whatever temperature a sentence tells, the other scale says the same one.
func TestAConvertedTemperatureIsTheSameTemperature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tenths := rapid.IntRange(-300, 1000).Draw(t, "tenths of a degree")
		out := placeWith(usUnits(t)).LocalText("at " + strconv.FormatFloat(float64(tenths)/10, 'f', 1, 64) + " °C")
		text, found := strings.CutSuffix(strings.TrimPrefix(out, "at "), " °F")
		require.True(t, found, out)
		fahrenheit, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		require.LessOrEqual(t, math.Abs((fahrenheit-32)/1.8-float64(tenths)/10), 0.05/1.8+1e-9)
	})
}

// Whatever whole or half degree somebody types, sentences tell it back: they round it in the scale
// of the place, not in the inside unit first.
func TestWhatWasTypedIsToldBack(t *testing.T) {
	us := usUnits(t)
	place := placeWith(us)
	for half := 100; half <= 240; half++ {
		typed := strconv.FormatFloat(float64(half)/2, 'f', 1, 64)
		c, _, err := quantity.Parse(quantity.Temperature, typed+"F")
		require.NoError(t, err)
		require.Equal(t, "the bath is at "+typed+" °F: the end has moved by +3 s", place.Text(phrase.Measured("the bath is at %.1f °C: the end has moved by %+d s", c, 3)))
		require.Equal(t, "from "+typed+" to 125.0 °F, in \"18.3 °C\"", place.Text(phrase.Measured("%s, in %q", phrase.Say("from %.1f to %.1f °C", c, 155.0/3), "18.3 °C")), "and a sentence in one")
		require.Equal(t, typed+" °F", place.Text(phrase.Measured("%s °C", phrase.Rounded{Text: strconv.FormatFloat(c, 'f', 1, 64), Value: c})))
	}
	require.Equal(t, "64.0 US fl oz", place.Text(phrase.Measured("%.2f L", 64*0.0295735295625)))
	metric := phrase.Measured("%.1f °C, %.0f %%, %g h", 55.0/3, 33.4, 1.25)
	require.Equal(t, "18.3 °C, 33 %, 1.25 h", metric.String(), "and nothing of it is left where it is told as it is")
	require.Equal(t, "18,3 °C, 33 %, 1,25 h", placeWith(web.Units{DecimalComma: true}).Text(metric))
}

// A place that writes a decimal comma reads it on its pages.
func TestNumbersAreWrittenWithTheSignOfThePlace(t *testing.T) {
	p := evening(t)
	units := p.Now().Units
	units.DecimalComma = true
	other := elsewhere(t, p, units)
	board := other.page("/")
	require.Contains(t, board, ">19,4<")
	require.Contains(t, other.page("/rooms/north/tonight"), "18,0 to 22,0 °C")
	require.NotContains(t, board, ">19.4<")
	require.Contains(t, other.page("/rooms/north/air"), "9,2")
	past := other.page("/rooms/north/history?channel=north-developer")
	require.Regexp(t, `<td>\d+,\d+</td>`, past, "a table of the past")
	require.Contains(t, past, `"comma":true`, "and what is read off it")
}

// withComma is a dashboard of everything, at a place that writes 18,5.
func withComma(t *testing.T) *pages {
	t.Helper()
	p := evening(t)
	p.Breathe()
	p.Publish()
	site := *p.Now()
	site.Units.DecimalComma = true
	view := viewtest.New(site)
	view.Remember(minutely)
	keeping := viewtest.NewKeeping()
	keeping.Change(func(h *keep.System) { h.HistoryBytes, h.DiskFree = 4_830_000, 1_500_000_000 })
	server, err := dashboard.New(dashboard.Options{View: view, Reports: viewtest.NewOffice(), Maintenance: keeping, Log: zap.NewNop(), Clock: p.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{p.Stage, server, t}
}

// The report, the sizes of the computer and the test by a gas are written like any other page.
func TestReportKeeperAndTracerAreWrittenWithTheSignOfThePlace(t *testing.T) {
	p := withComma(t)
	report := p.page("/report?from=2026-01-01&to=2026-01-31")
	require.Contains(t, report, "asked 7,3")
	require.Contains(t, report, ">6,80<")
	require.NotContains(t, report, ">6.80<")
	keeper := p.page("/keeper")
	require.Contains(t, keeper, "4,8 MB")
	require.Contains(t, keeper, "1,5 GB free")
	test := p.page("/rooms/north/air/test?method=decay&points=0%3D1920+3%3D1330+6%3D1012+9%3D820&background=420&error=30&empty=yes")
	require.Regexp(t, `<b>\d+,\d</b> <span>air changes an hour<br/>\d+,\d to \d+,\d`, test)
}

// placeWith writes sentences as a place with these units reads them.
func placeWith(u web.Units) web.Figures { return web.Figures{Units: u} }
