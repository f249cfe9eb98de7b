package shelf

import (
	"wetside/chem/ledger"
)

// fieldKind says how a field is typed in and read.
type fieldKind string

// The kinds of field. The template draws each in its own way.
const (
	textField        fieldKind = "text"
	hiddenField      fieldKind = "hidden"
	volumeField      fieldKind = "volume"
	temperatureField fieldKind = "temperature"
	wholeField       fieldKind = "whole"
	secondsField     fieldKind = "seconds"
	yesField         fieldKind = "yes"
	choiceField      fieldKind = "choice"
	pickField        fieldKind = "pick" // one of a few, as buttons to choose
	namesField       fieldKind = "names"
	manyField        fieldKind = "many" // any number of a few
	partsField       fieldKind = "parts"
	dateField        fieldKind = "date"
	silverField      fieldKind = "silver"
	sizeField        fieldKind = "size"
	numberField      fieldKind = "number"
	percentField     fieldKind = "percent"
	amountField      fieldKind = "amount" // a life, or what a litre carries
	momentField      fieldKind = "moment"
	linesField       fieldKind = "lines" // a list, one thing a line
)

// field is one thing to be typed for an act. Its name is that of the act's own JSON.
type field struct {
	name   string
	kind   fieldKind
	word   string // its label
	hint   string
	needed bool
	from   source
}

// source names where the choices of a field come from.
type source string

// The sources of choices.
const (
	fromHeld     source = "held"    // containers with something in them, waste apart
	fromVessels  source = "vessels" // everything that may be poured into, waste apart
	fromTrays    source = "trays"   // the trays of the rooms and of the book
	fromWaste    source = "waste"   // waste containers
	fromAll      source = "all"     // everything with something in it
	fromMethods  source = "silver methods"
	fromProducts source = "products" // of the catalogue
	fromLots     source = "lots"     // with a bottle or packet that is still closed
	fromPackets  source = "packets"  // of powder
	fromClasses  source = "classes"
	fromMeant    source = "meant"
	fromKinds    source = "vessel kinds"
	fromStreams  source = "streams"
	fromPitchers source = "pitchers"
	fromSeen     source = "seen" // by the test that is chosen
	fromMaterial source = "materials"
	fromSizes    source = "sizes"
	fromOpen     source = "open sessions"

	fromStandings source = "standings"
)

// kind is an act that can be entered on the shelf.
type kind struct {
	act    ledger.Act // of the kind, empty
	word   string     // its name
	lead   string
	fields []field
}

// shelfKinds are all acts that a form can enter, in the order in which the shelf lists them.
func shelfKinds() []kind {
	var all []kind
	for _, w := range works() {
		all = append(all, w.kinds...)
	}
	return all
}

// work is one sort of work on the shelf, with its acts.
type work struct {
	title string
	kinds []kind
}

func works() []work {
	return []work{{"Mix and take in", supplyKinds()}, {"Pour, return, discard", moveKinds()}, {"Class and tests", sessionKinds()},
		{"Waste", wasteKinds()}, {"Plans and lists", planKinds()}}
}

