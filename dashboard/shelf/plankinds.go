package shelf

import (
	"wetside/chem/ledger"
)

// planKinds are what is written down ahead of the work, or about it: bookings,
// bottles, assumptions, prints that were found right.
func planKinds() []kind {
	return []kind{
		{act: ledger.WorkBooked{}, word: "Book a class",
			lead: "A class, or one person's evening: what will be printed. The Baths page then says whether the baths last.", fields: []field{
				{name: "title", kind: textField, word: "Kind of work", needed: true},
				{name: "begins", kind: momentField, word: "Starts", needed: true},
				{name: "students", kind: wholeField, word: "People who print", needed: true},
				{name: "sheets_each", kind: wholeField, word: "Sheets each", hint: "0 cancels the booking", needed: true},
				{name: "sheet_m2", kind: sizeField, word: "Size", needed: true, from: fromSizes},
				{name: "material", kind: pickField, word: "Material", needed: true, from: fromMaterial},
				{name: "booking", kind: hiddenField, word: "Booking"},
			}},
		productKind(),
		{act: ledger.AssumptionsStated{}, word: "Set the estimates",
			lead: "The take-down estimates rest on these. None is a constant: enter what you know of your own paper and room.", fields: []field{
				{name: "coating_low_g_m2", kind: numberField, word: "Silver on the material, lowest, g/m²", needed: true},
				{name: "coating_high_g_m2", kind: numberField, word: "Highest, g/m²", needed: true},
				{name: "dissolved_low", kind: percentField, word: "Share the fixer dissolves, lowest, in %", needed: true},
				{name: "dissolved_high", kind: percentField, word: "Highest, in %", needed: true},
				{name: "carry_over_ml_m2", kind: numberField, word: "Carry-over, mL per m²",
					hint: "20 mL per 8x10 sheet or roll is 388 mL per m² [silvergrain.com, replenishing system; secondary]", needed: true},
				{name: "evaporation_ml", kind: volumeField, word: "Evaporation of each bath in a session", needed: true},
				{name: "lead_days", kind: numberField, word: "Days from order to delivery", needed: true},
				{name: "source", kind: textField, word: "Source of the figures", needed: true},
			}},
		{act: ledger.PrintTimed{}, word: "A print came out right",
			lead: "Three of these give a personal factor: total time divided by the time to the first tone.", fields: []field{
				{name: "container", kind: choiceField, word: "Vessel or bottle", needed: true, from: fromHeld},
				{name: "emergence_s", kind: secondsField, word: "First tone after, in seconds or as 0:45", needed: true},
				{name: "seconds", kind: secondsField, word: "Total time in the developer", needed: true},
				{name: "person", kind: textField, word: "Judged by", hint: "left empty: you"},
			}},
		{act: ledger.ClosingListWritten{}, word: "Write the closing list",
			lead: "What must be done once the trays are filled, and before somebody leaves the room. Each list is signed in one press.",
			fields: []field{
				{name: "list", kind: hiddenField, word: "Closing list", needed: true},
				{name: "lines", kind: linesField, word: "The list, one thing a line", hint: "empty brings the usual list back"},
			}},
		{act: ledger.ClosingListSigned{}, word: "Sign the closing list", fields: []field{
			{name: "list", kind: hiddenField, word: "Closing list", needed: true},
			{name: "lines", kind: linesField, word: "The list, one thing a line"},
		}},
	}
}

func productKind() kind {
	life, carries := "such as 24 hours, 7 days or 6 months", "8x10 sheets or rolls, such as 20 per litre or 80 per gallon"
	return kind{act: ledger.ProductNoted{}, word: "Add a product",
		lead: "Copy what is on your own bottle. Leave empty what the bottle does not say: that figure is then unknown, and the advice is " +
			"to test first.", fields: []field{
			{name: "name", kind: textField, word: "Name, as on the bottle", needed: true},
			{name: "class", kind: choiceField, word: "Kind of chemical", needed: true, from: fromClasses},
			{name: "aim", kind: partsField, word: "Parts", hint: "parts of concentrate + parts of water, such as 1+9"},
			{name: "carries_rc", kind: amountField, word: "Capacity, resin-coated paper", hint: carries},
			{name: "carries_fb", kind: amountField, word: "Capacity, fibre paper", hint: carries},
			{name: "carries_film", kind: amountField, word: "Capacity, film", hint: carries},
			{name: "opened_life", kind: amountField, word: "Opened concentrate keeps", hint: life},
			{name: "full", kind: amountField, word: "Working solution keeps, full bottle", hint: life},
			{name: "part_full", kind: amountField, word: "Part-full bottle", hint: life},
			{name: "floating_lid", kind: amountField, word: "Under a floating lid", hint: life},
			{name: "open_tray", kind: amountField, word: "In an open tray, by the calendar", hint: life},
			{name: "open_tray_hours", kind: amountField, word: "Hours in an open tray, in all", hint: life},
			{name: "use", kind: textField, word: "What the figures are for", hint: "such as paper, single bath; left empty: as on the label"},
			{name: "source", kind: textField, word: "Source of the figures",
				hint: "left empty: label of the bottle; enter figures from another source separately"},
			{name: "standing", kind: pickField, word: "How reliable they are (from the label: verified)", from: fromStandings},
			{name: "product", kind: hiddenField, word: "Product"},
		}}
}
