package daemon_test

import (
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/rules"
)

func urlWord(text string) string { return url.QueryEscape(text) }

const (
	airAt    = "/rooms/practice/air"
	limitsAt = "/rooms/practice/air/limits"
	alarmsAt = "/rooms/practice/alarms"
	probeAt  = "/rooms/practice/probe/stop-bath-tray"
	timerAt  = "/rooms/practice/timer"
	boardAt  = "/rooms/practice/board"
)

func airSendings() []sending {
	cases := []sending{
		{form: "air: POST /rooms/{room}/air act=begin", at: airAt, fill: []string{"phase", "open", "title", "Open evening", "people", "12",
			"until", "22:30", "who", "Ada"}, kept: "session started", has: []string{`"people":12`}},
		{form: "air: POST /rooms/{room}/air act=complain", at: airAt, fill: []string{"complaint", "sharp smell", "who", "Ada"},
			kept: "complaint", has: []string{"sharp smell"}},
		{form: "alarms: POST /rooms/{room}/alarms act=complain", at: alarmsAt, fill: []string{"complaint", "stale air", "who", "Ada"},
			kept: "complaint", has: []string{"stale air"}},
		{form: "limits: POST /rooms/{room}/air/limits act=require", at: limitsAt, fill: []string{"asked", "air changes", "figure", "8",
			"whose", "invented code", "edition", "2018", "effective", "2026-11-01", "who", "Ada"},
			kept: "air requirement", has: []string{"invented code"}},
		{form: "limits: POST /rooms/{room}/air/limits act=require-change", at: limitsAt,
			fill: []string{"row", "air changes|invented house rule of the simulated room", "figure", "7", "who", "Ada"}, kept: "air requirement",
			has: []string{"invented house rule"}},
		{form: "limits: POST /rooms/{room}/air/limits act=require-off", at: limitsAt, fill: []string{"row", "air changes|invented code",
			"why", "the code has changed", "who", "Ada"}, kept: "air requirement", has: []string{"the code has changed"}},
		{form: "limits: POST /rooms/{room}/air/limits act=limit", at: limitsAt, fill: []string{"agent", "acetic acid", "jurisdiction",
			"House", "limit", "short-term average", "window", "15 min", "figure", "25 mg/m³", "standing", "verified",
			"whose", "minutes of the house", "edition", "2026", "who", "Ada"}, kept: "breathing limit", has: []string{"minutes of the house"}},
		{form: "limits: POST /rooms/{room}/air/limits act=limit-off", at: limitsAt,
			fill: []string{"row", "acetic acid|House|short-term average|15", "why", "another list", "who", "Ada"}, kept: "breathing limit",
			has: []string{"another list"}},
		{form: "limits: POST /rooms/{room}/air/limits act=unexposed", at: limitsAt, fill: []string{"why", "no other work with acid", "who",
			"Ada"}, kept: "unexposed time stated", has: []string{"no other work with acid"}},
		{form: "limits: POST /rooms/{room}/air/limits act=unexposed-off", at: limitsAt, fill: []string{"why", "two work in a print shop",
			"who", "Ada"}, kept: "unexposed time stated", has: []string{`"off":true`, "two work in a print shop"}},
		{form: "alarms: POST /rooms/{room}/alarms act=drill", at: alarmsAt, fill: []string{"drill", "fan off", "found", "all left", "who",
			"Ada"}, kept: "alarm drill", has: []string{"all left"}},
		{form: "alarms: POST /rooms/{room}/alarms act=sounder", at: alarmsAt, among: formtest.Having("place", ""),
			fill: []string{"place", "tablet", "heard", "no", "who", "Ada"}, kept: "sounder test", has: []string{"tablet"}},
	}
	for _, page := range []struct{ name, at string }{{"air", airAt}, {"alarms", alarmsAt}, {"board", boardAt}, {"timer", timerAt}} {
		cases = append(cases, sending{form: page.name + ": POST /rooms/{room}/alarms act=sounder", at: page.at, among: formtest.Saying("yes"),
			fill: []string{"who", "Ada"}, press: "yes", kept: "sounder test"})
	}
	return cases
}

