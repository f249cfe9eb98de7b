package ledger

import "wetside/sensors/quantity/phrase"

// Guide is how to do a test and what its result means.
type Guide struct {
	Due      phrase.Sentence   // when to do it
	Steps    []phrase.Sentence // in order
	Cautions []phrase.Sentence
	Rule     phrase.Sentence // the verdict rule
	Source   phrase.Sentence // of the rule
	Standing Standing
	OnFail   phrase.Sentence
}

// GuideTo gives the guide of a test; an unknown kind gives a guide without steps.
func GuideTo(kind TestKind) Guide {
	if guide, known := guides[kind]; known {
		return guide
	}
	return Guide{Standing: Unverified}
}

func wearGloves() phrase.Sentence {
	return phrase.Say("Wear gloves and goggles; read the safety data sheet of each chemical first.")
}

func sheetRules() phrase.Sentence {
	return phrase.Say("The safety data sheet and the rules of your place come first.")
}

var guides = map[TestKind]Guide{
	IodideTest: {
		Due: phrase.Say("Before the fixer is poured, after about half of its capacity, and before it goes back into storage."),
		Steps: []phrase.Sentence{phrase.Say("Dissolve 5 g of potassium iodide in 100 mL of water: a 5 %% solution. Keep it in a closed " +
			"brown bottle."), phrase.Say("Measure exactly 100 mL of the bath into a clean glass."),
			phrase.Say("Add 10 mL of the 4 to 5 %% potassium iodide solution: the amounts matter."),
			phrase.Say("Stir, wait a moment, and look at it in white light."), phrase.Say("Throw the sample into the silver-bearing waste.")},
		Cautions: []phrase.Sentence{wearGloves(), phrase.Say("Never return the sample to the bath."),
			phrase.Say("Plain water stays clear as well: the test shows silver, not whether the bath fixes.")},
		Rule:   phrase.Say("Clear: pass. A yellow tint or a white precipitate that stays: fail."),
		Source: phrase.Say("Anchell, The Darkroom Cookbook, 3rd ed., p. 108"), Standing: Verified,
		OnFail: phrase.Say("Discard the bath as silver-bearing waste. Every print fixed since the last pass is listed with the people to " +
			"tell; fix those prints again in fresh fixer and wash them again.")},
	ClearingTest: {
		Due: phrase.Say("On the fresh bath for the baseline, then every few rolls and at the end of the session."),
		Steps: []phrase.Sentence{phrase.Say("Take an unprocessed offcut of the same film as for the baseline."),
			phrase.Say("Drop it into the bath and start a clock."), phrase.Say("Stop the clock when the film is clear to the eye."),
			phrase.Say("Enter the seconds and which film it was.")},
		Cautions: []phrase.Sentence{wearGloves(), phrase.Say("White light is needed: put all other film and paper away first.")},
		Rule: phrase.Say("Exhausted when the time is twice that of the fresh bath. Fix film for twice the clearing time measured now, " +
			"film with tabular grain for three times (a photographers' forum citing a handbook, secondary). No baseline, no verdict."),
		Source: navy(), Standing: Verified,
		OnFail: phrase.Say("Discard the bath; with two baths discard the first, move the second up, and make a fresh second. Fix again what " +
			"was fixed since the last pass.")},
	StopColourTest: {
		Due: phrase.Say("Before the bath is poured and in a break."),
		Steps: []phrase.Sentence{phrase.Say("Put paper and film away and switch on the white light."),
			phrase.Say("Draw a little into a clear glass."),
			phrase.Say("Hold the glass against something white and compare."),
			phrase.Say("A bath without an indicator: dip a strip of pH paper. At pH 5 or lower enter yellow, above pH 5 enter purple (common " +
				"practice). " +
				"Without pH paper count the sheets and discard at the published capacity.")},
		Cautions: []phrase.Sentence{wearGloves(), phrase.Say("The colour cannot be read by red light."),
			phrase.Say("The colour shows that the bath is spent, never how much is left."),
			phrase.Say("Throw the sample and the strip away; never pour the sample back.")},
		Rule:   phrase.Say("Yellow: pass. Orange, purple or dark: fail."),
		Source: phrase.Say("college set-up sheet, properproof.com/darkroom/setup.html"), Standing: Verified,
		OnFail: phrase.Say("Discard the stop bath and mix a fresh one.")},
	ResidualSilver: {
		Due: phrase.Say("On a finished print once a term, and whenever fixing is in doubt (from memory)."),
		Steps: []phrase.Sentence{phrase.Say("Dissolve 1 g of sodium sulfide in 100 mL of water: a 1 %% solution. Mix a fresh one each term " +
			"(from memory)."),
			phrase.Say("Wash the print, or a strip fixed with the others, fully and blot a white margin."),
			phrase.Say("Put one drop of the solution on the margin, wait 2 to 3 minutes (from memory) and blot."),
			phrase.Say("Look for a brown stain in white light.")},
		Cautions: []phrase.Sentence{wearGloves(),
			phrase.Say("Never let acid into the sulfide or the sulfide onto an unwashed print: acid frees hydrogen sulfide, a poisonous gas. " +
				"Keep it away from stop bath and fixer, and use it where the air moves."),
			phrase.Say("Sodium sulfide damages eyes and fogs paper and film: close the bottle and keep it out of the paper store.")},
		Rule:   phrase.Say("No stain: pass. A brown stain: silver is left in the print."),
		Source: phrase.Say("Studio Light, 1923: testing fixing baths (1 %% sodium sulfide, washed strip)"), Standing: Verified,
		OnFail: phrase.Say("The fixing was not enough. The prints of the sessions that share the fixer are listed; fix them again in fresh " +
			"fixer and wash them again.")},
	ResidualFixer: {
		Due: phrase.Say("On a washed print once a term (from memory)."),
		Steps: []phrase.Sentence{
			phrase.Say("Dissolve 3.75 g of silver nitrate in 375 mL of distilled water, add 62.5 mL of 28 %% acetic acid and fill up to 500 " +
				"mL. Keep it in a closed brown bottle."),
			phrase.Say("Put one drop on a margin of the washed print, or of a blank sheet processed with the prints, in subdued light."),
			phrase.Say("Wait exactly 2 minutes, rinse, blot, and compare the spot with the comparison patches at once.")},
		Cautions: []phrase.Sentence{wearGloves(), phrase.Say("Silver nitrate is poisonous and corrosive, and stains skin and cloth black."),
			phrase.Say("Collect what is left with the silver-bearing waste; keep it away from ammonia.")},
		Rule: phrase.Say("No darker than the comparison: pass. Darker: fixer is left in the print. No limit for paper is published in " +
			"what was read."),
		Source: phrase.Say("Kodak, Radiography in Modern Industry, p. 139 (solution, drop and 2 minutes)"), Standing: Verified,
		OnFail: phrase.Say("The washing was not enough. Wash the prints of that session again.")},
	EmergenceTest: {
		Due: phrase.Say("On the fresh bath for the baseline, then every 20 to 30 minutes of a class (common practice)."),
		Steps: []phrase.Sentence{phrase.Say("Use the same paper, the same paper exposure and the same person as for the baseline."),
			phrase.Say("Measure the temperature of the bath and write it down."), phrase.Say("Start a clock when the paper goes in."),
			phrase.Say("Stop the clock at the first tone to appear.")},
		Cautions: []phrase.Sentence{sheetRules(), phrase.Say("People judge the moment differently: compare only within one person.")},
		Rule: phrase.Say("Tired from 1.5 times the time of the same batch when fresh. Where the temperatures differ, the fresh time is " +
			"taken to the temperature of the bath by the flattest and the steepest published table."),
		Source: darkroomPractice(), Standing: CommonPractice,
		OnFail: phrase.Say("Warm the bath first if it is cold. If it is still slow, discard it and pour fresh developer; more paper " +
			"exposure is no remedy.")},
	BlackStripTest: {
		Due: phrase.Say("On the fresh bath for the baseline, then at the opening of a session."),
		Steps: []phrase.Sentence{phrase.Say("Give a strip of paper full white light."),
			phrase.Say("Develop it for the standard time at the standard temperature."),
			phrase.Say("Fix it, dry it and lay it beside the first strip of this batch.")},
		Cautions: []phrase.Sentence{sheetRules()},
		Rule:     phrase.Say("As black as the first strip: pass. Weaker: fail."),
		Source:   darkroomPractice(), Standing: CommonPractice,
		OnFail: phrase.Say("Look for the cause: cold, too dilute or used up. If it is used up, discard it.")},
}
