package ledger

import "wetside/sensors/quantity/phrase"

// What stands as a key in records has its words here, each as [phrase.Spoken].

// Said gives the words.
func (c Class) Said() phrase.Sentence {
	switch c {
	case PrintDeveloper:
		return phrase.Say("print developer")
	case FilmDeveloper:
		return phrase.Say("film developer")
	case StopBath:
		return phrase.Say("stop bath")
	case Fixer:
		return phrase.Say("fixer")
	case WashAid:
		return phrase.Say("wash aid")
	case Toner:
		return phrase.Say("toner")
	case UnknownClass:
		return phrase.Say("unknown")
	}
	return phrase.Plain(string(c))
}

// Said gives the words.
func (s Stream) Said() phrase.Sentence {
	switch s {
	case SilverStream:
		return phrase.Say("silver-bearing")
	case TonerStream:
		return phrase.Say("toner")
	case PlainStream:
		return phrase.Say("no silver")
	}
	return phrase.Plain(string(s))
}

// Said gives the words.
func (v Vessel) Said() phrase.Sentence {
	switch v {
	case Bottle:
		return phrase.Say("bottle")
	case Carboy:
		return phrase.Say("carboy")
	case Pitcher:
		return phrase.Say("pitcher")
	case Tray:
		return phrase.Say("tray")
	case Tank:
		return phrase.Say("tank")
	case WasteContainer:
		return phrase.Say("waste container")
	}
	return phrase.Plain(string(v))
}

// Said gives the words.
func (m Material) Said() phrase.Sentence {
	switch m {
	case ResinCoated:
		return phrase.Say("resin-coated paper")
	case FibreBased:
		return phrase.Say("fibre-based paper")
	case Film:
		return phrase.Say("film")
	}
	return phrase.Plain(string(m))
}

// Said gives the words.
func (p ParentSort) Said() phrase.Sentence {
	switch p {
	case FromConcentrate:
		return phrase.Say("concentrate")
	case FromStock:
		return phrase.Say("stock")
	case FromPowder:
		return phrase.Say("powder")
	case FromUnknown:
		return phrase.Say("unknown")
	}
	return phrase.Plain(string(p))
}

// Said gives the words.
func (v Verdict) Said() phrase.Sentence {
	switch v {
	case Pour:
		return phrase.Say("pour")
	case TestFirst:
		return phrase.Say("test first")
	case Discard:
		return phrase.Say("discard")
	}
	return phrase.Plain(string(v))
}

// Said gives the words.
func (k TestKind) Said() phrase.Sentence {
	switch k {
	case IodideTest:
		return phrase.Say("iodide precipitate")
	case ClearingTest:
		return phrase.Say("clearing time")
	case StopColourTest:
		return phrase.Say("stop bath colour")
	case ResidualSilver:
		return phrase.Say("residual silver")
	case ResidualFixer:
		return phrase.Say("residual fixer")
	case EmergenceTest:
		return phrase.Say("emergence time")
	case BlackStripTest:
		return phrase.Say("standard black strip")
	}
	return phrase.Plain(string(k))
}

// Said gives the words.
func (a Action) Said() phrase.Sentence {
	switch a {
	case ReturnIt:
		return phrase.Say("return")
	case DiscardIt:
		return phrase.Say("discard")
	case TestIt:
		return phrase.Say("test, then return or discard")
	case OwnerTakes:
		return phrase.Say("the owner takes it away")
	}
	return phrase.Plain(string(a))
}

// Said gives the words.
func (l SilverLine) Said() phrase.Sentence {
	switch l {
	case ReachesLine:
		return phrase.Measured("at or above 5.0 mg/L")
	case UnderLine:
		return phrase.Measured("under 5.0 mg/L")
	case LineUnknown:
		return phrase.Measured("cannot be told against 5.0 mg/L")
	}
	return phrase.Plain(string(l))
}

// Said gives the words.
func (m SilverMethod) Said() phrase.Sentence {
	switch m {
	case Laboratory:
		return phrase.Say("laboratory")
	case TestStrip:
		return phrase.Say("test strip")
	}
	return phrase.Plain(string(m))
}

// Said gives the words, and the name of a person.
func (o Owner) Said() phrase.Sentence {
	switch {
	case o == House:
		return phrase.Say("house")
	case o.Private():
		return phrase.Say("private: %s", string(o)[len(privatePrefix):])
	}
	return phrase.Plain(string(o))
}

// Said gives the words.
func (s Seen) Said() phrase.Sentence {
	switch s {
	case "clear":
		return phrase.Say("clear")
	case "cloudy":
		return phrase.Say("cloudy")
	case "yellow":
		return phrase.Say("yellow")
	case "orange":
		return phrase.Say("orange")
	case "purple":
		return phrase.Say("purple")
	case "dark":
		return phrase.Say("dark")
	case "no stain":
		return phrase.Say("no stain")
	case "stain":
		return phrase.Say("stain")
	case "no darker than the comparison":
		return phrase.Say("no darker than the comparison")
	case "darker than the comparison":
		return phrase.Say("darker than the comparison")
	case "as black as the first strip":
		return phrase.Say("as black as the first strip")
	case "weaker than the first strip":
		return phrase.Say("weaker than the first strip")
	}
	return phrase.Plain(string(s))
}