// proofSendings enter what proves the flow: a traverse, and tests of the air changes.
func proofSendings() []sending {
	const traverse, test = "/rooms/practice/air/traverse", "/rooms/practice/air/test"
	points := []string{"fixed", "4.5", "meter", "invented anemometer 12", "certified", "C-77", "certified-until", "2027-01-15",
		"certainty", "3", "due", "2027-02-01", "pressure", "-5", "conditions", "door closed", "who", "Ada"}
	for _, name := range []string{"v1", "v2", "v3", "v4", "v5", "v6", "v7", "v8", "v9", "v10", "v11", "v12"} {
		points = append(points, name, "4.2")
	}
	return []sending{
		{form: "traverse: GET /rooms/{room}/air/traverse", at: traverse, fill: []string{"shape", "round", "diameter", "15 cm"}, says: "75 mm up"},
		{form: "traverse: POST /rooms/{room}/air/traverse", at: traverse + "?shape=round&diameter=15+cm", fill: points, kept: "commissioned",
			has: []string{"invented anemometer 12"}},
		{form: "air-test: GET /rooms/{room}/air/test method=steady CO2", at: test, fill: []string{"settled", "900", "background", "420",
			"crowd", "8"}, says: "(8.3 to 12.5)"},
		{form: "air-test: POST /rooms/{room}/air/test act=test method=steady CO2",
			at: test + "?method=steady+CO2&settled=900&background=420&crowd=8", fill: []string{"note", "all sat still", "who", "Ada"},
			kept: "air change test", has: []string{"all sat still"}},
		{form: "air-test: POST /rooms/{room}/air/test act=test method=decay", at: test + "?method=decay&day=&began=&ended=&points=" +
			urlWord("0=1920 3=1330 6=1012") + "&background=420&error=30&empty=yes",
			fill: []string{"who", "Ada"}, kept: "air change test", has: []string{"decay"}},
		{form: "air-test: GET /rooms/{room}/air/test method=decay", at: test, fill: []string{"points", "0=1920 3=1330 6=1012", "background",
			"420", "empty", "yes"}, says: "decay"},
	}
}

// untilTheAirStops goes on until the alarm of the air is up: on a busy computer readings come
// late, and then another alarm comes first. The fan is not started again.
func untilTheAirStops(p *placeForms) {
	p.evening.until(200 * time.Second)
	isUp := func(a rules.AlarmView) bool { return a.ID == "air" }
	for range 60 {
		if slices.ContainsFunc(p.daemon.Now().Rooms[0].Alarms, isUp) {
			return
		}
		p.evening.until(p.evening.passed + time.Second)
	}
	require.Fail(p.crawl.t, "the alarm of the air never came up", "%+v", p.daemon.Now().Rooms[0].Alarms)
}

// untilTheTimerEnds goes on until the time of the timer that was started is up.
func untilTheTimerEnds(p *placeForms) {
	for range 300 {
		if _, page := p.evening.get(timerAt); strings.Contains(page, `data-state="done"`) {
			return
		}
		p.evening.until(p.evening.passed + time.Second)
	}
	require.Fail(p.crawl.t, "the timer never came to its end")
}

// alarmSendings answer an alarm: the fan stops while trays are filled.
func alarmSendings() []sending {
	of := formtest.Having("alarm", "air")
	return []sending{
		{form: "alarms: POST /rooms/{room}/alarms act=acknowledge", at: alarmsAt, does: untilTheAirStops, among: of,
			fill: []string{"done", "switched the fan on", "who", "Ada"}, kept: "alarm acknowledged", has: []string{"switched the fan on"}},
		{form: "alarms: POST /rooms/{room}/alarms act=shelve", at: alarmsAt, among: of, fill: []string{"minutes", "60", "why",
			"belt is changed", "who", "Ada"}, kept: "alarm shelved", has: []string{"belt is changed"}},
		{form: "alarms: POST /rooms/{room}/alarms act=restore", at: alarmsAt, among: of, fill: []string{"why", "belt is new", "who", "Ada"},
			kept: "alarm put back"},
		{form: "board: POST /rooms/{room}/seen act=seen", at: boardAt, does: untilTheAirStops, kept: "alarm acknowledged",
			has: []string{"lab tablet"}},
		{form: "tonight: POST /rooms/{room}/seer act=name-seer", at: "/rooms/practice/tonight", fill: []string{"saw", "Ada"},
			press: "Save this name", kept: "alarm seen by", has: []string{`"saw":"Ada"`}},
		{form: "alarms: POST /rooms/{room}/alarms act=disable", at: alarmsAt, among: of, fill: []string{"why", "probe is out", "who", "Ada"},
			kept: "alarm out of service", has: []string{"probe is out"}},
		{form: "board: POST /rooms/{room}/timer act=remove", at: boardAt, does: untilTheTimerEnds, says: "Start"},
		{form: "air: POST /rooms/{room}/air act=end", at: airAt, fill: []string{"phase", "take-down", "note", "all well", "who", "Ada"},
			kept: "session ended", has: []string{"all well"}},
	}
}

func timerSendings() []sending {
	return []sending{
		{form: "board: POST /rooms/{room}/timer act=paper", at: boardAt, says: "Undo the paper"},
		{form: "timer: POST /rooms/{room}/timer act=paper", at: timerAt, among: formtest.Having("paper", "0"), says: "not set"},
		{form: "board: POST /rooms/{room}/timer act=start", at: boardAt, says: "Undo"},
		{form: "board: POST /rooms/{room}/timer act=undo", at: boardAt, says: "Press Start"},
		{form: "timer: POST /rooms/{room}/timer act=start", at: timerAt, says: "Pause"},
		{form: "timer: POST /rooms/{room}/timer act=pause", at: timerAt, says: "Resume"},
		{form: "timer: POST /rooms/{room}/timer act=resume", at: timerAt, says: "Pause"},
		{form: "timer: POST /rooms/{room}/timer act=remove", at: timerAt, says: "Press Start"},
		{form: "timer: POST /rooms/{room}/timer act=undo", at: timerAt, says: "Pause"},
	}
}

