package dashboard

import (
	"wetside/dashboard/words"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// Patterns are those of every route.
func (s *Server) Patterns() []string {
	var all []string
	for _, r := range s.routes {
		all = append(all, r.Pattern)
	}
	return all
}

// ActKinds are the acts of forms with the kinds of record that they become.
func (s *Server) ActKinds() map[string]string {
	kinds := map[string]string{}
	for _, r := range s.routes {
		for _, a := range r.Acts {
			kinds[a.Name] = a.Kind
		}
	}
	return kinds
}

// DecideOn gives what the program says at a start with a route more.
func DecideOn(route string) error {
	_, err := register([]Route{{Pattern: route}}, record.Registry{})
	return err
}

// Tell gives a sentence as a place with these units reads it.
func Tell(u Units, s phrase.Sentence) string {
	return figures{units: u, words: words.English()}.tell(s)
}

// Local gives a sentence of the rules as a place with these units reads it.
func Local(u Units, sentence string) string { return figures{units: u}.local(sentence) }
