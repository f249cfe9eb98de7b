package dashboard

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