func supplyKinds() []kind {
	product := field{name: "product", kind: choiceField, word: "Product", from: fromProducts}
	class := field{name: "class", kind: choiceField, word: "Kind of chemical", hint: "only when the product is not in the list",
		from: fromClasses}
	return []kind{
		mixKind(product, class),
		{act: ledger.LotReceived{}, word: "Record a delivery", fields: []field{
			product, class,
			{name: "units", kind: wholeField, word: "How many bottles or packets", needed: true},
			{name: "unit_ml", kind: volumeField, word: "Volume of one", hint: "per bottle, or per packet made up, with unit", needed: true},
			{name: "powder", kind: yesField, word: "This product is a powder"},
			{name: "code", kind: textField, word: "Code on the pack", hint: "the maker's own"},
			{name: "expiry", kind: dateField, word: "Date on the pack"},
			{name: "lot", kind: textField, word: "Lot", hint: "name of this delivery; left empty, one is generated"},
			{name: "owner", kind: textField, word: "Owner", hint: `leave empty for the house, or "private: name"`},
		}},
		{act: ledger.LotOpened{}, word: "Open a bottle", fields: []field{
			{name: "lot", kind: choiceField, word: "Closed bottle or packet", needed: true, from: fromLots},
			{name: "container", kind: textField, word: "Name of the opened bottle",
				hint: "write the name on the bottle; it stays when the bottle is refilled", needed: true},
		}},
		{act: ledger.ContainerNamed{}, word: "Add a vessel", fields: []field{
			{name: "container", kind: textField, word: "Name of the vessel", needed: true},
			{name: "vessel", kind: pickField, word: "Vessel", needed: true, from: fromKinds},
			{name: "capacity_ml", kind: volumeField, word: "Capacity", needed: true},
			{name: "floating_lid", kind: yesField, word: "Has a floating lid"},
			{name: "kept_for", kind: choiceField, word: "Kept for", from: fromClasses},
			{name: "stream", kind: choiceField, word: "Waste stream", from: fromStreams},
			{name: "bath", kind: hiddenField, word: "Bath"},
		}},
		{act: ledger.BathFound{}, word: "A bath of unknown origin is in a tray",
			lead: "For a bath that somebody mixed without recording what it was mixed from. Unless it was mixed just now, its age counts as " +
				"unknown and the bath is to be tested first.", fields: []field{
				{name: "container", kind: choiceField, word: "Tray", needed: true, from: fromTrays},
				class,
				{name: "name", kind: textField, word: "Name", hint: "such as: paper developer, working strength"},
				{name: "aim", kind: partsField, word: "Parts", hint: "parts of concentrate + parts of water, such as 1+9"},
				{name: "volume_ml", kind: volumeField, word: "How much is in the tray", needed: true},
				{name: "fresh", kind: yesField, word: "Mixed fresh just now"},
				{name: "batch", kind: textField, word: "Batch label", hint: "left empty, one is generated"},
			}},
		{act: ledger.BottleFound{}, word: "Found an unlabelled bottle",
			lead: "This happens in every darkroom. Until somebody knows the contents, the bottle counts as silver-bearing.", fields: []field{
				{name: "container", kind: textField, word: "Name for the bottle", hint: "write the name on the bottle now", needed: true},
				{name: "where", kind: textField, word: "Where you found it", needed: true},
				{name: "volume_ml", kind: volumeField, word: "How much is in the bottle", needed: true},
				{name: "capacity_ml", kind: volumeField, word: "Capacity", needed: true},
				{name: "looks", kind: textField, word: "Appearance", hint: "colour, writing on it; do not smell it"},
			}},
	}
}

// mixKind is a batch that was mixed: what went into it, in the order in which it is poured.
func mixKind(product, class field) kind {
	const lead = "Water first, then concentrate. Write what was really poured."
	return kind{act: ledger.BatchMixed{}, word: "Mix a batch", lead: lead, fields: []field{
		product, class,
		{name: "meant", kind: pickField, word: "Starting from", needed: true, from: fromMeant},
		{name: "from", kind: choiceField, word: "From", hint: "the bottle of concentrate or stock", from: fromHeld},
		{name: "lot", kind: choiceField, word: "Packet of powder", from: fromPackets},
		{name: "aim", kind: partsField, word: "Parts", hint: "parts of concentrate + parts of water, such as 1+9"},
		{name: "water_ml", kind: volumeField, word: "Water poured"},
		{name: "parent_ml", kind: volumeField, word: "Concentrate or stock poured"},
		{name: "division_ml", kind: volumeField, word: "Smallest mark on the graduate",
			hint: "such as 5 mL; left empty, the strength is given without a ±"},
		{name: "total_ml", kind: volumeField, word: "Total, if you measured it", hint: "leave empty if this is only the sum"},
		{name: "into", kind: choiceField, word: "Into", needed: true, from: fromVessels},
		{name: "with", kind: choiceField, word: "Pitcher", hint: "the one that is kept for this chemical", from: fromPitchers},
		{name: "water_c", kind: temperatureField, word: "Temperature of the water"},
		{name: "mix_c", kind: temperatureField, word: "Temperature of the mix"},
		{name: "name", kind: textField, word: "Name", hint: "left empty: the name of the product"},
		{name: "batch", kind: textField, word: "Batch label", hint: "left empty, one is generated"},
		{name: "owner", kind: textField, word: "Owner", hint: `leave empty for the house, or "private: name"`},
		{name: "confirmed", kind: yesField, word: "This differs from the mixing instructions, and it is what was poured"},
	}}
}

