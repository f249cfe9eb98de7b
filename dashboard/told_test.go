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
	server, err := dashboard.New(dashboard.Options{View: view, Timers: p.Stage, Log: zap.NewNop(), Clock: p.Clock})
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
	for _, path := range []string{"/", "/rooms/north/air", "/rooms/north/alarms", "/rooms/north/timer", "/rooms/north/tonight"} {
		page := strings.ReplaceAll(us.page(path), "20 °C is assumed", "") // a convention, not a reading
		require.Empty(t, foreign.FindString(page), path)
		said += strings.Count(page, "°F") + strings.Count(page, "cfm")
	}
	require.Greater(t, said, 10)
}

func TestQuantitiesInSentencesAreConverted(t *testing.T) {
	us, comma := usUnits(t), web.Units{DecimalComma: true}
	bath, low, high := quantity.Celsius(17.4).To(0.1), quantity.Celsius(18).To(0.1), quantity.Celsius(22).To(0.1)
	for _, c := range []struct {
		units    web.Units
		sentence phrase.Sentence
		reads    string
	}{
		{us, phrase.Say("%s, wanted %s to %s", bath, low.Bare(), high), "63.3 °F, wanted 64.4 to 71.6 °F"},
		{us, phrase.Say("has drifted by %s in 40 days", quantity.Temperature.Of(-0.5, 0.01).Change()), "has drifted by −0.90 °F in 40 days"},
		{us, phrase.Say("moved by %s, %s from the air", quantity.Celsius(2).To(0.1).Change(), quantity.Celsius(1.9).To(0.1).Gap()),
			"moved by +3.6 °F, 3.4 °F from the air"},
		{us, phrase.Say("Air is moving: %s, %.0f %% of the flow.", quantity.CubicMetrePerHour(255).To(1), 98.0),
			"Air is moving: 150 cfm, 98 % of the flow."},
		{us, phrase.Say("The room is at %s", quantity.Pascal(-5).To(0.1)), "The room is at −0.0201 in. w.g."},
		{us, phrase.Say("%s in the middle", quantity.MetrePerSecond(0.51).To(0.01)), "100 fpm in the middle"},
		{us, phrase.Say("%q is no time; %s of %s", "20 °C", quantity.Millilitre(2500).Litres(10), quantity.Millilitre(100).To(1)),
			`"20 °C" is no time; 84.5 US fl oz of 3.4 US fl oz`},
		{us, phrase.Say("the vessel holds %s", quantity.Millilitre(1774.4).To(0.1).Short()), "the vessel holds 60.0 US fl oz"},
		{us, phrase.Say("at %s", quantity.Celsius(20).To(0.1).Short()), "at 68 °F"},
		{comma, phrase.Say("%s, wanted %s to %s; 12 sheets went through %s", bath, low.Bare(), high, quantity.Millilitre(2500).Litres(10)),
			"17,4 °C, wanted 18,0 to 22,0 °C; 12 sheets went through 2,50 L"},
		{comma, phrase.Say("by %s, %.1f air changes", "ASHRAE 62.1", 4.5), "by ASHRAE 62.1, 4,5 air changes"},
		{web.Units{}, phrase.Say("moved by %s", quantity.Celsius(2).To(0.1).Change()), "moved by +2.0 K"},
	} {
		require.Equal(t, c.reads, placeWith(c.units).Text(c.sentence))
	}
}

// Whatever temperature a sentence tells, the other scale says the same one.
func TestAConvertedTemperatureIsTheSameTemperature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tenths := rapid.IntRange(-300, 1000).Draw(t, "tenths of a degree")
		out := placeWith(usUnits(t)).Text(phrase.Say("at %s", quantity.Celsius(float64(tenths)/10).To(0.1)))
		text, found := strings.CutSuffix(strings.TrimPrefix(out, "at "), " °F")
		require.True(t, found, out)
		fahrenheit, err := quantity.Number(text)
		require.NoError(t, err)
		require.LessOrEqual(t, math.Abs((fahrenheit-32)/1.8-float64(tenths)/10), 0.05/1.8+1e-9)
	})
}

