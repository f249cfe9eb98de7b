package shelf

import (
	"slices"

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

// said is a text by its key.
type said struct{ word string }

// field is one thing to be typed for an act. Its name is that of the act's own JSON.
type field struct {
	name   string
	kind   fieldKind
	word   string // the key of its label
	hint   said
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
	word   string     // the key of its name
	lead   said
	fields []field
}

// shelfKinds are all acts that a form can enter, in the order in which the shelf lists them.
func shelfKinds() []kind {
	return slices.Concat(supplyKinds(), moveKinds(), sessionKinds(), planKinds())
}

func supplyKinds() []kind {
	product := field{name: "product", kind: choiceField, word: "shelf.product", from: fromProducts}
	class := field{name: "class", kind: choiceField, word: "shelf.class", hint: said{word: "shelf.class-hint"}, from: fromClasses}
	return []kind{
		{act: ledger.BatchMixed{}, word: "enter.mix", lead: said{word: "enter.mix-lead"}, fields: []field{
			product, class,
			{name: "meant", kind: pickField, word: "shelf.meant", needed: true, from: fromMeant},
			{name: "from", kind: choiceField, word: "shelf.from", hint: said{word: "shelf.mix-from-hint"}, from: fromHeld},
			{name: "lot", kind: choiceField, word: "shelf.packet", from: fromPackets},
			{name: "aim", kind: partsField, word: "shelf.parts", hint: said{word: "shelf.parts-hint"}},
			{name: "parent_ml", kind: volumeField, word: "shelf.parent-poured"},
			{name: "water_ml", kind: volumeField, word: "shelf.water-poured"},
			{name: "total_ml", kind: volumeField, word: "shelf.total-measured", hint: said{word: "shelf.total-measured-hint"}},
			{name: "into", kind: choiceField, word: "shelf.into", needed: true, from: fromVessels},
			{name: "with", kind: choiceField, word: "shelf.pitcher", hint: said{word: "shelf.pitcher-hint"}, from: fromPitchers},
			{name: "water_c", kind: temperatureField, word: "shelf.water-temperature"},
			{name: "mix_c", kind: temperatureField, word: "shelf.mix-temperature"},
			{name: "name", kind: textField, word: "shelf.called", hint: said{word: "shelf.called-hint"}},
			{name: "batch", kind: textField, word: "shelf.batch", hint: said{word: "shelf.batch-hint"}},
			{name: "owner", kind: textField, word: "shelf.owner", hint: said{word: "shelf.owner-hint"}},
			{name: "confirmed", kind: yesField, word: "shelf.confirmed"},
		}},
		{act: ledger.LotReceived{}, word: "enter.receive", fields: []field{
			product, class,
			{name: "units", kind: wholeField, word: "shelf.units", needed: true},
			{name: "unit_ml", kind: volumeField, word: "shelf.unit-volume", hint: said{word: "shelf.unit-hint"}, needed: true},
			{name: "powder", kind: yesField, word: "shelf.powder"},
			{name: "code", kind: textField, word: "shelf.code"},
			{name: "expiry", kind: dateField, word: "shelf.expiry"},
			{name: "lot", kind: textField, word: "shelf.lot", hint: said{word: "shelf.batch-hint"}},
			{name: "owner", kind: textField, word: "shelf.owner", hint: said{word: "shelf.owner-hint"}},
		}},
		{act: ledger.LotOpened{}, word: "enter.open", fields: []field{
			{name: "lot", kind: choiceField, word: "shelf.lot", needed: true, from: fromLots},
			{name: "container", kind: textField, word: "shelf.bottle-name", hint: said{word: "shelf.bottle-hint"}, needed: true},
		}},
		{act: ledger.ContainerNamed{}, word: "enter.name", fields: []field{
			{name: "container", kind: textField, word: "shelf.container-name", needed: true},
			{name: "vessel", kind: pickField, word: "shelf.vessel", needed: true, from: fromKinds},
			{name: "capacity_ml", kind: volumeField, word: "shelf.capacity", needed: true},
			{name: "floating_lid", kind: yesField, word: "shelf.floating-lid"},
			{name: "kept_for", kind: choiceField, word: "shelf.kept-for", from: fromClasses},
			{name: "stream", kind: choiceField, word: "shelf.stream", from: fromStreams},
			{name: "bath", kind: hiddenField, word: "shelf.bath"},
		}},
		{act: ledger.BathFound{}, word: "enter.bath-found", lead: said{word: "enter.bath-found-lead"}, fields: []field{
			{name: "container", kind: choiceField, word: "shelf.tray", needed: true, from: fromTrays},
			class,
			{name: "name", kind: textField, word: "shelf.called", hint: said{word: "hint.what"}},
			{name: "aim", kind: partsField, word: "shelf.parts", hint: said{word: "shelf.parts-hint"}},
			{name: "volume_ml", kind: volumeField, word: "shelf.found-volume", needed: true},
			{name: "fresh", kind: yesField, word: "shelf.fresh"},
			{name: "batch", kind: textField, word: "shelf.batch", hint: said{word: "shelf.batch-hint"}},
		}},
		{act: ledger.BottleFound{}, word: "enter.found", lead: said{word: "enter.found-lead"}, fields: []field{
			{name: "container", kind: textField, word: "shelf.found-name", hint: said{word: "shelf.found-hint"}, needed: true},
			{name: "where", kind: textField, word: "shelf.where", needed: true},
			{name: "volume_ml", kind: volumeField, word: "shelf.found-volume", needed: true},
			{name: "capacity_ml", kind: volumeField, word: "shelf.capacity", needed: true},
			{name: "looks", kind: textField, word: "shelf.looks", hint: said{word: "shelf.looks-hint"}},
		}},
	}
}

func moveKinds() []kind {
	from := field{name: "from", kind: choiceField, word: "shelf.from", needed: true, from: fromHeld}
	volume := field{name: "volume_ml", kind: volumeField, word: "shelf.volume", needed: true}
	emptied := field{name: "emptied", kind: yesField, word: "shelf.emptied"}
	container := field{name: "container", kind: choiceField, word: "shelf.container", needed: true, from: fromHeld}
	into := func(f field) field {
		f.name, f.kind, f.needed, f.from = "to", choiceField, true, fromVessels
		return f
	}
	return []kind{
		{act: ledger.PortionPoured{}, word: "enter.pour", fields: []field{from, into(field{word: "shelf.into"}), volume}},
		{act: ledger.ToppedUp{}, word: "enter.top-up", lead: said{word: "enter.top-up-lead"}, fields: []field{
			container,
			{name: "from", kind: choiceField, word: "shelf.top-up-from", from: fromHeld},
			{name: "volume_ml", kind: volumeField, word: "shelf.top-up-volume"},
			{name: "water_ml", kind: volumeField, word: "shelf.water-added"},
			{name: "water_c", kind: temperatureField, word: "shelf.water-temperature"},
		}},
		{act: ledger.Returned{}, word: "enter.return", fields: []field{from, into(field{word: "shelf.back-to"}), volume, emptied}},
		{act: ledger.Discarded{}, word: "enter.discard", lead: said{word: "enter.discard-lead"}, fields: []field{
			container, volume, emptied,
			{name: "to", kind: choiceField, word: "shelf.waste", from: fromWaste},
			{name: "route", kind: textField, word: "shelf.route", hint: said{word: "shelf.route-hint"}},
			{name: "reason", kind: textField, word: "shelf.why-discarded", needed: true},
		}},
		{act: ledger.Merged{}, word: "enter.merge", fields: []field{from,
			{name: "into", kind: choiceField, word: "shelf.together-with", needed: true, from: fromHeld}}},
		{act: ledger.Promoted{}, word: "enter.promote", lead: said{word: "enter.promote-lead"},
			fields: []field{from, into(field{word: "shelf.first-place"})}},
	}
}

func sessionKinds() []kind {
	trays := field{name: "containers", kind: manyField, word: "shelf.trays", needed: true, from: fromTrays}
	return []kind{
		{act: ledger.TestDone{}, word: "enter.test", fields: []field{
			{name: "test", kind: hiddenField, word: "shelf.test", needed: true},
			{name: "container", kind: choiceField, word: "shelf.container", from: fromHeld},
			{name: "seen", kind: pickField, word: "shelf.seen", from: fromSeen},
			{name: "seconds", kind: secondsField, word: "shelf.seconds"},
			{name: "bath_c", kind: temperatureField, word: "shelf.bath-temperature"},
			{name: "film", kind: textField, word: "shelf.film"},
			{name: "baseline", kind: yesField, word: "shelf.baseline"},
			{name: "white_light", kind: yesField, word: "shelf.white-light"},
		}},
		{act: ledger.SheetsUsed{}, word: "enter.sheets", fields: []field{trays,
			{name: "count", kind: wholeField, word: "shelf.count", needed: true},
			{name: "sheet_m2", kind: sizeField, word: "shelf.size", needed: true, from: fromSizes},
			{name: "material", kind: pickField, word: "shelf.material", needed: true, from: fromMaterial},
			{name: "people", kind: namesField, word: "shelf.people", hint: said{word: "shelf.names-hint"}},
		}},
		{act: ledger.TraysCovered{}, word: "enter.cover", fields: []field{trays}},
		{act: ledger.TraysUncovered{}, word: "enter.uncover", fields: []field{trays}},
		{act: ledger.SessionOpened{}, word: "enter.session", fields: []field{
			{name: "title", kind: textField, word: "shelf.title", needed: true},
			{name: "lead", kind: textField, word: "shelf.lead", hint: said{word: "shelf.lead-hint"}},
			{name: "people", kind: namesField, word: "shelf.people", hint: said{word: "shelf.names-hint"}},
			{name: "session", kind: hiddenField, word: "shelf.session"},
		}},
		{act: ledger.SessionClosed{}, word: "enter.end-session", fields: []field{
			{name: "session", kind: choiceField, word: "shelf.session", needed: true, from: fromOpen}}},
		{act: ledger.WasteAdded{}, word: "enter.waste", fields: []field{
			{name: "container", kind: choiceField, word: "shelf.waste", needed: true, from: fromWaste},
			{name: "volume_ml", kind: volumeField, word: "shelf.volume", needed: true},
			{name: "what", kind: textField, word: "shelf.what-waste", needed: true},
		}},
		{act: ledger.WasteCollected{}, word: "enter.collected", fields: []field{
			{name: "container", kind: choiceField, word: "shelf.waste", needed: true, from: fromWaste},
			{name: "collector", kind: textField, word: "shelf.collector", needed: true},
			{name: "reference", kind: textField, word: "shelf.reference"},
		}},
		{act: ledger.SilverMeasured{}, word: "enter.silver", lead: said{word: "enter.silver-lead"}, fields: []field{
			{name: "container", kind: choiceField, word: "shelf.silver-of", hint: said{word: "shelf.silver-of-hint"}, from: fromAll},
			{name: "sample", kind: textField, word: "shelf.silver-sample", hint: said{word: "shelf.silver-sample-hint"}},
			{name: "silver", kind: silverField, word: "shelf.silver-figure", hint: said{word: "shelf.silver-figure-hint"}, needed: true},
			{name: "method", kind: pickField, word: "shelf.silver-method", needed: true, from: fromMethods},
			{name: "sampled", kind: dateField, word: "shelf.sampled", needed: true},
			{name: "reference", kind: textField, word: "shelf.silver-reference", hint: said{word: "shelf.silver-reference-hint"}},
		}},
	}
}
