package shelf

import (
	"wetside/chem/ledger"
)

// planKinds are what is written down ahead of the work, or about it: bookings,
// bottles, assumptions, prints that were found right.
func planKinds() []kind {
	life, carries := said{word: "shelf.life-hint"}, said{word: "shelf.carries-hint"}
	return []kind{
		{act: ledger.WorkBooked{}, word: "enter.book", lead: said{word: "enter.book-lead"}, fields: []field{
			{name: "title", kind: textField, word: "shelf.work", needed: true},
			{name: "begins", kind: momentField, word: "shelf.begins", needed: true},
			{name: "students", kind: wholeField, word: "mix.students", needed: true},
			{name: "sheets_each", kind: wholeField, word: "mix.sheets", hint: said{word: "shelf.sheets-each-hint"}, needed: true},
			{name: "sheet_m2", kind: sizeField, word: "shelf.size", needed: true, from: fromSizes},
			{name: "material", kind: pickField, word: "shelf.material", needed: true, from: fromMaterial},
			{name: "booking", kind: hiddenField, word: "shelf.booking"},
		}},
		{act: ledger.ProductNoted{}, word: "enter.product", lead: said{word: "enter.product-lead"}, fields: []field{
			{name: "name", kind: textField, word: "shelf.product-name", needed: true},
			{name: "class", kind: choiceField, word: "shelf.class", needed: true, from: fromClasses},
			{name: "aim", kind: partsField, word: "shelf.parts", hint: said{word: "shelf.parts-hint"}},
			{name: "carries_rc", kind: amountField, word: "shelf.carries-rc", hint: carries},
			{name: "carries_fb", kind: amountField, word: "shelf.carries-fb", hint: carries},
			{name: "carries_film", kind: amountField, word: "shelf.carries-film", hint: carries},
			{name: "opened_life", kind: amountField, word: "shelf.life-opened", hint: life},
			{name: "full", kind: amountField, word: "shelf.life-full", hint: life},
			{name: "part_full", kind: amountField, word: "shelf.life-part", hint: life},
			{name: "floating_lid", kind: amountField, word: "shelf.life-floating", hint: life},
			{name: "open_tray", kind: amountField, word: "shelf.life-tray", hint: life},
			{name: "open_tray_hours", kind: amountField, word: "shelf.life-hours", hint: life},
			{name: "use", kind: textField, word: "shelf.use", hint: said{word: "shelf.use-hint"}},
			{name: "source", kind: textField, word: "shelf.figures-from", hint: said{word: "shelf.figures-from-hint"}},
			{name: "standing", kind: pickField, word: "shelf.standing", from: fromStandings},
			{name: "product", kind: hiddenField, word: "shelf.product"},
		}},
		{act: ledger.AssumptionsStated{}, word: "enter.assume", lead: said{word: "enter.assume-lead"}, fields: []field{
			{name: "coating_low_g_m2", kind: numberField, word: "shelf.coating-low", needed: true},
			{name: "coating_high_g_m2", kind: numberField, word: "shelf.coating-high", needed: true},
			{name: "dissolved_low", kind: percentField, word: "shelf.dissolved-low", needed: true},
			{name: "dissolved_high", kind: percentField, word: "shelf.dissolved-high", needed: true},
			{name: "carry_over_ml_m2", kind: numberField, word: "shelf.carry-over", hint: said{word: "shelf.carry-over-hint"}, needed: true},
			{name: "evaporation_ml", kind: volumeField, word: "shelf.evaporation", needed: true},
			{name: "lead_days", kind: numberField, word: "shelf.lead-days", needed: true},
			{name: "source", kind: textField, word: "shelf.figures-from", needed: true},
		}},
		{act: ledger.ClosingListWritten{}, word: "enter.closing", lead: said{word: "enter.closing-lead"}, fields: []field{
			{name: "lines", kind: linesField, word: "shelf.closing-lines", hint: said{word: "shelf.closing-hint"}},
		}},
		{act: ledger.PrintTimed{}, word: "enter.right-print", lead: said{word: "enter.right-print-lead"}, fields: []field{
			{name: "container", kind: choiceField, word: "shelf.container", needed: true, from: fromHeld},
			{name: "emergence_s", kind: secondsField, word: "shelf.first-tone", needed: true},
			{name: "seconds", kind: secondsField, word: "shelf.whole-time", needed: true},
			{name: "person", kind: textField, word: "shelf.who-judged", hint: said{word: "shelf.lead-hint"}},
		}},
	}
}