// Whatever whole or half degree somebody types, sentences give back: they round in the scale of
// the place, not in the inside unit first.
func TestWhatWasTypedIsToldBack(t *testing.T) {
	place := placeWith(usUnits(t))
	for half := 100; half <= 240; half++ {
		typed := strconv.FormatFloat(float64(half)/2, 'f', 1, 64)
		c, err := quantity.ParseCelsius(typed + "F")
		require.NoError(t, err)
		require.Equal(t, "the bath is at "+typed+" °F: the end has moved by +3 s",
			place.Text(phrase.Say("the bath is at %s: the end has moved by %+d s", c.To(0.1), 3)))
		within := phrase.Say("from %s to %s", c.To(0.1).Bare(), quantity.Celsius(155.0/3).To(0.1))
		require.Equal(t, "from "+typed+" to 125.0 °F, in \"18.3 °C\"", place.Text(phrase.Say("%s, in %q", within, "18.3 °C")),
			"and a sentence in one")
	}
	require.Equal(t, "64.0 US fl oz", place.Text(phrase.Say("%s", quantity.Millilitre(64*29.5735295625).Litres(10))))
	metric := phrase.Say("%s, %.0f %%, %g h", quantity.Celsius(55.0/3).To(0.1), 33.4, 1.25)
	require.Equal(t, "18.3 °C, 33 %, 1.25 h", metric.String())
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

// reading is a dashboard of everything, at a place that reads in units of its own.
func reading(t *testing.T, own func(*web.Units)) *pages {
	t.Helper()
	p := evening(t)
	p.Breathe()
	p.Publish()
	site := *p.Now()
	own(&site.Units)
	view := viewtest.New(site)
	view.Remember(minutely)
	keeping := viewtest.NewMaintenance()
	keeping.Change(func(h *keep.System) { h.HistoryBytes, h.DiskFree = 4_830_000, 1_500_000_000 })
	server, err := dashboard.New(dashboard.Options{View: view, Reports: viewtest.NewReports(), Maintenance: keeping, Log: zap.NewNop(),
		Clock: p.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{p.Stage, server, t}
}

// The report, the sizes of the computer and the test by a gas are written like any other page.
func TestReportKeeperAndTracerAreWrittenWithTheSignOfThePlace(t *testing.T) {
	p := reading(t, func(u *web.Units) { u.DecimalComma = true })
	report := p.page("/report?from=2026-01-01&to=2026-01-31")
	require.Contains(t, report, "min 7,3")
	require.Contains(t, report, ">6,80<")
	require.NotContains(t, report, ">6.80<")
	keeper := p.page("/keeper")
	require.Contains(t, keeper, "4,8 MB")
	require.Contains(t, keeper, "1,5 GB free")
	test := p.page("/rooms/north/air/test?method=decay&points=0%3D1920+3%3D1330+6%3D1012+9%3D820&background=420&error=30&empty=yes")
	require.Regexp(t, `<b>\d+,\d</b> <span>air changes an hour<br/>\d+,\d to \d+,\d`, test)
}

// A report that is asked for on the page is drawn for the paper on which its place prints.
func TestAReportFromThePageHasThePaperOfItsPlace(t *testing.T) {
	for paper, box := range map[bool]string{false: "[0 0 595.28 841.89]", true: "[0 0 612.00 792.00]"} {
		pdf := reading(t, func(u *web.Units) { u.Letter = paper }).get("/report/report.pdf?from=2026-01-01&to=2026-01-31")
		require.True(t, strings.Contains(pdf.Body.String(), "/MediaBox "+box), "letter: %t", paper)
	}
}

// placeWith writes sentences as a place with these units reads them.
func placeWith(u web.Units) web.Figures { return web.Figures{Units: u} }
