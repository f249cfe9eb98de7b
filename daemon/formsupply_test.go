package daemon_test

// supplySendings enter what comes onto the shelf and is planned, on a site that has nothing yet.
func supplySendings() []sending {
	return []sending{
		{form: "enter: POST /shelf/enter/lot-received", at: "/shelf/enter/lot-received", fill: []string{"product", "rapid-fixer", "units", "2", "unit_ml", "1 L", "code", "C-7",
			"expiry", "2027-01-31", "lot", "fixer lot", "who", "Ada"}, kept: "lot received", has: []string{`"lot":"fixer lot"`, `"class":"fixer"`, `"units":2`, `"unit_ml":1000`, `"code":"C-7"`}},
		{form: "enter: POST /shelf/enter/lot-opened", at: "/shelf/enter/lot-opened", fill: []string{"lot", "fixer lot", "container", "fixer bottle", "who", "Ada"},
			kept: "lot opened", has: []string{`"container":"fixer bottle"`}},
		{form: "enter: POST /shelf/enter/container-named", at: "/shelf/enter/container-named", fill: []string{"container", "fixer jug", "vessel", "bottle", "capacity_ml", "5 L",
			"kept_for", "fixer", "floating_lid", "on", "who", "Ada"}, kept: "container named", has: []string{`"capacity_ml":5000`, `"kept_for":"fixer"`, `"floating_lid":true`}},
		{form: "enter: POST /shelf/enter/batch-mixed", at: "/shelf/enter/batch-mixed", fill: []string{"product", "rapid-fixer", "meant", "concentrate", "from", "fixer bottle", "aim", "1+4",
			"parent_ml", "400 mL", "water_ml", "1.6 L", "into", "fixer jug", "water_c", "20", "batch", "fixer batch", "name", "Paper fixer", "who", "Ada"},
			kept: "batch mixed", has: []string{`"batch":"fixer batch"`, `"parent_ml":400`, `"water_ml":1600`, `"water_c":20`}},
		{form: "enter: POST /shelf/enter/bottle-found", at: "/shelf/enter/bottle-found", fill: []string{"container", "brown jug", "where", "under the sink", "volume_ml", "500", "capacity_ml", "1 L",
			"looks", "clear", "who", "Ada"}, kept: "bottle found", has: []string{`"volume_ml":500`, `"where":"under the sink"`}},
		{form: "enter: POST /shelf/enter/product-noted", at: "/shelf/enter/product-noted", fill: []string{"name", "House stop bath", "class", "stop bath", "aim", "1+19", "carries_rc", "80 per gallon",
			"full", "6 months", "open_tray_hours", "24 h", "who", "Ada"}, kept: "product noted", has: []string{`"name":"House stop bath"`, `"value":80`, `"value":6`}},
		{form: "enter: POST /shelf/enter/assumptions-stated", at: "/shelf/enter/assumptions-stated", fill: []string{"coating_low_g_m2", "1", "coating_high_g_m2", "1.5", "dissolved_low", "50", "dissolved_high", "90 %",
			"carry_over_ml_m2", "60", "evaporation_ml", "50 mL", "lead_days", "10", "source", "measured here", "who", "Ada"}, kept: "assumptions stated", has: []string{`"dissolved_high":0.9`, `"lead_days":10`}},
		{form: "enter: POST /shelf/enter/work-booked", at: "/shelf/enter/work-booked", fill: []string{"title", "Thursday class", "begins", "2026-10-15T18:00", "students", "10", "sheets_each", "4", "sheet_m2", "8x10in",
			"material", "resin-coated paper", "who", "Ada"}, kept: "work booked", has: []string{`"students":10`, `"title":"Thursday class"`}},
		{form: "enter: POST /shelf/enter/session-opened", at: "/shelf/enter/session-opened", fill: []string{"title", "Invented afternoon", "people", "Cleo, Dan", "who", "Ada"},
			kept: "session opened", has: []string{`"title":"Invented afternoon"`, `"people":["Cleo","Dan"]`}},
		{form: "enter: POST /shelf/enter/session-closed", at: "/shelf/enter/session-closed", fill: []string{"session", "Invented afternoon", "who", "Ada"}, kept: "session closed"},
	}
}
