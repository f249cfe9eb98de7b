package dashboard

import (
	"maps"
	"slices"

	"wetside/dashboard/words"
	"wetside/sensors/quantity/phrase"
)

// DecidedRoutes are the routes that may be there; a server with any other is not made.
func DecidedRoutes() []string { return slices.Sorted(maps.Keys(decisions())) }

// DecideOn gives what the program says at a start with a route more.
func DecideOn(route string) error {
	t := &routes{decisions: decisions()}
	t.Handle(route, nil)
	return t.check()
}

// Tell gives a sentence as a place with these units reads it.
func Tell(u Units, s phrase.Sentence) string {
	return figures{units: u, words: words.English()}.tell(s)
}

// Local gives a sentence of the rules as a place with these units reads it.
func Local(u Units, sentence string) string { return figures{units: u}.local(sentence) }

// ActKinds are the acts of forms with the kinds of record that they become.
func ActKinds() map[string]string { return actKinds() }
