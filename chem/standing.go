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
func (s Standing) Said() phrase.Sentence { return phrase.Plain(string(s)) }