func moveKinds() []kind {
	from := field{name: "from", kind: choiceField, word: "From", needed: true, from: fromHeld}
	volume := field{name: "volume_ml", kind: volumeField, word: "Volume", needed: true}
	emptied := field{name: "emptied", kind: yesField, word: "The vessel is empty now"}
	container := field{name: "container", kind: choiceField, word: "Vessel or bottle", needed: true, from: fromHeld}
	into := func(f field) field {
		f.name, f.kind, f.needed, f.from = "to", choiceField, true, fromVessels
		return f
	}
	return []kind{
		{act: ledger.PortionPoured{}, word: "Pour into a tray", fields: []field{from, into(field{word: "Into"}), volume}},
		{act: ledger.ToppedUp{}, word: "Top up", lead: "A top-up changes strength, temperature and age at once: write what was added.",
			fields: []field{
				container,
				{name: "water_ml", kind: volumeField, word: "Water added"},
				{name: "water_c", kind: temperatureField, word: "Temperature of the water"},
				{name: "from", kind: choiceField, word: "Added from", from: fromHeld},
				{name: "volume_ml", kind: volumeField, word: "Amount added"},
			}},
		{act: ledger.Returned{}, word: "Return to storage", fields: []field{from, into(field{word: "Back into"}), volume, emptied}},
		{act: ledger.Discarded{}, word: "Discard",
			lead: "Local rules come first. Keep silver-bearing waste apart: in the United States the federal limit is 5.0 mg/L of silver.",
			fields: []field{
				container, volume, emptied,
				{name: "to", kind: choiceField, word: "Waste container", from: fromWaste},
				{name: "route", kind: textField, word: "Or where else", hint: "in a few words, as your local rules allow"},
				{name: "reason", kind: textField, word: "Why", needed: true},
			}},
		{act: ledger.Merged{}, word: "Combine two", fields: []field{from,
			{name: "into", kind: choiceField, word: "Together with", needed: true, from: fromHeld}}},
		{act: ledger.Promoted{}, word: "Move second fixer up to first",
			lead:   "Discard the first bath, move the second up, make a fresh second. The history moves with the liquid.",
			fields: []field{from, into(field{word: "Tray of the first bath"})}},
	}
}

func sessionKinds() []kind {
	trays := field{name: "containers", kind: manyField, word: "Trays", needed: true, from: fromTrays}
	return []kind{
		{act: ledger.TestDone{}, word: "Record a test", fields: []field{
			{name: "test", kind: hiddenField, word: "Test", needed: true},
			{name: "container", kind: choiceField, word: "Vessel or bottle", from: fromHeld},
			{name: "seen", kind: pickField, word: "What was seen", from: fromSeen},
			{name: "seconds", kind: secondsField, word: "Time, in seconds or as 0:45"},
			{name: "bath_c", kind: temperatureField, word: "Temperature of the developer"},
			{name: "film", kind: textField, word: "Film"},
			{name: "baseline", kind: yesField, word: "Measured on the fresh bath"},
			{name: "white_light", kind: yesField, word: "Judged in white light"},
		}},
		{act: ledger.SheetsUsed{}, word: "Record sheets used", fields: []field{trays,
			{name: "count", kind: wholeField, word: "How many", needed: true},
			{name: "sheet_m2", kind: sizeField, word: "Size", needed: true, from: fromSizes},
			{name: "material", kind: pickField, word: "Material", needed: true, from: fromMaterial},
			{name: "people", kind: namesField, word: "Who", hint: "names, separated by commas"},
		}},
		{act: ledger.TraysCovered{}, word: "Trays covered", fields: []field{trays}},
		{act: ledger.TraysUncovered{}, word: "Trays uncovered", fields: []field{trays}},
		{act: ledger.SessionOpened{}, word: "Start a session", fields: []field{
			{name: "title", kind: textField, word: "Name of the session", needed: true},
			{name: "lead", kind: textField, word: "Led by", hint: "left empty: you"},
			{name: "people", kind: namesField, word: "Who", hint: "names, separated by commas"},
			{name: "session", kind: hiddenField, word: "Session"},
		}},
		{act: ledger.SessionClosed{}, word: "End a session", fields: []field{
			{name: "session", kind: choiceField, word: "Session", needed: true, from: fromOpen}}},
	}
}

func wasteKinds() []kind {
	return []kind{
		{act: ledger.WasteAdded{}, word: "Add to the waste", fields: []field{
			{name: "container", kind: choiceField, word: "Waste container", needed: true, from: fromWaste},
			{name: "volume_ml", kind: volumeField, word: "Volume", needed: true},
			{name: "what", kind: textField, word: "Contents", needed: true},
		}},
		{act: ledger.WasteCollected{}, word: "Waste was collected", fields: []field{
			{name: "container", kind: choiceField, word: "Waste container", needed: true, from: fromWaste},
			{name: "collector", kind: textField, word: "Collected by", needed: true},
			{name: "reference", kind: textField, word: "Document number"},
		}},
		{act: ledger.SilverMeasured{}, word: "Enter a silver result",
			lead: "From a laboratory or a test strip. The federal limit in the United States is 5.0 mg/L [40 CFR 261.24]; local rules come first.",
			fields: []field{
				{name: "container", kind: choiceField, word: "Container", hint: "leave empty if the sample is from something else", from: fromAll},
				{name: "sample", kind: textField, word: "Other sample", hint: "such as the outflow of the recovery unit"},
				{name: "silver", kind: silverField, word: "Silver", hint: "as on the report or strip: 4.9, <0.5, 2-4 g/L, >6 g/L; without a unit: mg/L",
					needed: true},
				{name: "method", kind: pickField, word: "Method", needed: true, from: fromMethods},
				{name: "sampled", kind: dateField, word: "Sample taken on", needed: true},
				{name: "reference", kind: textField, word: "Report or strip", hint: "number of the report, or which strip"},
			}},
	}
}
