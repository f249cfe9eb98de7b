package web

import "net/url"

// Receipt is what was recorded for a form, and how it is taken back.
type Receipt struct {
	Text string
	// Undo takes the act back in one press; nil where nothing does.
	Undo *Undo
	// Stays says what stays whatever is pressed.
	Stays string
	// More leads to what follows from it; nil where nothing does.
	More *Link
}

// Undo is the form that takes an act back: where it is sent, and all that it says.
type Undo struct {
	Action string
	Says   url.Values
	Token  string
	Look   Look
}

// OnRecord says of an act that there is no way to take it back.
const OnRecord = "This stays in the record. If it was wrong, enter what is right."
