package people

import (
	"wetside/dashboard/web"
)

// figures writes what these pages say, in the units of the place.
type figures struct{ web.Figures }

func (s *Pages) figures(site *web.Site) figures { return figures{s.Figures(site)} }
