package dashboard_test

import (
	"errors"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// thinning is CO2 at six air changes an hour above 420 ppm, and 2.9 m/s in the duct.
func thinning(q web.SeriesQuery) (web.Series, error) {
	var s web.Series
	for at := q.From; at.Before(q.To); at = at.Add(30 * time.Second) {
		v := 2.9
		if strings.Contains(string(q.Channel), "co2") {
			v = 420 + 1500*math.Exp(-6*at.Sub(q.From).Hours())
		}
		s.Points = append(s.Points, web.SeriesPoint{At: at, Min: v, Mean: v, Max: v, Count: 1})
	}
	return s, nil
}

func withCO2(t testing.TB) *pages {
	p := proven(t)
	traits, _ := sensors.CarbonDioxide.Traits()
	p.Room.Channels = append(p.Room.Channels, sensors.Channel{ID: "north-co2", Name: "Carbon dioxide", Kind: sensors.CarbonDioxide,
		Unit: quantity.UnitsOf(traits.Dimension)[0], Traits: traits})
	p.Say("co2", 940, p.Clock.Now())
	p.Remember(thinning)
	p.Publish()
	return p
}

func TestADecayIsReadFromTheHistoryAndSetAgainstTheFlow(t *testing.T) {
	p := withCO2(t)
	query := "/rooms/north/air/test?method=decay&began=18:00&ended=18:40&background=420&error=30&empty=yes"
	page := p.page(query)
	// 2.9 m/s · 0.0314 m² · 0.9 · 3600 s / 32 m³ = 9.2 changes an hour by the duct.
	for _, words := range []string{"<b>6.0</b>", "They contradict each other", "flow 9.2", "poor mixing", "too near the background",
		`class="fit"`} {
		require.Contains(t, page, words)
	}
	act := rules.TestAirChanges{Changes: 6, Note: "both doors closed"}
	require.NoError(t, p.Write(record.Record{Kind: act.Kind(), Person: "Ida", At: p.Clock.Now().Wall}, act))
	require.Contains(t, p.page("/rooms/north/air/test"), "both doors closed")
}

func TestPointsByHandAndPeopleGiveARateToo(t *testing.T) {
	p := withCO2(t)
	// The points of the command line's own example: 12 changes an hour.
	require.Contains(t,
		p.page("/rooms/north/air/test?method=decay&points=0%3D1920+3%3D1243.2+6%3D871.8+9%3D667.9&background=420&error=0&empty=yes&look=red"),
		"<b>12.0</b>")
	page := p.page("/rooms/north/air/test?method=steady+CO2&settled=940&background=420&crowd=8")
	require.Contains(t, page, "<b>9.0</b>", "8 people at 10 L/s each in 32 m³")
	require.Contains(t, page, "They agree")
	require.Contains(t, p.page("/rooms/north/air/test"), `name="settled" value="940"`)
}

func TestATestThatSaysNothingSaysWhy(t *testing.T) {
	p := withCO2(t)
	for query, want := range map[string]string{
		"method=decay&began=18:00&ended=18:40&background=420&error=30&empty=no":   "A decay counts only in an empty room",
		"method=decay&began=18:00&ended=18:00&background=420&error=30&empty=yes":  "Enter when the test began and ended",
		"method=decay&began=25:00&ended=18:40&background=420&error=30&empty=yes":  "is not a past time of that day",
		"method=decay&began=18:00&ended=18:40&background=lots&error=30&empty=yes": "Outdoors: \"lots\" is not a concentration",
		"method=decay&points=0%3D1920+3%3D&background=420&error=30&empty=yes":     "has \"3=\", which is not a point",
		"method=decay&points=0%3D19+3%3D18&background=420&error=30&empty=yes":     "at least three points",
		"method=steady+CO2&settled=300&background=420&crowd=8":                    "Rise of the CO2 above outdoors of −120 ppm is not usable",
		"method=steady+CO2&settled=900&background=420&crowd=0":                    "0 people give no CO2",
		"method=steady+CO2&settled=900&background=420&crowd=many":                 "is not a whole number",
		"method=guess": "Method: choose one.",
	} {
		require.Contains(t, p.page("/rooms/north/air/test?"+query), want)
	}
}

func TestTheFiguresOfTheAlarmsComeFromTheBook(t *testing.T) {
	p := halted(t)
	at := p.Clock.Now().Wall.AddDate(0, 0, -3)
	write := func(kind string, content any) {
		at = at.Add(4 * time.Minute)
		require.NoError(t, p.Write(record.Record{Kind: kind, Person: "Ida", At: at}, content))
	}
	change := func(from, to alarm.State) rules.Event {
		return rules.Event{Subject: "air", From: string(from), To: string(to), Alarm: &alarm.Alarm{ID: "air", State: to,
			Text: phrase.Say("The air has stopped")}}
	}
	write(rules.SessionPhase, rules.Event{To: "open", Session: &session.Session{Phase: session.Open, Begun: at}})
	for range 2 {
		write(rules.AlarmChange, change(alarm.Normal, alarm.Unacknowledged))
		write(rules.AlarmChange, change(alarm.Unacknowledged, alarm.Acknowledged))
		write(rules.AlarmChange, change(alarm.Acknowledged, alarm.Normal))
	}
	write(rules.TestSounder{}.Kind(), rules.TestSounder{Where: "tablet", Heard: false})
	write(rules.RecordDrill{}.Kind(), rules.RecordDrill{What: "fan off", Found: "all left"})
	text := p.page("/rooms/north/alarms/figures?days=7")
	for _, words := range []string{"<b>2</b> <span>alarms in 1 session", "<b>2.0</b> <span>a session", "<b>4 min</b>",
		"The air has stopped", "Sound test: tablet", "Did not hear it", "Drill: fan off", "all left", "unacknowledged"} {
		require.Contains(t, text, words)
	}
	quiet := newPages(t)
	require.Contains(t, quiet.page("/rooms/north/alarms/figures?days=11&look=red"), "Test the alarm sound so you know it can be heard.")
	p.Ail(errors.New("the disk is gone"))
	require.Equal(t, http.StatusServiceUnavailable, p.get("/rooms/north/alarms/figures").Code)
}

func TestTheAirPageShowsHoodMakeUpEstimateAndWhatIsAsked(t *testing.T) {
	p := proven(t)
	p.Room.Hood, p.Room.Supply = rules.Hood{Left: "north-left", Middle: "north-middle", Right: "north-right"}, "north-supply"
	p.Room.Estimate = rules.Estimate{On: true, Area: 0.2, Strength: 10}
	p.Room.Required = append(p.Room.Required, ventilation.Requirement{Kind: ventilation.MakeUpShare, Value: 90, Source: "invented rule",
		Edition: "third"})
	for id, kind := range map[string]sensors.Kind{"left": sensors.DuctVelocity, "middle": sensors.DuctVelocity,
		"right": sensors.DuctVelocity, "supply": sensors.VolumeFlow} {
		traits, _ := kind.Traits()
		p.Room.Channels = append(p.Room.Channels, sensors.Channel{ID: viewtest.Channel("north", id), Name: id, Kind: kind,
			Unit: quantity.UnitsOf(traits.Dimension)[0], Traits: traits})
	}
	p.Pour("stop", rules.Portion{Record: 43, What: "Stop bath", By: "Ida", Filled: viewtest.Evening()})
	now := p.Clock.Now()
	p.Say("left", 0.31, now)
	p.Say("middle", 0.52, now)
	p.Say("supply", 150, now)
	p.Publish()
	text := p.page("/rooms/north/air") + p.page("/rooms/north/air/limits")
	for _, words := range []string{"0.31 m/s", "0.52 m/s", "Right end", "Make-up air: 150 m³/h, 51 % of the exhaust",
		"at least 90 % is required (invented rule)",
		"ESTIMATE, not measured.", "(estimate from a model, not measured)", "strictest: this one applies", "invented rule", "third",
		"These are not alarms"} {
		require.Contains(t, text, words)
	}
}

func TestThePagesOfAirAndAlarmsAreLive(t *testing.T) {
	p := halted(t)
	address := p.serve()
	for name, wanted := range map[string][]string{
		"air":        {`id="air-now"`, `id="evening-now"`, `id="gases-now"`, "HALT"},
		"air/limits": {`id="breathing-now"`},
		"alarms":     {`id="alarm-air-new"`, "The fan is on, but no air moves", `data-sound="act"`},
	} {
		require.Contains(t, p.page("/rooms/north/"+name+"?look=red"), `data-stream="/rooms/north/`+name+`/events?look=red"`)
		parts := listen(t, address+"/rooms/north/"+name+"/events", "").next("parts").data
		for _, words := range wanted {
			require.Contains(t, parts, words)
		}
	}
}
