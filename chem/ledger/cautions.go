package ledger

// CautionsFor gives the usual cautions for a class of chemical, in general
// terms. The safety data sheet of the product comes first.
func CautionsFor(c Class) []string {
	all := []string{
		"The safety data sheet of the product and the rules of your place come before this list.",
		"Wear goggles, gloves and an apron; with concentrate always.",
		"Pour concentrate into water, slowly; keep the air moving; know where the eyewash is.",
	}
	switch c {
	case PrintDeveloper, FilmDeveloper:
		return append(all, "Developers can irritate the skin and cause lasting allergy; do not breathe the dust of powder.")
	case StopBath:
		return append(all, "Acid: concentrate burns eyes and skin and gives off irritating vapour. Acid into water, never water into acid.")
	case Fixer:
		return append(all, "Can give off sulfur dioxide, more so with acid or heat; people with asthma keep their distance. Never mix with bleach.", "Used fixer holds silver: keep it apart.")
	case WashAid:
		return append(all, "Sulfites can trouble people with asthma; acid sets sulfur dioxide free.")
	case Toner:
		return append(all, "Toners differ widely and some are poisonous or give off poisonous gas: use them only with their own safety data sheet at hand and with the air moving.", "Keep used toner apart from all other waste.")
	}
	return append(all, "Nobody knows what this is: do not smell it, do not mix it, keep it closed and apart, and treat it as silver-bearing.")
}

// disposal is how a class is got rid of, in general terms.
func disposal(c Class) string {
	const local = "Local codes and the person responsible decide, and septic systems forbid most of it: "
	switch c.Stream() {
	case SilverStream:
		return local + "discard it into the silver-bearing waste, labelled and dated, never down the drain without permission."
	case TonerStream:
		return local + "discard it into the toner waste, apart from everything else, as its safety data sheet says."
	}
	return local + "discard it as they say, apart from the silver-bearing waste."
}
