package daemon_test

// mixSendings work out what the mixing table answers. The figures are checked where they are
// computed; here each form is sent and answered.
func mixSendings() []sending {
	ask := func(do, says string, fill ...string) sending {
		return sending{form: "mix: GET /mix do=" + do, at: "/mix", fill: fill, says: says}
	}
	return []sending{
		ask("plan", "1703", "parts", "1+9", "make", "64floz"),
		ask("water", "500", "make", "2L", "hot", "50", "cold", "10", "target", "20"),
		ask("check", "9.09 %", "parts", "1+9", "poured", "100", "water", "1000"),
		ask("percent", "54", "stock", "28", "wanted", "1.5 %", "make", "1 L"),
		ask("session", "5785", "product", "rapid-fixer", "material", "fibre-based paper", "students", "10", "sheets", "8", "size", "8x10in",
			"tray", "2 L"),
		ask("time", "7:00", "points", "20C=7:45, 21C=7:00, 22C=6:30", "bath", "21 C"),
		ask("factor", "5:00", "emergence", "30", "factor", "10"),
		ask("window", "2:20", "black", "2:20", "developed", "3:00"),
		ask("jacket", "320", "make", "2L", "bath", "16", "target", "20", "hot", "45"),
		ask("reuse", "11:00", "first", "10:00", "added", "10 %", "every", "1", "most", "10", "nth", "2", "source", "from memory"),
		ask("replenish", "140", "rate", "70 mL", "rolls", "2", "source", "from memory", "tank", "1 gal", "days", "2", "share", "3"),
		ask("machine", "Kodak D-32", "path", "84 ft", "dwell", "70s", "rate", "2 mL", "each", "1 ft", "source", "Kodak D-32"),
		ask("silver", " g", "count", "40", "size", "8x10in", "make", "2 L", "coating", "1.615", "dissolved", "70 %"),
		ask("two-bath", "first bath", "count", "10", "size", "8x10in", "make", "1 L"),
		ask("residue", "0.01", "residue", "0.010", "days", "1"),
	}
}
