package ledger

import "wetside/sensors/quantity/phrase"

// CautionsFor gives the usual cautions for a class of chemical, in general
// terms. The safety data sheet of the product comes first.
func CautionsFor(c Class) []phrase.Sentence {
	all := []phrase.Sentence{
		phrase.Say("The safety data sheet of the product and the rules of your place come before this list."),
		phrase.Say("Wear goggles, gloves and an apron; with concentrate always."),
		phrase.Say("Pour concentrate into water, slowly; keep the air moving; know where the eyewash is and keep the way to it free. " +
			"In the eyes: rinse with water for several minutes, take contact lenses out, see a doctor (safety card ICSC 0363)."),
		phrase.Say("Broken graduates, trimmer blades and scalpels go into a container for sharps, never into a tray, a sink or the bin " +
			"(common practice)."),
	}
	switch c {
	case PrintDeveloper, FilmDeveloper:
		return append(all, phrase.Say("Developers can irritate the skin and cause lasting allergy; do not breathe the dust of powder."),
			sulfites())
	case StopBath:
		return append(all, phrase.Say("Acid: concentrate burns eyes and skin and gives off irritating vapour. Acid into water, never water "+
			"into acid."),
			phrase.Say("Glacial acetic acid, 90\u00a0%% and over, burns severely and its vapour catches fire; from 25\u00a0%% on it is "+
				"corrosive, from 10\u00a0%% on it irritates (EU limits for acetic acid, secondary). Buy 28\u00a0%% instead."),
			noAcidIntoSulfide())
	case Fixer:
		return append(all, phrase.Say("Can give off sulfur dioxide, more so with acid or heat; people with asthma keep their distance. "+
			"Never mix with bleach."),
			phrase.Say("Used fixer holds silver: keep it apart."), noAcidIntoSulfide())
	case WashAid:
		return append(all, sulfites(), phrase.Say("Used wash aid carries fixer and silver: keep it with the silver-bearing waste."))
	case Toner:
		return append(all, phrase.Say("Toners differ widely and some are poisonous or give off poisonous gas: use them only with their own "+
			"safety data sheet at hand and with the air moving."),
			noAcidIntoSulfide(), phrase.Say("Keep used toner apart from all other waste."))
	}
	return append(all, phrase.Say("Nobody knows what this is: do not smell it, do not mix it, keep it closed and apart, and treat it as "+
		"silver-bearing."))
}

func sulfites() phrase.Sentence {
	return phrase.Say("Sulfites can trouble people with asthma; acid sets sulfur dioxide free.")
}

func noAcidIntoSulfide() phrase.Sentence {
	return phrase.Say("Never let acid or an acid bath meet a sulfide toner or test solution: that frees hydrogen sulfide, a poisonous " +
		"gas (safety card ICSC 1047).")
}

// disposal is how a kind of waste is got rid of, in general terms.
func disposal(w Stream) phrase.Sentence {
	switch w {
	case SilverStream:
		return phrase.Say("Pour it into the silver-bearing waste: closed, labelled, dated. It is collected and not drained: the person " +
			"responsible calls whoever recovers the silver or takes the waste (common practice). Follow local rules. Never into a septic system.")
	case TonerStream:
		return phrase.Say("Pour it into the toner waste, apart from everything else, as the safety data sheet says. The person responsible " +
			"calls whoever takes it (common practice). Follow local rules. Never into a septic system.")
	}
	return phrase.Say("Keep it apart from the silver-bearing waste. Follow local rules: the person responsible knows whether it may go down " +
		"the sewer with water or is collected (common practice). Never into a septic system.")
}
