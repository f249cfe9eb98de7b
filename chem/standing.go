package chem

import "wetside/sensors/quantity/phrase"

// Standing says how far a figure can be trusted.
type Standing string

// The standings, the most trusted first.
const (
	Verified       Standing = "verified"
	Secondary      Standing = "secondary"
	CommonPractice Standing = "common practice"
	Unverified     Standing = "unverified"
)

// Said gives the words.
func (s Standing) Said() phrase.Sentence {
	switch s {
	case Verified:
		return phrase.Say("verified")
	case Secondary:
		return phrase.Say("secondary")
	case CommonPractice:
		return phrase.Say("common practice")
	case Unverified:
		return phrase.Say("unverified")
	}
	return phrase.Plain(string(s))
}
