package ledger

import "wetside/sensors/quantity/phrase"

// What stands as a key in records is the word for it too, but for a few with words of their own; each is a
// [phrase.Spoken].

// Said gives the words.
func (c Class) Said() phrase.Sentence { return phrase.Plain(string(c)) }

// Said gives the words.
func (s Stream) Said() phrase.Sentence { return phrase.Plain(string(s)) }

// Said gives the words.
func (v Vessel) Said() phrase.Sentence { return phrase.Plain(string(v)) }

// Said gives the words.
func (m Material) Said() phrase.Sentence { return phrase.Plain(string(m)) }

// Said gives the words.
func (p ParentSort) Said() phrase.Sentence { return phrase.Plain(string(p)) }

// Said gives the words.
func (v Verdict) Said() phrase.Sentence { return phrase.Plain(string(v)) }

// Said gives the words.
func (k TestKind) Said() phrase.Sentence { return phrase.Plain(string(k)) }

// Said gives the words.
func (a Action) Said() phrase.Sentence { return phrase.Plain(string(a)) }

// Said gives the words.
func (l SilverLine) Said() phrase.Sentence {
	switch l {
	case ReachesLine:
		return phrase.Say("at or above 5.0 mg/L")
	case UnderLine:
		return phrase.Say("under 5.0 mg/L")
	case LineUnknown:
		return phrase.Say("cannot be compared with 5.0 mg/L")
	}
	return phrase.Plain(string(l))
}

// Said gives the words.
func (m SilverMethod) Said() phrase.Sentence { return phrase.Plain(string(m)) }

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
func (s Seen) Said() phrase.Sentence { return phrase.Plain(string(s)) }
