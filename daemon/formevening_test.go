package daemon_test

import (
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/formtest"
)

const (
	setUpAt    = "/rooms/practice/set-up"
	bathsAt    = "/rooms/practice/baths"
	tonightAt  = "/rooms/practice/tonight"
	takeDownAt = "/rooms/practice/take-down"
)

// until is a moment of the evening that a case waits for.
func until(passed time.Duration) func(*placeForms) {
	return func(p *placeForms) { p.evening.until(passed) }
}

// setUpSendings set the room up: while the air is not proven yet, then a bath in each way.
func setUpSendings() []sending {
	bottles := func(p *placeForms) {
		p.shelf.opened("print-developer", "developer bottle", ledger.PrintDeveloper)
		p.shelf.opened("stop-bath", "stop bath bottle", ledger.StopBath)
		p.shelf.does("Ada", ledger.ContainerNamed{Container: "drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream})
	}
	return []sending{
		{form: "set-up: POST /rooms/{room}/set-up", at: setUpAt, does: bottles, fill: []string{"who", "Ada", "title", "Invented evening",
			"fill", "one person"},
			press: "as it should be", kept: "session opened", has: []string{`"title":"Invented evening"`}},
		{form: "set-up: POST /rooms/{room}/set-up act=air", at: setUpAt, fill: []string{"reason", "the duct probe is being cleaned", "who",
			"Ada"},
			kept: "room as found", has: []string{"accepted", "the duct probe is being cleaned"}},
		{form: "set-up: POST /shelf/enter/batch-mixed meant=concentrate", at: setUpAt, does: until(60 * time.Second),
			kept: "batch mixed", has: []string{`"into":"Developer tray"`, `"parent_ml":150`, `"water_ml":1350`}},
		{form: "set-up: GET /rooms/{room}/set-up", at: setUpAt, fill: []string{"parts", "1+19"}, says: "1425 mL"},
		{form: "set-up: POST /shelf/enter/batch-mixed meant=concentrate", at: setUpAt + "?parts=1%2B19",
			kept: "batch mixed", has: []string{`"into":"Stop bath tray"`, `"parent_ml":75`}},
		{form: "set-up: POST /shelf/enter/portion-poured", at: setUpAt,
			kept: "portion poured", has: []string{`"from":"fixer jug"`, `"to":"First fixer tray"`, `"volume_ml":1500`}},
		{form: "set-up: POST /shelf/enter/batch-mixed meant=unknown into a new vessel", at: setUpAt, fill: []string{"new_vessel",
			"storage bottle", "water_ml", "2 L"},
			kept: "batch mixed", has: []string{`"into":"storage bottle"`, `"water_ml":2000`}},
		{form: "set-up: POST /shelf/enter/test-done test=iodide precipitate", at: setUpAt, press: "clear",
			kept: "test done", has: []string{`"container":"storage bottle"`, `"seen":"clear"`}},
		{form: "set-up: POST /shelf/enter/lot-received", at: setUpAt, fill: []string{"product", "rapid-fixer", "unit_ml", "500 mL", "open_as",
			"second bottle"},
			kept: "lot opened", has: []string{`"container":"second bottle"`}},
		{form: "set-up: POST /shelf/enter/bath-found", at: setUpAt, fill: []string{"fresh", "on"},
			kept: "bath found", has: []string{`"container":"Second fixer tray"`, `"volume_ml":1500`, `"fresh":true`}},
		{form: "enter: POST /shelf/enter/closing-list-written", at: "/shelf/enter/closing-list-written?list=after+set-up",
			fill: []string{"lines", "Key back", "who", "Ada"},
			kept: "closing list written", has: []string{`"lines":["Key back"]`}},
		{form: "enter: POST /shelf/enter/closing-list-signed", at: "/shelf/enter/closing-list-signed?list=after+take-down",
			fill: []string{"who", "Ada"},
			kept: "closing list signed", has: []string{`"list":"after take-down"`, "Chemicals locked up"}},
		{form: "set-up: POST /rooms/{room}/set-up act=put-away", at: setUpAt, kept: "closing list signed", has: []string{`"lines":["Key back"]`}},
	}
}

// classSendings enter what happens in a class.
func classSendings() []sending {
	return []sending{
		{form: "enter: POST /shelf/enter/discarded", at: "/shelf/enter/discarded?container=Second+fixer+tray",
			fill: []string{"volume_ml", "1500", "emptied", "on", "to", "drum", "reason", "cloudy", "happened", "2026-10-14T17:01", "because",
				"entered after washing up", "who", "Ada"},
			kept: "discarded", has: []string{`"reason":"cloudy"`}},
		{form: "enter: POST /shelf/enter/bath-found", at: "/shelf/enter/bath-found?container=Second+fixer+tray&class=fixer",
			fill: []string{"name", "invented fixer", "aim", "1+4", "volume_ml", "2 L", "who", "Ada"},
			kept: "bath found", has: []string{`"container":"Second fixer tray"`, `"name":"invented fixer"`, `"aim":{"parent":1,"water":4}`,
				`"volume_ml":2000`}},
		{form: "enter: POST /shelf/enter/discarded", at: "/shelf/enter/discarded?container=Second+fixer+tray",
			fill: []string{"volume_ml", "2 L", "emptied", "on", "to", "drum", "reason", "unknown", "who", "Ada"},
			kept: "discarded", has: []string{`"reason":"unknown"`}},
		{form: "enter: POST /shelf/enter/bath-found", at: "/shelf/enter/bath-found", fill: []string{"container", "Second fixer tray", "class",
			"fixer", "volume_ml", "1 L", "batch", "odd fixer", "who", "Ada"},
			kept: "bath found", has: []string{`"batch":"odd fixer"`, `"name":"fixer"`}},
		{form: "enter: POST /shelf/enter/discarded", at: "/shelf/enter/discarded?container=Second+fixer+tray",
			fill: []string{"volume_ml", "1 L", "emptied", "on", "to", "drum", "reason", "odd", "who", "Ada"},
			kept: "discarded", has: []string{`"reason":"odd"`}},
		{form: "enter: POST /shelf/enter/batch-mixed", at: "/shelf/enter/batch-mixed", fill: []string{"product", "rapid-fixer", "meant",
			"concentrate", "from", "fixer bottle", "aim", "1+4", "parent_ml", "300", "water_ml", "1200",
			"into", "Second fixer tray", "who", "Ada"}, kept: "batch mixed", has: []string{`"into":"Second fixer tray"`}},
		{form: "enter: POST /shelf/enter/test-done test=clearing time", at: "/shelf/enter/test-done?test=clearing+time",
			fill: []string{"container", "Second fixer tray", "seconds", "0:45", "film", "invented film", "baseline", "on", "who", "Ada"},
			kept: "test done", has: []string{`"seconds":45`, `"baseline":true`}},
		{form: "tonight: POST /shelf/enter/test-done test=emergence time", at: tonightAt, fill: []string{"seconds", "12", "baseline", "on",
			"who", "Ada"}, kept: "test done", has: []string{`"seconds":12`, `"baseline":true`}},
		{form: "baths: POST /rooms/{room}/announce", at: bathsAt, fill: []string{"who", "Ada"}, kept: "time announced",
			has: []string{`"bath":"developer"`}},
		{form: "tonight: POST /rooms/{room}/announce", at: tonightAt, fill: []string{"who", "Ada"}, kept: "time announced",
			has: []string{`"bath":"developer"`}},
		{form: "baths: POST /shelf/enter/sheets-used", at: bathsAt, fill: []string{"count", "5", "material", "fibre-based paper", "who",
			"Ada"}, press: "8x10", kept: "sheets used", has: []string{`"count":5`, `"fibre-based paper"`, `"Developer tray"`}},
		{form: "tonight: POST /shelf/enter/sheets-used", at: tonightAt, fill: []string{"count", "2", "who", "Ada"}, press: "5x7in",
			kept: "sheets used", has: []string{`"count":2`}},
		{form: "enter: POST /shelf/enter/sheets-used", at: "/shelf/enter/sheets-used", fill: []string{"containers", "First fixer tray",
			"containers", "Second fixer tray", "count", "3", "sheet_m2", "8x10in", "material", "resin-coated paper",
			"people", "Cleo, Dan", "who", "Ada"}, kept: "sheets used", has: []string{`"containers":["First fixer tray","Second fixer tray"]`,
			`"people":["Cleo","Dan"]`}},
		{form: "baths: POST /shelf/enter/trays-covered", at: bathsAt, among: formtest.Having("containers", "Developer tray"),
			fill: []string{"who", "Ada"}, kept: "trays covered"},
		{form: "baths: POST /shelf/enter/trays-uncovered", at: bathsAt, fill: []string{"who", "Ada"}, kept: "trays uncovered"},
		{form: "enter: POST /shelf/enter/trays-covered", at: "/shelf/enter/trays-covered", fill: []string{"containers", "Developer tray",
			"who", "Ada"}, kept: "trays covered", has: []string{`"Developer tray"`}},
		{form: "enter: POST /shelf/enter/trays-uncovered", at: "/shelf/enter/trays-uncovered", fill: []string{"containers", "Developer tray",
			"who", "Ada"}, kept: "trays uncovered", has: []string{`"Developer tray"`}},
		{form: "enter: POST /shelf/enter/topped-up", at: "/shelf/enter/topped-up", fill: []string{"container", "Developer tray", "from",
			"developer bottle", "volume_ml", "10", "water_ml", "90", "water_c", "20 C", "who", "Ada"},
			kept: "topped up", has: []string{`"volume_ml":10`, `"water_ml":90`}},
		{form: "enter: POST /shelf/enter/print-timed", at: "/shelf/enter/print-timed", fill: []string{"container", "Developer tray",
			"emergence_s", "12", "seconds", "2:00", "who", "Ada"}, kept: "print timed", has: []string{`"seconds":120`}},
	}
}

// testSendings enter the tests that no other case enters.
func testSendings() []sending {
	tested := func(test string, fill ...string) sending {
		return sending{form: "enter: POST /shelf/enter/test-done test=" + test, at: "/shelf/enter/test-done?test=" + urlWord(test),
			fill: append(fill, "who", "Ada"), kept: "test done", has: []string{`"test":"` + test + `"`}}
	}
	baseline := func(p *placeForms) {
		p.shelf.does("Ada", ledger.TestDone{Test: ledger.BlackStripTest, Container: "developer bottle", Baseline: true})
	}
	strip := tested("standard black strip", "container", "Developer tray", "seen", "as black as the first strip")
	strip.does = baseline
	return []sending{
		tested("iodide precipitate", "container", "First fixer tray", "seen", "clear"),
		tested("stop bath colour", "container", "Stop bath tray", "seen", "yellow", "white_light", "on"),
		tested("emergence time", "container", "Developer tray", "seconds", "14", "bath_c", "20 C"),
		strip,
		tested("residual silver", "seen", "no stain", "in_session", "Invented evening, Wed 14 Oct 17:00 UTC"),
		tested("residual fixer", "seen", "darker than the comparison", "in_session", "Invented evening, Wed 14 Oct 17:00 UTC"),
	}
}

// moveSendings pour, return, discard and get rid of waste.
func moveSendings() []sending {
	return []sending{
		{form: "enter: POST /shelf/enter/portion-poured", at: "/shelf/enter/portion-poured", fill: []string{"from", "Second fixer tray", "to",
			"fixer jug", "volume_ml", "200", "who", "Ada"}, kept: "portion poured", has: []string{`"volume_ml":200`}},
		{form: "enter: POST /shelf/enter/returned", at: "/shelf/enter/returned", fill: []string{"from", "First fixer tray", "to", "fixer jug",
			"volume_ml", "500", "who", "Ada"}, kept: "returned", has: []string{`"volume_ml":500`}},
		{form: "enter: POST /shelf/enter/merged", at: "/shelf/enter/merged", fill: []string{"from", "fixer jug", "into", "First fixer tray",
			"who", "Ada"}, kept: "merged", has: []string{`"into":"First fixer tray"`}},
		{form: "enter: POST /shelf/enter/discarded", at: "/shelf/enter/discarded?container=First+fixer+tray",
			fill: []string{"volume_ml", "2.2 L", "emptied", "on", "to", "drum", "reason", "used up", "who", "Ada"},
			kept: "discarded", has: []string{`"to":"drum"`, `"emptied":true`}},
		{form: "enter: POST /shelf/enter/promoted", at: "/shelf/enter/promoted", fill: []string{"from", "Second fixer tray", "to",
			"First fixer tray", "who", "Ada"}, kept: "promoted", has: []string{`"to":"First fixer tray"`}},
		{form: "enter: POST /shelf/enter/waste-added", at: "/shelf/enter/waste-added", fill: []string{"container", "drum", "volume_ml", "1 L",
			"what", "first rinse", "who", "Ada"}, kept: "waste added", has: []string{`"what":"first rinse"`}},
		{form: "enter: POST /shelf/enter/silver-measured", at: "/shelf/enter/silver-measured", fill: []string{"container", "drum", "silver",
			"<5 mg/L", "method", "laboratory", "sampled", "2026-10-13", "reference", "paper 7", "who", "Ada"},
			kept: "silver measured", has: []string{`"reference":"paper 7"`}},
		{form: "enter: POST /shelf/enter/waste-collected", at: "/shelf/enter/waste-collected", fill: []string{"container", "drum",
			"collector", "invented carrier", "reference", "W-1", "who", "Ada"}, kept: "waste collected",
			has: []string{`"collector":"invented carrier"`}},
	}
}

// takeDownSendings end the evening.
func takeDownSendings() []sending {
	return []sending{
		{form: "take-down: POST /shelf/enter/discarded", at: takeDownAt, fill: []string{"route", "foul drain, as the place allows"},
			kept: "discarded", has: []string{`"container":"Developer tray"`}},
		{form: "take-down: POST /shelf/enter/discarded", at: takeDownAt, fill: []string{"route", "foul drain, as the place allows"},
			kept: "discarded", has: []string{`"container":"Stop bath tray"`}},
		{form: "take-down: POST /shelf/enter/returned into a new vessel", at: takeDownAt, fill: []string{"to", "fixer jug", "volume_ml",
			"1 L"}, kept: "returned", has: []string{`"to":"fixer jug"`}},
		{form: "take-down: POST /rooms/{room}/take-down", at: takeDownAt, fill: []string{"note", "State: all empty.\nFirst: wipe the bench",
			"who", "Ada"}, press: "all done", kept: "note left", has: []string{"wipe the bench"}},
	}
}