func probeSendings() []sending {
	return []sending{
		{form: "probe: POST /rooms/{room}/probe/{channel} act=fit", at: probeAt, fill: []string{"probe", "P-17", "make",
			"invented thermistor", "accuracy", "0.3", "who", "Ada"}, kept: "probe fitted", has: []string{"P-17"}},
		{form: "probe: POST /rooms/{room}/probe/{channel} act=hand", at: probeAt, fill: []string{"value", "20.3", "with", "glass thermometer",
			"uncertainty", "0.2", "who", "Ada"}, kept: "hand reading", has: []string{"glass thermometer"}},
		{form: "probe: POST /rooms/{room}/probe/{channel} act=correct", at: probeAt, fill: []string{"slope", "1", "offset", "-0.2", "why",
			"ice point", "who", "Ada"}, kept: "correction set", has: []string{"ice point"}},
		{form: "check: POST /rooms/{room}/probe/{channel}/check act=check method=ice", at: probeAt + "/check?method=ice&step=4",
			fill: []string{"as-found", "0.2", "uncertainty", "0.1", "who", "Ada"}, kept: "probe checked", has: []string{`"as_found"`}},
		{form: "check: POST /rooms/{room}/probe/{channel}/check act=check method=reference", at: probeAt + "/check?method=reference&step=4",
			fill: []string{"as-found", "20.2", "reference", "20.0", "instrument", "glass thermometer", "uncertainty", "0.1", "who", "Ada"},
			kept: "probe checked", has: []string{"glass thermometer"}},
		{form: "check: POST /rooms/{room}/probe/{channel}/check act=check method=zero",
			at:   "/rooms/practice/probe/room-pressure/check?method=zero&step=3",
			fill: []string{"as-found", "0.3", "uncertainty", "0.1", "who", "Ada"}, kept: "probe checked", has: []string{"zero point"}},
		{form: "check: POST /rooms/{room}/probe/{channel}/check act=check method=switching",
			at:   "/rooms/practice/probe/fan-command/check?method=switching&step=2",
			fill: []string{"followed", "yes", "who", "Ada"}, kept: "probe checked", has: []string{`"switching"`, `"as_found":1`}},
		{form: "probe: POST /rooms/{room}/probe/{channel} act=take-out", at: probeAt, fill: []string{"why", "cable broken", "who", "Ada"},
			kept: "probe removed", has: []string{"cable broken"}},
		{form: "probes: POST /rooms/{room}/probes act=clock", at: "/rooms/practice/probes", fill: []string{"seen", "17:01", "against",
			"radio clock", "who", "Ada"}, kept: "clock confirmed", has: []string{"radio clock"}},
	}
}

// placeSendings are the forms that belong to no room, and those that only ask.
func placeSendings() []sending {
	return []sending{
		{form: "duties: POST /duties act=duty", at: "/duties", among: formtest.Having("alarm", "eyewash-run"),
			fill: []string{"evidence", "ran clear for three minutes", "who", "Ada"}, kept: "duty done", has: []string{"ran clear"}},
		{form: "screen: POST /screen act=screen", at: "/screen", fill: []string{"screen", "lab tablet", "brightness", "lowest", "paper",
			"grade 2", "lay", "5 min", "before", "none", "after", "none", "who", "Ada"}, kept: "screen tested", has: []string{"lab tablet"}},
		{form: "keeper: POST /keeper act=backup", at: "/keeper", fill: []string{"who", "Ada"}, kept: "backup made"},
		{form: "shelf: GET /shelf/find", at: "/shelf", fill: []string{"name", "fixer jug"}, says: "fixer jug"},
		{form: "labels: GET /labels.pdf", at: "/labels", fill: []string{"label", "vessel:drum", "sheet", "a4-8", "from", "7", "copies", "2"},
			says: "%PDF", white: true},
		{form: "history: GET /rooms/{room}/history", at: "/rooms/practice/history", fill: []string{"channel", "developer-tray", "channel",
			"stop-bath-tray"}, says: "Stop bath tray"},
		{form: "report: GET /report", at: "/report", fill: []string{"from", "2026-10-14", "to", "2026-10-14"},
			says: "Report on the darkroom's record"},
		{form: "weeks: GET /report", at: "/weeks", says: "Report"},
		{form: "tonight: GET /rooms/{room}/tonight", at: tonightAt, fill: []string{"students", "10", "each", "4", "size", "8x10in",
			"material", "fibre-based paper"}, says: "Developer"},
		{form: "tonight: GET /rooms/{room}/then", at: tonightAt, fill: []string{"at", "17:01"}, says: "17:01"},
		{form: "then: GET /rooms/{room}/then", at: "/rooms/practice/then?at=17:00", fill: []string{"at", "17:01"}, says: "17:01"},
	}
}
